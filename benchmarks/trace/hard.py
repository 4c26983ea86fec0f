"""Random invented drives read, and every figure beyond its floor shown.

Usage: python -m benchmarks.trace.hard 60 [--seed 5]

Loops of random delay, lag, ramp and jump, with a wandering need and noise, logged at 8 to 20 rows a second.
Truth is the loop before it is logged: mean duty of the settled stretch, and the median time between its own turns.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

import numpy as np
from tests.evidence.trace.synthetic import STEP, Car, driven, usual_drive, written

from dwellwright.evidence.observation import Regime
from dwellwright.evidence.trace import read_trace, summarize
from dwellwright.evidence.trace.loop_features import RegimeSummary
from dwellwright.units import dwell_degrees

PHASES = {Regime.IDLE: "idle", Regime.FAST_NO_LOAD: "3000", Regime.CRUISE: "cruise"}
PERIOD_FLOORS = {Regime.IDLE: 0.20, Regime.FAST_NO_LOAD: 0.10, Regime.CRUISE: 0.10}
DWELL_FLOOR = 1.0
"""A single regime's dwell off by more is shown. [deg]"""
SETTLING = 15.0


def car_of(number: int, seed: int) -> Car:
    """The car of that number and seed, always the same."""
    rng = np.random.default_rng([seed, number])
    phases = usual_drive(
        needed=rng.uniform(0.25, 0.75), delay=rng.uniform(0.25, 0.6), wander=rng.uniform(0, 0.012)
    )
    for phase in phases:
        if phase.name in ("3000", "cruise"):
            phase.needed, phase.delay = rng.uniform(0.3, 0.7), rng.uniform(0.15, 0.35)
    return driven(
        phases, seed=int(rng.integers(1 << 30)), lag=rng.uniform(0.06, 0.2), ramp=rng.uniform(0.04, 0.1),
        jump=rng.uniform(0.01, 0.03),
    )  # fmt: skip


def true_period(car: Car, name: str) -> float:
    """Median time between rises of the noiseless command's own switching, settled part. [s]"""
    begin, end = car.window(name)
    inside = (car.time > begin + SETTLING) & (car.time < end)
    slope = np.sign(np.diff(car.columns["duty"][inside]))
    slope = slope[slope != 0]
    turns = np.flatnonzero((slope[1:] > 0) & (slope[:-1] < 0))
    return float(np.median(np.diff(turns))) * STEP if turns.size > 2 else np.nan


@dataclass
class Score:
    """What became of the drives so far: errors of dwell [deg] and of periods [-], and what is worth a line."""

    dwell: list[float] = field(default_factory=list)
    over_doubt: list[float] = field(default_factory=list)
    periods: dict[Regime, list[float]] = field(default_factory=lambda: {regime: [] for regime in PHASES})
    missing: int = 0

    def add(self, number: int, car: Car, regime: Regime, seen: RegimeSummary | None) -> None:
        """Hold one regime against the truth."""
        name = PHASES[regime]
        if seen is None or seen.duty is None:
            self.missing += 1
            print(f"{number}: {name} was not found")
            return
        off = dwell_degrees(seen.duty.mean.value - car.duty_mean(name, SETTLING))
        doubt = dwell_degrees(seen.duty.mean.uncertainty)
        self.dwell.append(abs(off))
        self.over_doubt.append(off / max(doubt, 0.05))
        if abs(off) > DWELL_FLOOR:
            print(f"{number}: {name} dwell off by {off:+.2f} deg, uncertainty {doubt:.2f}")
        truth = true_period(car, name)
        error = abs(seen.period.value / truth - 1) if seen.period else 1.0
        self.periods[regime].append(error)
        if error > PERIOD_FLOORS[regime]:
            print(f"{number}: {name} period {truth:.2f} s read as {seen.period and seen.period.value}")


def main(count: int, seed: int) -> None:
    """Read the drives and print what became of them."""
    score = Score()
    with TemporaryDirectory() as folder:
        for number in range(count):
            car = car_of(number, seed)
            rate = float(np.random.default_rng([seed, number, 1]).uniform(8, 20))
            summary = summarize(read_trace(written(car, Path(folder) / "log.csv", rate=rate, seed=number)))
            for regime in PHASES:
                score.add(number, car, regime, summary.regimes.get(regime))
    print(f"{count} drives, {len(score.dwell)} regimes found, {score.missing} missing")
    spread = np.sqrt(np.mean(np.square(score.over_doubt)))
    print(
        f"dwell: median {median(score.dwell):.3f}, worst {max(score.dwell):.3f} deg (floor of the median 0.3)"
    )
    print(f"root mean square of error over uncertainty {spread:.2f}")
    for regime, errors in score.periods.items():
        over = sum(one > PERIOD_FLOORS[regime] for one in errors)
        print(f"period {PHASES[regime]}: median {median(errors):.1%}, 95th percentile {np.quantile(errors, 0.95):.1%}, "
              f"worst {max(errors):.1%}, {over} beyond the floor of {PERIOD_FLOORS[regime]:.0%}")  # fmt: skip


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("count", type=int, nargs="?", default=60, help="drives")
    parser.add_argument("--seed", type=int, default=5)
    asked = parser.parse_args()
    main(asked.count, asked.seed)
