"""Compile the numeric kernels once, so that nobody waits for it later: `python -m dwellwright.warm_up`."""

from __future__ import annotations

import sys
import time
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
    """Compile every part's kernels; the seconds each took, by module. Parts without kernels are left out."""
    took: dict[str, float] = {}
    for name in KERNEL_MODULES:
        if find_spec(name) is None:
            continue
        compile_kernels = getattr(import_module(name), "warm_up", None)
        if compile_kernels is None:
            continue
        start = time.perf_counter()
        compile_kernels()
        took[name] = time.perf_counter() - start
    return took


def main() -> int:
    """Warm up and say how long it took."""
    for name, seconds in warm_up().items():
        print(f"{name}: kernels ready in {seconds:.1f} s", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
