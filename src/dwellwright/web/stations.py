"""What each station of a job shows. What only some stations need is imported where it is needed: it is heavy."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Measured, Regime
from dwellwright.records.evidence import EvidenceRecord
from dwellwright.records.readings import ReadingRecord
from dwellwright.records.shop import Shop
from dwellwright.records.stages import JobStage, Phase, Side
from dwellwright.service.column_maps import columns_for
from dwellwright.service.diagnosis import likely_causes
from dwellwright.service.evidence import evidence_file
from dwellwright.service.jobs import JobView, job_history
from dwellwright.service.photographs import KIND, photographs
from dwellwright.service.presentation import REGIME_LABELS, shown
from dwellwright.units import UNITS
from dwellwright.web.evidence_words import file_cards, item_groups
from dwellwright.web.remembered import Remembered
from dwellwright.web.rendering import picture

if TYPE_CHECKING:
    from dwellwright.reports.plots.look import Plot

STATIONS = {
    "arrival": "Arrival", "evidence": "Evidence", "causes": "Causes", "bench": "Bench", "car": "On the car",
    "proof": "Proof", "handover": "Handover",
}  # fmt: skip
"""The stations of a job in order, by the last part of their address."""

CHIEF_REGIMES = (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)

_DRAWN: Remembered[Markup | None] = Remembered()


def station_values(shop: Shop, view: JobView, name: str) -> dict[str, Any]:
    """Everything a station's page shows beyond the job itself."""
    return _VALUES[name](shop, view)


def shared_values(view: JobView) -> dict[str, Any]:
    """What the head of every page of a job shows: the stations, how far the job has come, its photographs."""
    passed = [key for key, stage in zip(STATIONS, JobStage, strict=True) if stage.rank < view.job.stage.rank]
    return {"view": view, "stations": STATIONS, "passed": passed, "photographs": photographs(view)}


def remembered(shop: Shop, key: Hashable, draw: Callable[[], Plot | None]) -> Markup | None:
    """A plot as an image, drawn once as long as nothing that it shows has changed."""
    return _DRAWN.get((str(shop.folder), key), lambda: picture(draw()))


def _arrival(shop: Shop, view: JobView) -> dict[str, Any]:
    from dwellwright.service.known_sheets import sheet_lines

    return {"history": job_history(shop, view.job.number), "sheets": sheet_lines(shop)}


def _evidence(shop: Shop, view: JobView) -> dict[str, Any]:
    readings = [(record, shown(record.observation)) for record in view.readings]
    chief = [pair for pair in readings if _is_chief(pair[0])]
    last = max((one.id for one in view.readings if one.evidence is None), default=0)
    tables = {
        "Readings that matter most": chief,
        "The other readings": [one for one in readings if one not in chief],
    }
    return {"readings": readings, "tables": tables, "last_typed": last, "groups": item_groups(), "units": list(UNITS),
            "kinds": _tools(shop),
            "sides": list(Side), "regimes": REGIME_LABELS, "cards": file_cards(view),
            "drives": _drives(shop, view)}  # fmt: skip


def _is_chief(record: ReadingRecord) -> bool:
    """Whether a reading is shown without asking: dwell, lambda, what a hand read, and every gauge of the bench."""
    seen = record.observation
    told = seen.measured in (Measured.DUTY, Measured.GAS_LAMBDA) and seen.regime in CHIEF_REGIMES
    return told or record.evidence is None or seen.regime is Regime.BENCH


def _drives(shop: Shop, view: JobView) -> list[dict[str, Any]]:
    """The last drive recording of each side, with its picture and the address of its closer view."""
    found = []
    for side in Side:
        records = [one for one in view.evidence if one.side is side and one.kind == "trace"]
        if records and (drawn := _drive(shop, view, records[-1])):
            found.append({"side": side, "picture": drawn, "id": records[-1].id})
    return found


def _drive(shop: Shop, view: JobView, record: EvidenceRecord) -> Markup | None:
    def draw() -> Plot | None:
        from dwellwright.service.handover_plots import drive_plot

        return drive_plot(shop, view, record.side)

    try:
        columns = columns_for(shop, evidence_file(shop, record))
    except InputFault:  # a kept map that is damaged draws nothing, and says so where the file is read
        return None
    return remembered(shop, ("drive", record.file.sha256, record.side, columns), draw)


def _causes(shop: Shop, view: JobView) -> dict[str, Any]:
    from dwellwright.service.handover_facts import magnitude_words

    verdicts = []
    for side, record in ((Side.AS_FOUND, view.as_found_verdict), (Side.AS_LEFT, view.as_left_verdict)):
        if record is not None:
            facts = record.diagnosis
            titles = {one["id"]: one["title"].lower() for one in facts["causes"]}
            groups = [[titles.get(key, key) for key in group] for group in facts["look_alikes"]]
            newer = any(one.added > record.made for one in view.readings if one.side is side)
            verdicts.append({"side": side, "facts": facts, "causes": likely_causes(facts), "groups": groups,
                             "stale": newer, "made": record.made})  # fmt: skip
    return {"verdicts": verdicts, "size": magnitude_words, "sides": list(Side), "fit": _fit(shop, view)}


def _fit(shop: Shop, view: JobView) -> Markup | None:
    def draw() -> Plot | None:
        from dwellwright.service.handover_plots import predicted_plot

        return predicted_plot(view)

    if view.as_found_verdict is None:
        return None
    return remembered(shop, ("fit", view.job.number, view.as_found_verdict.id, _standing(view)), draw)


def _standing(view: JobView) -> tuple[int, ...]:
    """The readings that stand, by identity: what a plot of readings shows changes only with them."""
    return (view.job.sheet, *(one.id for one in view.readings))


def _tools(shop: Shop) -> dict[str, str]:
    """What a reading may be taken with: the shop's own first."""
    from dwellwright.service.calibrations import tool_labels
    from dwellwright.service.shop_profile import instrument_labels

    return {**tool_labels(shop), **instrument_labels()}


def _steps(shop: Shop, view: JobView, phase: Phase) -> dict[str, Any]:
    from dwellwright.service.plan_lines import plan_lines
    from dwellwright.service.plans import plan_of

    plan = plan_of(view, phase)
    upcoming = plan.next.plan.key if plan.next else ""
    return {"lines": plan_lines(plan), "plan": plan, "upcoming": upcoming, "phase": phase, "units": list(UNITS),
            "kinds": _tools(shop)}  # fmt: skip


def _bench(shop: Shop, view: JobView) -> dict[str, Any]:
    return _steps(shop, view, Phase.BENCH)


def _car(shop: Shop, view: JobView) -> dict[str, Any]:
    from dwellwright.service.car_advisor import advised_screws, screw_advice

    screws = [screw_advice(shop, view, name) for name in advised_screws(view)]
    return {**_steps(shop, view, Phase.CAR), "screws": screws}


def _proof(shop: Shop, view: JobView) -> dict[str, Any]:
    from dwellwright.service.proof import lines_as_found, not_sure, proof_lines, proof_of, still_missing

    def draw() -> Plot | None:
        from dwellwright.service.handover_plots import dwell_plot

        return dwell_plot(view)

    found = proof_of(view)
    pairs = list(zip(proof_lines(found), lines_as_found(view), strict=True))
    return {"found": found, "criteria": pairs, "worked": found.side is Side.AS_LEFT,
            "missing": still_missing(found), "unsure": not_sure(found),
            "dwell": remembered(shop, ("dwell", view.job.number, _standing(view)), draw)}  # fmt: skip


def _handover(shop: Shop, view: JobView) -> dict[str, Any]:
    from dwellwright.service.job_link import job_link
    from dwellwright.service.proof import proof_of
    from dwellwright.service.shop_profile import shop_profile

    verdict = view.as_found_verdict
    causes = likely_causes(verdict.diagnosis, least=0.05, most=12) if verdict else []
    files = [one for one in view.evidence if one.kind != KIND]
    return {"made": [one for one in view.documents if one.kind == "handover"], "found": proof_of(view),
            "causes": causes, "profile": shop_profile(shop), "files": files,
            "link_to": lambda base: job_link(view.job.number, base)}  # fmt: skip


_VALUES: dict[str, Callable[[Shop, JobView], dict[str, Any]]] = {
    "arrival": _arrival, "evidence": _evidence, "causes": _causes, "bench": _bench, "car": _car, "proof": _proof,
    "handover": _handover,
}  # fmt: skip
