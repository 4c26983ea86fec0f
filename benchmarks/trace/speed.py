"""Speed of reading and of summing up recordings, against Polars' bare read of the same file in the same run.

Usage: python benchmarks/trace/speed.py [MEGABYTES] [MILLION_ROWS]    (defaults 100 and 10)

Floors: reading a CSV as a checked SI recording at 0.8 of the speed of `polars.read_csv`; ten million rows of
Parquet to regimes in under 3 s.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from statistics import median, quantiles
from time import perf_counter, process_time

import numpy as np
import polars as pl

from dwellwright.evidence.trace import read_trace, summarize
from dwellwright.evidence.trace.grid import grid_of
from dwellwright.evidence.trace.levels import learned_levels
from dwellwright.evidence.trace.loop_state import loop_state
from dwellwright.evidence.trace.regimes import segments_of

RATE = 50.0
REPEATS = 15


def long_drive(rows: int) -> pl.DataFrame:
    """An invented recording: idle, fast run, idle and cruise, over and over, at 50 rows a second."""
    rng = np.random.default_rng(0)
    time = np.arange(rows) / RATE
    phase = ((time % 400) // 100).astype(int)
    noise = rng.standard_normal(rows)
    rpm = np.array([750, 3000, 750, 2200])[phase] * (1 + 0.01 * noise)
    swing = np.sin(2 * np.pi * time / 1.3)
    return pl.DataFrame(
        {
            "time_s": np.round(time, 3),
            "rpm": np.round(rpm, 1),
            "map_kpa": np.round(np.array([34, 40, 34, 58])[phase] + 0.4 * noise, 1),
            "tps_v": np.round(np.array([0.55, 1.7, 0.55, 1.9])[phase] + 0.01 * noise, 3),
            "coolant_c": np.full(rows, 88) + (noise > 1),
            "o2_mv": np.round(450 + 380 * np.sign(swing) + 10 * noise, 1),
            "dwell_deg": np.round(30 + 3 * swing + 0.2 * noise, 1),
            "speed_kmh": np.array([0, 0, 0, 85])[phase],
        }
    )


def seconds(work: Callable[[], object]) -> float:
    """Time of one call."""
    begin = perf_counter()
    work()
    return perf_counter() - begin


def both(work: Callable[[], object]) -> str:
    """Wall and processor time of one call: on a shared machine only the second is the program's own."""
    begin, used = perf_counter(), process_time()
    work()
    return f"{perf_counter() - begin:.2f} s (processor time {process_time() - used:.2f} s over all cores)"


def against_bare_read(kind: str, table: Path, floor: str) -> None:
    """Both readers in turn; a machine that others use too makes single ratios wander, hence quartiles."""
    pairs = [
        (seconds(lambda: pl.read_csv(table)), seconds(lambda: read_trace(table))) for _ in range(REPEATS)
    ]
    low, middle, high = quantiles((bare / ours for bare, ours in pairs), n=4)
    bare, ours = (median(p[i] for p in pairs) for i in (0, 1))
    print(f"{kind} {table.stat().st_size / 1e6:.0f} MB: polars {bare:.3f} s, read_trace {ours:.3f} s, "
          f"ratio {middle:.2f}, quartiles {low:.2f} and {high:.2f} ({floor})")  # fmt: skip


def main(megabytes: float, million_rows: float) -> None:
    """Print both floors."""
    with tempfile.TemporaryDirectory() as folder:
        small, table, store = (Path(folder) / name for name in ("small.csv", "log.csv", "log.parquet"))
        long_drive(20_000).write_csv(small)
        summarize(read_trace(small))  # compile and load once
        long_drive(int(megabytes * 1e6 / 45)).write_csv(table)
        against_bare_read("CSV", table, "floor 0.80")
        with table.open("a", encoding="ascii") as file:
            file.write("1e6,750,34,0.55,88,450,30,0\n")
        against_bare_read("CSV, its last row not plain", table, "no floor")
        long_drive(int(million_rows * 1e6)).write_parquet(store)
        rows = f"Parquet {million_rows:g}e6 rows"
        for _ in range(3):  # the first time, the process that tries Parquet files has to start
            print(f"{rows}, polars' bare read: {both(lambda: pl.read_parquet(store))}")
            print(f"{rows} to regimes: {both(lambda: regimes(store))}, floor 3 s")
        print(f"{rows} to every feature of every regime: {both(lambda: summarize(read_trace(store)))}")


def regimes(path: Path) -> int:
    """Number of stretches found in a file."""
    trace = read_trace(path)
    grid = grid_of(trace)
    return len(segments_of(grid, trace.time, learned_levels(grid), loop_state(grid)))


if __name__ == "__main__":
    given = [float(text) for text in sys.argv[1:]]
    main(*(given + [100.0, 10.0][len(given) :]))
