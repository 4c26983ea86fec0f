"""How soon `dwellwright --help` answers: clock and processor time, and the ratio to importing its library alone.

Usage: python benchmarks/cli/help.py   (floor: 0.25 s on a quiet machine)
"""

from __future__ import annotations

import os
import subprocess
import sys
import time

RUNS = 7


def timed(code: str, *words: str) -> tuple[float, float]:
    """Least clock and processor time of several runs of a piece of Python. [s]"""
    clock, processor = [], []
    for _ in range(RUNS):
        start, before = time.perf_counter(), os.times()
        subprocess.run([sys.executable, "-c", code, *words], capture_output=True, check=True)
        clock.append(time.perf_counter() - start)
        after = os.times()
        processor.append(
            after.children_user + after.children_system - before.children_user - before.children_system
        )
    return min(clock), min(processor)


def main() -> None:
    """Print the figures of one run."""
    library = timed("import typer.main")
    whole = timed("from dwellwright.cli import main; main()", "--help")
    print(f"--help: {whole[0]:.3f} s by the clock, {whole[1]:.3f} s of processor (floor 0.25 s)")
    print(f"its library alone: {library[0]:.3f} s, {library[1]:.3f} s; ratio {whole[1] / library[1]:.2f}")


if __name__ == "__main__":
    main()
