"""Compile the numeric kernels once, so that nobody waits for it later: `python -m dwellwright.warm_up`."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from importlib import import_module
from importlib.util import find_spec

KERNEL_MODULES = (
    "dwellwright.evidence.waveform",
    "dwellwright.evidence.trace",
    "dwellwright.carburetor",
    "dwellwright.loop",
    "dwellwright.diagnosis",
)
"""Parts that may have kernels; each says so by a function `warm_up()`."""


def warm_up() -> dict[str, float]:
    """Compile every part's kernels; the seconds each took, by name.

    After the parts' own `warm_up()`, the demonstration's evidence is read and diagnosed once, so that every kernel is
    compiled for the very types that real files bring.
    """
    took: dict[str, float] = {}
    for name in KERNEL_MODULES:
        compile_kernels = getattr(import_module(name), "warm_up", None) if find_spec(name) else None
        if compile_kernels is not None:
            took[name] = _seconds(compile_kernels)
    took["the demonstration's evidence"] = _seconds(_read_demonstration)
    return took


def _read_demonstration() -> None:
    from importlib.resources import as_file, files
    from pathlib import Path

    from dwellwright.service.diagnosis import diagnose_folder

    with as_file(files("dwellwright.demo").joinpath("data", "as_found")) as folder:
        diagnose_folder(Path(folder))


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main() -> int:
    """Warm up and say how long it took."""
    for name, seconds in warm_up().items():
        print(f"{name}: ready in {seconds:.1f} s", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
