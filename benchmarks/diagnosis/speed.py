"""How long a diagnosis takes: posterior and ranking of the next tests, on evidence from thin to rich.

Usage: python benchmarks/diagnosis/speed.py [CASES ...] [--times 8] [--most 0.5]

Case folders are optional; what they hold is diagnosed too. Ends with 1 where a median is over the limit, or where a
posterior has fewer than 1000 effective draws. Wall time is this machine's at this hour: say what else it was doing.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path
from statistics import median

from dwellwright.carburetor.prediction import predicted
from dwellwright.carburetor.state import CarState
from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.catalogue.sheet_file import archetype
from dwellwright.diagnosis import diagnose
from dwellwright.diagnosis.readings import REGIMES
from dwellwright.evidence.loose_folder import read_loose_folder
from dwellwright.evidence.observation import Measured, Observation

SHEET = archetype("two-barrel-v6")
LEAST_DRAWS = 1000.0
CARS = {
    "no evidence": None,
    "dwell of a healthy car": CarState(),
    "dwell with an air leak": CarState(vacuum_leak=4e-6),
    "dwell with lean stop and float off": CarState(lean_stop=6.35e-4, fuel_level=2.5e-3),
    "dwell with float low, bleed and purge open": CarState(fuel_level=-2e-3, idle_bleed=1.0, purge=0.8e-6),
}


def jobs(folders: list[Path]) -> dict[str, tuple[list[Observation], SpecSheet]]:
    """Evidence by name, and the sheet it is held against."""
    found: dict[str, tuple[list[Observation], SpecSheet]] = {}
    for name, state in CARS.items():
        points = zip(REGIMES, predicted(SHEET, state), strict=True) if state else ()
        found[name] = ([Observation(Measured.DUTY, r, p.duty, 0.005, "made") for r, p in points], SHEET)
    for folder in folders:
        found[folder.name] = (list(read_loose_folder(folder).observations), SHEET)
    return found


def main() -> None:
    """Time and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", nargs="*", type=Path)
    parser.add_argument("--times", type=int, default=8)
    parser.add_argument("--most", type=float, default=0.5)
    asked = parser.parse_args()
    slow = False
    print(f"{'evidence':44s} {'median ms':>10s} {'worst ms':>10s} {'processor ms':>13s} {'draws':>7s}")
    for name, (seen, sheet) in jobs(asked.folders).items():
        said = diagnose(seen, sheet)
        walls, busy = [], []
        for seed in range(asked.times):
            begin, used = time.perf_counter(), time.process_time()
            diagnose(seen, sheet, seed=seed)
            walls.append(1e3 * (time.perf_counter() - begin))
            busy.append(1e3 * (time.process_time() - used))
        print(
            f"{name:44s} {median(walls):10.0f} {max(walls):10.0f} {median(busy):13.0f} {said.effective_draws:7.0f}"
        )
        slow |= median(walls) > 1e3 * asked.most or said.effective_draws < LEAST_DRAWS
    sys.exit(int(slow))


if __name__ == "__main__":
    main()
