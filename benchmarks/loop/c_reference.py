"""Builds and calls the C reference: same equations, gcc -O3 -march=native, scalar and in lanes."""

from __future__ import annotations

import ctypes
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np

from dwellwright.loop.columns import Parameter, Setting, Statistic

SOURCE = Path(__file__).with_name("reference.c")
FLAGS = ("-O3", "-march=native", "-ffast-math", "-std=gnu11", "-shared", "-fPIC")
Runner = Callable[[np.ndarray, np.ndarray, int, int, int], np.ndarray]


def compiled(lanes: int, waiting: float) -> Runner:
    """The reference with that many cars side by side; `waiting` is the duty while the sensor is not ready."""
    defines = [f"-DLANES={lanes}", f"-DPARAMETERS={len(Parameter)}", f"-DSTATISTICS={len(Statistic)}"]
    defines += [f"-DP_{p.name}={int(p)}" for p in Parameter] + [f"-DS_{s.name}={int(s)}" for s in Statistic]
    defines += [f"-DSET_{s.name}={int(s)}" for s in Setting] + [f"-DSTART_WAITING={waiting}"]
    target = Path(tempfile.mkdtemp()) / f"reference{lanes}.so"
    subprocess.run(["gcc", *FLAGS, *defines, "-o", target, SOURCE, "-lm"], check=True)
    function = ctypes.CDLL(str(target)).run
    double, long = ctypes.POINTER(ctypes.c_double), ctypes.c_long
    function.argtypes = (double, long, double, long, long, long, double)

    def run(
        points: np.ndarray, settings: np.ndarray, pulses: int, pulse_steps: int, slots: int
    ) -> np.ndarray:
        out = np.zeros((len(points), len(Statistic)))
        function(
            np.ascontiguousarray(points).ctypes.data_as(double),
            len(points),
            settings.ctypes.data_as(double),
            pulses,
            pulse_steps,
            slots,
            out.ctypes.data_as(double),
        )
        return out

    return run
