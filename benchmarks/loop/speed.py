"""Speed of the loop's simulator against C, SciPy and JAX in one run.

Usage: python benchmarks/loop/speed.py [--growth LARGEST] [--jax-python PYTHON]

Builds the C reference (`reference.c`, the same equations, gcc -O3 -march=native) and takes turns with it, so that a
busy machine slows both. Times are processor time of one thread and the best of the turns, where not said otherwise; JAX
uses all cores and is compared by wall time with a batch on all cores. JAX may live in another interpreter; where none
has it, that line says so.

Floors: one car >= 0.8 of scalar C; a batch >= 60 000 simulated seconds per second and core and >= 0.7 of C in lanes;
memory that does not grow with the run; SciPy >= 300 times slower, JAX >= 3 times.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from time import perf_counter, process_time

import numpy as np
from c_reference import compiled
from cars import CONTROLLER, SLOTS, scattered
from scipy_version import ScipyCar

from dwellwright.loop.batch import simulate_batch, steady_schedule, warm_up
from dwellwright.loop.columns import Parameter, Setting, Statistic
from dwellwright.loop.simulation import run

LANES_OF_C = (4, 8, 16)
TURNS = 30
STEPS_PER_SECOND = 1000
missed: list[str] = []


def floor(what: str, value: float, least: float) -> None:
    """Print a figure beside its floor."""
    met = value >= least
    if not met:
        missed.append(what)
    print(f"  {'meets' if met else 'MISSES'} its floor: {what} {value:.3g} (floor {least:g})")


def best_of_turns(runs: dict[str, Callable[[], object]], turns: int = TURNS) -> dict[str, float]:
    """Least processor time of each, taking turns. [s]"""
    best = dict.fromkeys(runs, np.inf)
    for _ in range(turns):
        for name, work in runs.items():
            begin = process_time()
            work()
            best[name] = min(best[name], process_time() - begin)
    return best


def line(name: str, simulated: float, seconds: float) -> None:
    """One row of the table."""
    rate, step = simulated / seconds, 1e9 * seconds / (simulated * STEPS_PER_SECOND)
    print(f"  {name:<34}{rate:>12,.0f} simulated s/s {step:>8.2f} ns per step and car")


def against_c() -> float:
    """One car and a batch against C; returns the single car's simulated seconds per second."""
    duration, cars, short = 200.0, 64, 25.0
    references = {lanes: compiled(lanes, CONTROLLER.start_duty) for lanes in (1, *LANES_OF_C)}
    one, many = scattered(1), scattered(cars)
    long, brief = steady_schedule(CONTROLLER, duration), steady_schedule(CONTROLLER, short)
    single, batch = (long.nodes.size, long.pulse_steps, SLOTS), (brief.nodes.size, brief.pulse_steps, SLOTS)
    ours, theirs = simulate_batch(many, brief, threads=1), references[16](many, brief.settings, *batch)
    alone, _ = run(one, long, 0)
    scalar = references[1](one, long.settings, *single)
    print(f"largest difference from C over all statistics: batch {np.abs(ours - theirs).max():.1e}, "
          f"one car {np.abs(alone - scalar).max():.1e}")  # fmt: skip
    best = best_of_turns(
        {
            "C, scalar": lambda: references[1](one, long.settings, *single),
            "one car": lambda: run(one, long, 0),
            **{
                f"C, {lanes} lanes": lambda lanes=lanes: references[lanes](many, brief.settings, *batch)
                for lanes in LANES_OF_C
            },
            "batch, one thread": lambda: simulate_batch(many, brief, threads=1),
        }
    )
    for name, seconds in best.items():
        line(name, duration if name in ("C, scalar", "one car") else cars * short, seconds)
    fastest = min(best[f"C, {lanes} lanes"] for lanes in LANES_OF_C)
    floor("one car over scalar C", best["C, scalar"] / best["one car"], 0.8)
    floor("batch over the fastest C in lanes", fastest / best["batch, one thread"], 0.7)
    floor("batch, simulated s per s and core", cars * short / best["batch, one thread"], 60_000)
    return duration / best["one car"]


def against_scipy(single_rate: float) -> None:
    """One car with `solve_ivp` and events."""
    duration, row = 10.0, scattered(1)
    schedule = steady_schedule(CONTROLLER, duration)
    begin = process_time()
    duty, calls = ScipyCar(row[0], schedule.settings, schedule.pulse_period).run(duration)
    seconds = process_time() - begin
    mine = simulate_batch(row, steady_schedule(CONTROLLER, duration, segments=(duration / 2,)))[
        0, 1, Statistic.DUTY_MEAN
    ]
    line("SciPy solve_ivp with events", duration, seconds)
    print(f"  mean duty {duty:.5f} by SciPy ({calls} right-hand sides), {mine:.5f} by us")
    floor("one car over SciPy", single_rate * seconds / duration, 300)


def against_jax(python: str) -> None:
    """A batch with `vmap` and `scan`, all cores, wall time."""
    cars, duration = 1024, 2.0
    rows, schedule = scattered(cars), steady_schedule(CONTROLLER, duration)
    if rows[:, Parameter.DELAY].min() < schedule.pulse_period:
        raise ValueError("the JAX version needs delays of at least a pulse")
    with tempfile.TemporaryDirectory() as folder:
        given = Path(folder, "given.npz")
        np.savez(
            given,
            points=rows,
            settings=schedule.settings,
            names=[member.name for member in Parameter],
            setting_names=[member.name for member in Setting],
            pulses=schedule.nodes.size,
            pulse_steps=schedule.pulse_steps,
            slots=SLOTS // schedule.pulse_steps * schedule.pulse_steps,
            repeats=5,
        )
        script = Path(__file__).with_name("jax_version.py")
        done = subprocess.run([python, script, given], capture_output=True, text=True, check=False)
    if done.returncode:
        print(f"  JAX: skipped, {python} cannot run it: {done.stderr.strip().splitlines()[-1]}")
        return
    answer = json.loads(done.stdout)
    wall = np.inf
    for _ in range(5):
        begin = perf_counter()
        out = simulate_batch(rows, schedule)
        wall = min(wall, perf_counter() - begin)
    line("JAX vmap and scan, all cores", cars * duration, answer["seconds"])
    line("batch, all cores, wall time", cars * duration, wall)
    difference = np.abs(np.array(answer["duty"]) - out[:, Statistic.DUTY_MEAN]).max()
    print(
        f"  JAX took {answer['compile']:.1f} s to compile; largest difference in mean duty {difference:.1e}"
    )
    floor("batch over JAX", answer["seconds"] / wall, 3)


def resident() -> float:
    """Highest resident memory so far. [MB]"""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def growth(largest: int) -> None:
    """From one car to many, all cores, wall time; and memory against the length of the run."""
    rows = scattered(2048)
    simulate_batch(rows, steady_schedule(CONTROLLER, 1.0))
    before = resident()
    simulate_batch(rows, steady_schedule(CONTROLLER, 20.0))
    floor("memory kept (20 s run over 1 s run)", before / resident(), 0.995)
    cars = 1
    while cars <= largest:
        duration = max(0.1, round(min(60.0, 1e5 / cars), 1))
        rows, schedule = scattered(cars), steady_schedule(CONTROLLER, duration)
        begin = perf_counter()
        simulate_batch(rows, schedule)
        seconds = perf_counter() - begin
        line(f"{cars:>9,} cars for {duration:g} s", cars * duration, seconds)
        print(f"  {'':<34}highest resident memory {resident():,.0f} MB, {len(Statistic)} statistics a car")
        cars *= 10


def main() -> int:
    """Everything, in about a minute."""
    options = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    options.add_argument("--growth", type=int, default=1_000_000, help="largest number of cars")
    options.add_argument("--jax-python", default=sys.executable, help="an interpreter that has jax")
    chosen = options.parse_args()
    begin = perf_counter()
    warm_up()
    print(
        f"kernels ready in {perf_counter() - begin:.1f} s (long the first time, then from the on-disk cache)"
    )
    single_rate = against_c()
    against_scipy(single_rate)
    against_jax(chosen.jax_python)
    growth(chosen.growth)
    print(f"load of the machine over the last minute: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    print("all floors met" if not missed else f"floors missed: {', '.join(missed)}")
    return bool(missed)


if __name__ == "__main__":
    sys.exit(main())
