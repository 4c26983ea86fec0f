"""Speed of the steady solver against C and SciPy in one run.

Usage: python benchmarks/steady/speed.py [--growth LARGEST]

The fuel network of prepared barrels is compared with the same equations in C (`reference.c`, gcc -O3 -march=native
-ffast-math), scalar and with barrels side by side as far as gcc can, and with SciPy's `root`; whole operating points
(demand, plates, both ends, duty) are then counted on one thread and on all. They take turns, so that a busy machine
slows all; processor time unless said otherwise.

Floor: 2 million operating points per second on two cores, so one point in at most 1000 ns of one core.
"""

from __future__ import annotations

import argparse
import ctypes
import resource
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path
from time import perf_counter, process_time

import numba
import numpy as np
from scipy.optimize import root

from dwellwright.carburetor.air import hole_flux, operating_point
from dwellwright.carburetor.barrel import between, held_at
from dwellwright.carburetor.demand import demand_at
from dwellwright.carburetor.lanes import LANES, solved_lanes
from dwellwright.carburetor.network import Held, drop_over_jet, idle_fuel, main_fuel, tube_drop
from dwellwright.carburetor.passages import Passages, passages_of
from dwellwright.carburetor.solution import solved
from dwellwright.carburetor.state import Field, fuel_columns, healthy
from dwellwright.carburetor.steady import steady_batch
from dwellwright.catalogue.sheet_file import archetype

SHEET = archetype("two-barrel-v6")
POINTS = [operating_point(SHEET, name) for name in ("idle", "3000", "cruise")]
TURNS = 15
FAST = {"error_model": "numpy", "fastmath": {"contract", "nsz", "arcp"}}


def scattered(count: int) -> np.ndarray:
    """Cars round the sheet's own, shape (count, fields)."""
    states, rng = healthy(count), np.random.default_rng(0)
    states[:, Field.VACUUM_LEAK] = rng.exponential(1e-6, count)
    states[:, Field.FUEL_LEVEL] = rng.normal(0, 1e-3, count)
    states[:, Field.LEAN_STOP] = rng.normal(0, 3e-4, count)
    states[:, Field.NEEDLE_LEFT] = states[:, Field.NEEDLE_RIGHT] = rng.normal(0, 0.3, count)
    return states


def barrels(count: int) -> np.ndarray:
    """Prepared barrels at 3000 rpm, shape (fields of `Held`, count)."""
    passages, point, states = passages_of(SHEET), POINTS[1], scattered(count)
    density, viscosity, ratio = fuel_columns(states[:, Field.ETHANOL], states[:, Field.FUEL_TEMPERATURE])
    columns = []
    for car, state in enumerate(states):
        fuel = (float(density[car]), float(viscosity[car]))
        flux = hole_flux(point, state[Field.AMBIENT_PRESSURE], state[Field.AIR_TEMPERATURE])
        asked = demand_at(passages, state, fuel, float(ratio[car]), point, flux)
        end = between(passages, float(car % 2))
        columns.append(held_at(passages, state, point, asked.setting, state[Field.NEEDLE_LEFT], end))
    return np.ascontiguousarray(np.array(columns).T)


def in_c(lanes: int) -> Callable[..., None]:
    """The reference with that many barrels side by side."""
    target = Path(tempfile.mkdtemp()) / f"steady{lanes}.so"
    flags = (
        "-O3",
        "-march=native",
        "-ffast-math",
        "-std=gnu11",
        "-shared",
        "-fPIC",
        "-fopenmp-simd",
        f"-DLANES={lanes}",
    )
    subprocess.run(["gcc", *flags, "-o", target, Path(__file__).with_name("reference.c"), "-lm"], check=True)
    solve = ctypes.CDLL(str(target)).solve
    many, one = ctypes.POINTER(ctypes.c_double), ctypes.c_double
    solve.argtypes = (many, ctypes.c_long, many, many, one, one)

    def run(given: np.ndarray, totals: np.ndarray, idles: np.ndarray, start: tuple[float, float]) -> None:
        solve(*(a if isinstance(a, int) else a.ctypes.data_as(many) for a in (given, given.shape[1], totals, idles)),
              *start)  # fmt: skip

    return run


@numba.njit(**FAST)
def ours(given, totals, idles, start):  # type: ignore[no-untyped-def]
    """The kernel's own lanes over all prepared barrels."""
    lanes, total, idle, change = (
        np.empty((given.shape[0], LANES)),
        np.empty(LANES),
        np.empty(LANES),
        np.empty(LANES),
    )
    for block in range(given.shape[1] // LANES):
        for k in range(LANES):
            for row in range(given.shape[0]):
                lanes[row, k] = given[row, block * LANES + k]
            total[k], idle[k] = start
        solved_lanes(lanes, total, idle, change)
        for k in range(LANES):
            totals[block * LANES + k], idles[block * LANES + k] = total[k], idle[k]


def by_scipy(held: Held, start: tuple[float, float]) -> np.ndarray:
    """The same two balances with SciPy's `root`, flows scaled to order one."""

    def balances(flows: np.ndarray) -> list[float]:
        total, idle = 1e-3 * flows
        drop = drop_over_jet(held, total)[0]
        out = idle_fuel(held, drop + held.idle_head + tube_drop(held, idle)[0])[0]
        return [1e3 * (total - idle - main_fuel(held, drop)[0]), 1e3 * (idle - out)]

    return 1e-3 * root(balances, 1e3 * np.array(start), tol=1e-10).x


def best(runs: dict[str, Callable[[], object]]) -> dict[str, float]:
    """Least processor time of each, taking turns. [s]"""
    least = dict.fromkeys(runs, np.inf)
    for _ in range(TURNS):
        for name, work in runs.items():
            begin = process_time()
            work()
            least[name] = min(least[name], process_time() - begin)
    return least


def network(count: int = 4096, few: int = 100) -> None:
    """Prepared barrels: ours, C, SciPy."""
    given, (totals, idles) = barrels(count), np.empty((2, count))
    start = solved(Held(*given[:, 0].tolist()))
    runs: dict[str, Callable[[], object]] = {"ours, lanes": lambda: ours(given, totals, idles, start)}
    for lanes in (1, 8, 16):
        name = "C, scalar" if lanes == 1 else f"C, {lanes} lanes"
        reference = in_c(lanes)
        runs[name] = lambda run=reference: run(given, totals, idles, start)
    answers = {}
    for name, work in runs.items():
        work()
        answers[name] = totals.copy()
    least = best(runs)
    print("fuel network of one prepared barrel")
    for name, seconds in least.items():
        off = np.abs(answers[name] / answers["C, scalar"] - 1.0).max()
        print(f"  {name:<14}{1e9 * seconds / count:>9.0f} ns   largest difference from scalar C {off:.1e}")
    begin = process_time()
    theirs = [by_scipy(Held(*given[:, k].tolist()), start)[0] for k in range(few)]
    scipy_time = (process_time() - begin) / few
    off = np.abs(np.array(theirs) / answers["C, scalar"][:few] - 1.0).max()
    print(f"  {'SciPy root':<14}{1e9 * scipy_time:>9.0f} ns   largest difference from scalar C {off:.1e}")
    mine, lanes_of_c = (
        least["ours, lanes"],
        min(seconds for name, seconds in least.items() if "lanes" in name[2:] and name[0] == "C"),
    )
    print(
        f"  ours is {least['C, scalar'] / mine:.2f} times as fast as scalar C, {lanes_of_c / mine:.2f} times as fast as"
    )
    print(f"  the best C in lanes, {scipy_time * count / mine:.0f} times as fast as SciPy")


def points(largest: int) -> None:
    """Whole operating points, one thread and all, and growth with the number of cars."""
    passages, most = passages_of(SHEET), numba.config.NUMBA_NUM_THREADS
    print("whole operating points")
    for threads in sorted({1, most}):
        numba.set_num_threads(threads)
        states = scattered(40_000)
        least = best({"points": lambda states=states: steady_batch(passages, states, POINTS)})["points"]
        each = 1e9 * least / (len(states) * len(POINTS))
        met = "meets" if each <= 1000 else "MISSES"
        print(f"  {threads} thread(s): {each:.0f} ns of one core per point")
        print(f"  two cores {2e3 / each:.2f} million points per s")
        print(f"  {met} the floor of 2 million")
    count = 1
    while count <= largest:
        states = scattered(count)
        seconds = min(_wall(passages, states) for _ in range(10 if count < 100_000 else 2))
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(
            f"  {count:>9,} cars: {1e9 * seconds / (count * len(POINTS)):>9.0f} ns per point (wall), peak {peak:.0f} MB"
        )
        count *= 10


def _wall(passages: Passages, states: np.ndarray) -> float:
    begin = perf_counter()
    steady_batch(passages, states, POINTS)
    return perf_counter() - begin


def main() -> None:
    """Run all of it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--growth", type=int, default=1_000_000, help="largest number of cars")
    largest = parser.parse_args().growth
    network()
    points(largest)


if __name__ == "__main__":
    main()
