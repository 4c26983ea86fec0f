"""The demonstration: one invented job from arrival to handover, out of real files, through the same use cases."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

from dwellwright.records.shop import Shop
from dwellwright.records.stages import Phase, Side
from dwellwright.service.diagnosis import diagnose_job
from dwellwright.service.evidence import add_evidence
from dwellwright.service.handover import Handover, hand_over
from dwellwright.service.handover_facts import Shown
from dwellwright.service.jobs import job_view, take_in_job
from dwellwright.service.plans import StepEntry, bench_plan, car_plan, record_step
from dwellwright.service.proof import prove_job

DATA = "dwellwright.demo"
EVIDENCE = ("bench.csv", "gas.csv", "drive.flac", "log.csv")
"""In the order a shop would add them; the recording last, since it speaks best for the dwell."""


@dataclass(frozen=True)
class Station:
    """One station as it is passed: its name and what it came to."""

    name: str
    found: Any


Listener = Callable[[Station], None]


def run_demo(shop: Shop, folder: Path, tell: Listener = lambda station: None) -> Handover:
    """Run the invented job through the shop, telling each station as it is passed.

    Args:
        shop: where; a job is added to it.
        folder: for the handover sheet.
        tell: called with every station.

    Raises:
        InputFault: the shop or the folder cannot be written.
    """
    with as_file(files(DATA).joinpath("data")) as data:
        return _run(shop, folder, Path(data), tell)


def _run(shop: Shop, folder: Path, data: Path, tell: Listener) -> Handover:
    story = tomllib.loads((data / "job.toml").read_text(encoding="utf-8"))
    work = tomllib.loads((data / "work.toml").read_text(encoding="utf-8"))["step"]
    who = story["who"]
    words = {key: story[key] for key in ("owner", "car", "complaint", "sheet")}
    view = take_in_job(shop, **words, who=who)
    job = view.job.number
    tell(Station("arrival", view))
    for name in EVIDENCE:
        tell(Station("evidence", add_evidence(shop, job, data / "as_found" / name, Side.AS_FOUND, who)))
    tell(Station("causes", diagnose_job(shop, job, who).facts))
    for phase, plan in ((Phase.BENCH, bench_plan), (Phase.CAR, car_plan)):
        tell(Station(f"{phase.value} before", plan(shop, job)))
        for step in (one for one in work if one["phase"] == phase.value):
            record_step(shop, job, phase, step["key"], entry_of(step), who)
        if phase is Phase.BENCH:
            tell(Station(f"{phase.value} after", plan(shop, job)))
    for name in EVIDENCE[1:]:
        tell(Station("evidence", add_evidence(shop, job, data / "as_left" / name, Side.AS_LEFT, who)))
    tell(Station("car after", car_plan(shop, job)))
    tell(Station("causes left", diagnose_job(shop, job, who, Side.AS_LEFT).facts))
    tell(Station("proof", prove_job(shop, job, who)))
    shown = Shown(story["shop"], tuple(story["shop_lines"]))
    made = hand_over(shop, job, folder, who, shown=shown)
    tell(Station("handover", (job_view(shop, job), made)))
    return made


def entry_of(step: Mapping[str, Any]) -> StepEntry:
    """One step of the work as it is written down."""
    return StepEntry(
        as_found=tuple(step.get("as_found", ())),
        as_left=tuple(step.get("as_left", ())),
        unit=step.get("unit", ""),
        instrument=step.get("instrument"),
        turns=step.get("turns"),
        passed=step.get("passed"),
        minutes=step.get("minutes"),
        note=step.get("note", ""),
    )
