"""Time to read a recording against merely reading the same file and summing it once, in one run.

Usage: python benchmarks/waveform/speed.py [MINUTES] (default 60, at 48 kHz, 16-bit mono)
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import soundfile
from benchmarks.waveform.synthesis import Recipe, synthetic

from dwellwright.evidence.waveform import read_waveform, warm_up

REPEATS = 3
MEMORY = """
import re, sys
from dwellwright.evidence.waveform import read_waveform, warm_up
def peak():
    return re.search(r"VmHWM:\\s+(\\d+)", open("/proc/self/status").read())[1]
warm_up()
bare = peak()
read_waveform(sys.argv[1])
print(peak(), bare)
"""


def write_recording(path: Path, minutes: float, rate: int = 48000) -> None:
    """A recording of that length: one invented minute over and over."""
    piece = synthetic(
        Recipe(sample_rate=rate, duration=60.0, swing=0.1, poles=(8.0,), snr=35.0, hum=0.3, seed=5)
    )
    samples = np.rint(piece.samples * 32767).astype(np.int16)
    with soundfile.SoundFile(path, "w", rate, 1, "PCM_16") as file:
        for _ in range(int(minutes)):
            file.write(samples)


def bare_sum(path: Path, dtype: str, block: int = 1 << 18) -> float:
    """Read the file in blocks and sum it."""
    total = 0.0
    with soundfile.SoundFile(path) as file:
        buffer = np.empty(block, dtype)
        while len(part := file.read(out=buffer)):
            total += float(part.sum(dtype=np.int64 if dtype == "int16" else np.float64))
            if len(part) < block:
                break
    return total


def best_time(work: Callable[[], object]) -> float:
    """Best of a few runs. [s]"""
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def main(minutes: float) -> int:
    warm_up()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "long.wav")
        write_recording(path, minutes)
        words = [sys.executable, "-c", MEMORY, str(path)]
        peak, bare_peak = (
            int(part) for part in subprocess.run(words, capture_output=True, check=True).stdout.split()
        )
        ours = best_time(lambda: read_waveform(path))
        print(
            f"{minutes:.0f} minutes at 48 kHz: read in {ours:.3f} s; peak memory {peak >> 10} MB in its own process,"
        )
        print(f"of which {bare_peak >> 10} MB are the imports and the kernels")
        for dtype in ("float64", "float32", "int16"):
            bare = best_time(lambda dtype=dtype: bare_sum(path, dtype))
            print(f"bare read and sum as {dtype:<8} {bare:.3f} s; speed ratio {bare / ours:.2f}")
    return 0


if __name__ == "__main__":
    sys.exit(main(float(sys.argv[1]) if len(sys.argv) > 1 else 60.0))
