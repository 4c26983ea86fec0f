"""A diagnosis of a job or of a folder of loose files, and the same as plain facts."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dwellwright import __version__
from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.catalogue.sheet_file import archetype, archetype_for
from dwellwright.errors import InputFault
from dwellwright.records import jobs, verdicts
from dwellwright.records.engine import writing
from dwellwright.records.shop import Shop
from dwellwright.records.stages import JobStage, Side
from dwellwright.service.folder_facts import measured_facts
from dwellwright.service.jobs import job_view
from dwellwright.service.memory import memory_facts, shop_memory, similar_jobs
from dwellwright.service.shop_doubts import doubt_facts, shop_doubts
from dwellwright.units import dwell_degrees

if TYPE_CHECKING:
    from dwellwright.diagnosis import CauseBelief, Diagnosis
    from dwellwright.evidence.gauge import GaugeSheet

CYLINDERS_ASSUMED = 6
"""Where no bench sheet says how many the engine has; said in a warning."""

SAME_DISPLACEMENT = 0.1
"""An engine further than this from the archetype's displacement is said to differ. (assumed) [-]"""


@dataclass(frozen=True)
class JobVerdict:
    """The diagnosis of one side of a job, as it was stored."""

    job: int
    side: Side
    facts: dict[str, Any]


def diagnose_job(
    shop: Shop, number: int, who: str, side: Side = Side.AS_FOUND, *, memory: bool = True
) -> JobVerdict:
    """Diagnose a job from the readings of one side, and keep the verdict.

    Args:
        shop: where.
        number: of the job.
        who: who asks.
        side: before or after the work.
        memory: whether the shop's own closed jobs move the priors and the doubts.

    Raises:
        InputFault: no such job, or it has no readings yet.
    """
    from dwellwright.diagnosis import diagnose

    view = job_view(shop, number)
    seen = view.observations(side)
    if not seen:
        raise InputFault("there is nothing to diagnose yet", where=f"job {number}, {side.value}",
                         remedy="Add a recording, a gas table or a bench sheet with `dwellwright job add`")  # fmt: skip
    past = shop_memory(shop, number)
    used = memory and past.jobs > 0
    learned = shop_doubts(shop, number) if used else None
    found = (
        diagnose(seen, view.sheet.sheet, past.priors, scatter=learned.scatter)
        if learned
        else diagnose(seen, view.sheet.sheet)
    )
    facts = diagnosis_facts(found)
    facts["shop_memory"] = memory_facts(past, used=used)
    facts["shop_memory"]["doubts"] = doubt_facts(learned) if learned else []
    facts["similar_jobs"] = similar_jobs(shop, view)
    with writing(shop.engine) as connection:
        verdicts.store_verdict(connection, number, side, facts, who)
        if side is Side.AS_FOUND:
            jobs.advance_job(connection, number, JobStage.CAUSES, who)
    return JobVerdict(number, side, facts)


def diagnose_folder(path: Path, sheet: SpecSheet | None = None) -> dict[str, Any]:
    """The diagnose document of a folder of loose files; docs/reference/diagnose-json.md describes it.

    Args:
        path: folder with `log.csv`, `drive.wav`, `gas.csv`, `bench.csv`, any of them missing.
        sheet: of the unit; the archetype nearest to the engine on the bench sheet where None.

    Raises:
        InputFault: no such folder, or nothing in it can be used.
    """
    from dwellwright.diagnosis import diagnose
    from dwellwright.evidence.loose_folder import read_loose_folder

    evidence = read_loose_folder(path)
    chosen, remarks = (sheet, []) if sheet else _archetype_of(evidence.gauges)
    found = diagnosis_facts(diagnose(evidence.observations, chosen))
    warnings = [*evidence.warnings, *remarks, *found.pop("warnings")]
    return {
        "dwellwright": __version__,
        "folder": evidence.folder,
        "sheet": chosen.title,
        **measured_facts(evidence),
        **found,
        "warnings": warnings,
    }


def _archetype_of(gauges: GaugeSheet | None) -> tuple[SpecSheet, list[str]]:
    cylinders = gauges.cylinders if gauges and gauges.cylinders else None
    name = archetype_for(cylinders or CYLINDERS_ASSUMED)
    sheet = archetype(name)
    remarks = [
        f"No spec sheet was given: the invented archetype {name} stands in for the unit's own figures."
    ]
    if cylinders is None:
        remarks.append(f"No bench sheet names the engine: {CYLINDERS_ASSUMED} cylinders were assumed.")
    displacement = gauges.displacement if gauges else None
    if displacement and abs(displacement / sheet.engine.displacement.si - 1.0) > SAME_DISPLACEMENT:
        remarks.append(
            f"The engine has {1e3 * displacement:.1f} l, the archetype {sheet.engine.displacement}."
        )
    return sheet, remarks


def diagnosis_facts(found: Diagnosis) -> dict[str, Any]:
    """A diagnosis as plain facts; magnitudes in the unit beside them, intervals of 80 %."""
    return {
        "causes": [_cause(one) for one in found.causes],
        "healthy_probability": _share(found.healthy_probability),
        "best_set": list(found.best_set),
        "best_probability": _share(found.best_probability),
        "look_alikes": [list(group) for group in found.look_alikes],
        "predictions": {
            one.regime.value: {
                "observed_dwell_deg": _dwell(one.observed),
                "healthy_dwell_deg": _dwell(one.healthy),
                "explained_dwell_deg": _dwell(one.explained),
            }
            for one in found.predictions
        },
        "next_tests": [
            {
                "id": one.test.identifier,
                "title": one.test.title,
                "minutes": one.test.minutes,
                "hazard": one.test.hazard,
                "information_bits": round(one.information, 4),
                "bits_per_minute": round(one.per_minute, 5),
                "why": one.why,
            }
            for one in found.next_tests
        ],
        "pull": {
            "advice": found.pull.advice.value,
            "minutes_leave": round(found.pull.minutes_leave),
            "minutes_pull": round(found.pull.minutes_pull),
            "inside_probability": _share(found.pull.inside),
            "outside_probability": _share(found.pull.outside),
            "why": found.pull.why,
        },
        "observations": found.observations,
        "effective_draws": round(found.effective_draws, 1),
        "warnings": list(found.warnings),
    }


def _cause(one: CauseBelief) -> dict[str, Any]:
    return {
        "id": one.identifier,
        "title": one.title,
        "kind": one.cause.kind,
        "probability": _share(one.probability),
        "magnitude": _number(one.magnitude),
        "low": _number(one.low),
        "high": _number(one.high),
        "unit": one.unit,
        "meaning": one.meaning,
        "remedy": one.cause.remedy,
        "minutes": one.cause.minutes,
        "parts": list(one.cause.parts),
        "hazard": one.cause.hazard,
        "support": [
            {"evidence": part.evidence, "bits": round(part.bits, 2), "source": part.source}
            for part in one.support
        ],
    }


def document_schema() -> dict[str, Any]:
    """JSON Schema of the diagnose document, of a folder or of a job."""
    text = files("dwellwright.catalogue").joinpath("data/diagnosis.schema.json").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text)
    return found


def likely_causes(facts: Mapping[str, Any], least: float = 0.02, most: int = 8) -> list[dict[str, Any]]:
    """The causes worth showing, likeliest first."""
    return [one for one in facts["causes"] if one["probability"] >= least][:most]


def _share(value: float) -> float:
    return round(min(max(value, 0.0), 1.0), 5)


def _number(value: float) -> float:
    return float(f"{value:.5g}")


def _dwell(duty: float | None) -> float | None:
    return None if duty is None else round(dwell_degrees(duty), 2)
