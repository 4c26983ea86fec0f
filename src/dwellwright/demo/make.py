"""Make the demonstration's files: `python -m dwellwright.demo.make [FOLDER]`.

The car is put together by `car.py`, driven by the loop simulator on the carburetor model, read with a technician's
hands by `papers.py`, repaired by the tool's own procedure, and driven again. Everything in it is invented.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from dwellwright.carburetor.state import CarState
from dwellwright.catalogue.sheet_file import archetype
from dwellwright.demo.car import AS_FOUND, SHEET, profile
from dwellwright.demo.papers import Entry, bench_work, car_work, write_bench, write_gas
from dwellwright.demo.recordings import idle_pulses, simulated, write_log, write_wave

SEED = 4711
IDLE, FAST = (365.0, 410.0), (305.0, 345.0)
"""Stretches of the drive at which the analyzer was read. [s]"""
WAVE_FROM, WAVE_SECONDS = 370.0, 20.0


def make(folder: Path) -> None:
    """Write every file of the demonstration into a folder."""
    sheet = archetype(SHEET)
    _drive(folder / "as_found", AS_FOUND, SEED)
    write_bench(folder / "as_found" / "bench.csv", sheet, SEED)
    bench, state = bench_work(sheet, AS_FOUND, SEED)
    car, state = car_work(sheet, state, SEED)
    _drive(folder / "as_left", state, SEED + 1)
    (folder / "work.toml").write_text(_work_text([*bench, *car]), encoding="utf-8")


def _drive(folder: Path, state: CarState, seed: int) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    drive = profile(seed)
    trace = simulated(state, drive, (FAST[0], FAST[1], IDLE[0], IDLE[1]))
    write_log(folder / "log.csv", trace, drive, seed)
    write_wave(folder / "drive.flac", idle_pulses(trace, WAVE_FROM, WAVE_SECONDS), seed)
    write_gas(folder / "gas.csv", [("idle", trace.statistics[3]), ("2500", trace.statistics[1])], seed)


def _work_text(entries: Sequence[Entry]) -> str:
    """The work as TOML, one `[[step]]` each, in the order it was done."""
    lines = ["# What the technician did. Written by `python -m dwellwright.demo.make`; invented."]
    for entry in entries:
        lines.append("\n[[step]]")
        for key, value in asdict(entry).items():
            if value not in (None, "", ()):
                lines.append(f"{key} = {_toml(value)}")
    return "\n".join(lines) + "\n"


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, tuple):
        return f"[{', '.join(map(str, value))}]"
    return f'"{value}"' if isinstance(value, str) else str(value)


def main(arguments: Sequence[str]) -> int:
    """Write the files where asked, else where the package keeps them."""
    folder = Path(arguments[0]) if arguments else Path(__file__).parent / "data"
    make(folder)
    size = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    print(f"wrote the demonstration to {folder}: {size / 1e6:.2f} MB")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
