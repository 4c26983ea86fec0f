"""What each station of a job shows."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from markupsafe import Markup

from dwellwright.records.shop import Shop
from dwellwright.records.stages import Phase, Side
from dwellwright.service.diagnosis import likely_causes
from dwellwright.service.handover_facts import magnitude_words
from dwellwright.service.handover_plots import causes_plot, drive_plot, dwell_plot, predicted_plot
from dwellwright.service.jobs import JobView
from dwellwright.service.plan_lines import plan_lines
from dwellwright.service.plans import Plan, plan_of
from dwellwright.service.presentation import REGIME_LABELS, shown
from dwellwright.service.proof import proof_lines, proof_of
from dwellwright.service.readings import known_items
from dwellwright.units import UNITS
from dwellwright.web.remembered import Pictures
from dwellwright.web.rendering import picture

STATIONS = {
    "arrival": "Arrival", "evidence": "Evidence", "causes": "Causes", "bench": "Bench", "car": "On the car",
    "proof": "Proof", "handover": "Handover",
}  # fmt: skip
"""The stations of a job in order, by the last part of their address."""


def station_values(shop: Shop, view: JobView, name: str) -> dict[str, Any]:
    """Everything a station's page shows beyond the job itself."""
    return _VALUES[name](shop, view)


def _arrival(shop: Shop, view: JobView) -> dict[str, Any]:
    return {}


def _evidence(shop: Shop, view: JobView) -> dict[str, Any]:
    readings = [(record, shown(record.observation)) for record in view.readings]
    drives = [_drive(shop, view, side) for side in Side]
    return {"readings": readings, "items": known_items(), "units": list(UNITS), "sides": list(Side),
            "regimes": REGIME_LABELS, "drives": [one for one in drives if one]}  # fmt: skip


_DRAWN = Pictures()


def _drive(shop: Shop, view: JobView, side: Side) -> Markup | None:
    kept = tuple(one.file.sha256 for one in view.evidence if one.side is side)
    if not kept:
        return None
    return _DRAWN.get((kept, side, view.job.sheet), lambda: picture(drive_plot(shop, view, side)))


def _causes(shop: Shop, view: JobView) -> dict[str, Any]:
    verdicts = []
    for side, record in ((Side.AS_FOUND, view.as_found_verdict), (Side.AS_LEFT, view.as_left_verdict)):
        if record is not None:
            facts = record.diagnosis
            titles = {one["id"]: one["title"].lower() for one in facts["causes"]}
            groups = [[titles.get(key, key) for key in group] for group in facts["look_alikes"]]
            verdicts.append({"side": side, "facts": facts, "causes": likely_causes(facts), "groups": groups})
    return {"verdicts": verdicts, "size": magnitude_words, "sides": list(Side),
            "bars": picture(causes_plot(view)), "fit": picture(predicted_plot(view))}  # fmt: skip


def _steps(view: JobView, phase: Phase) -> dict[str, Any]:
    plan: Plan = plan_of(view, phase)
    lines = plan_lines(plan)
    upcoming = plan.next.plan.key if plan.next else ""
    return {"lines": lines, "plan": plan, "upcoming": upcoming, "phase": phase, "units": list(UNITS)}


def _bench(shop: Shop, view: JobView) -> dict[str, Any]:
    return _steps(view, Phase.BENCH)


def _car(shop: Shop, view: JobView) -> dict[str, Any]:
    return _steps(view, Phase.CAR)


def _proof(shop: Shop, view: JobView) -> dict[str, Any]:
    found = proof_of(view)
    return {"found": found, "criteria": proof_lines(found), "dwell": picture(dwell_plot(view))}


def _handover(shop: Shop, view: JobView) -> dict[str, Any]:
    return {"made": [one for one in view.documents if one.kind == "handover"], "found": proof_of(view)}


_VALUES: dict[str, Callable[[Shop, JobView], dict[str, Any]]] = {
    "arrival": _arrival, "evidence": _evidence, "causes": _causes, "bench": _bench, "car": _car, "proof": _proof,
    "handover": _handover,
}  # fmt: skip
