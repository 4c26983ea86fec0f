"""A job as the facts of its handover sheet: words for the owner, lines for the next mechanic."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from dwellwright import __version__
from dwellwright.procedure.history import Turned
from dwellwright.procedure.proof import Proof, ProofVerdict
from dwellwright.records.stages import Phase
from dwellwright.records.verdicts import VerdictRecord
from dwellwright.reports.facts import (
    Captioned,
    Finding,
    HandoverFacts,
    Pair,
    Paper,
    Party,
    Photo,
    SettingLine,
    Work,
)
from dwellwright.reports.lines import criterion_lines, reading_lines, setting_lines, turn_lines
from dwellwright.reports.plots.look import Plot
from dwellwright.service.costs import NOT_CHARGED, CostSheet, Prices, cost_sheet
from dwellwright.service.jobs import JobView
from dwellwright.service.plans import Plan, plan_of, step_of
from dwellwright.service.proof import proof_of

NAMED = 0.5
"""A cause this probable is named to the owner. (assumed)"""

CAUTIONS = (
    "A new fuel, a long climb or a hot day moves the mixture; the computer follows as far as its reserve goes.",
    "If the lamp comes on again, note the speed, the load and how warm the engine was before anything is unplugged.",
    "Nothing on the carburetor should be turned without reading dwell before and after.",
)
"""What every owner should mind; words our own, common practice."""


@dataclass(frozen=True)
class Shown:
    """The shop as it appears on paper, a link that opens the job, and how prices are written."""

    shop: str = "The workshop"
    lines: tuple[str, ...] = ()
    link: str = ""
    prices: Prices = NOT_CHARGED


@dataclass(frozen=True)
class HandoverPlots:
    """Plots of a job: dwell before and after for the owner, the rest for the appendix."""

    before_after: Plot | None = None
    appendix: tuple[Captioned, ...] = ()
    photos: tuple[Photo, ...] = ()


def handover_facts(
    view: JobView, shown: Shown, plots: HandoverPlots, printed: datetime, paper: Paper = Paper.LETTER
) -> HandoverFacts:
    """Everything the handover sheet of a job says."""
    sheet, proof = view.sheet.sheet, proof_of(view).proof
    plans = [plan_of(view, phase) for phase in Phase]
    verdict = view.as_found_verdict
    spent = cost_sheet(view, shown.prices)
    return HandoverFacts(
        job=str(view.job.number),
        shop=Party(shown.shop, shown.lines),
        owner=Party(view.job.owner),
        vehicle=(Pair("Car", view.job.car),),
        unit=_unit(view),
        arrived=view.job.created.date(),
        finished=printed.date(),
        complaint=view.job.complaint,
        summary=summary_words(verdict, proof, bool(view.steps)),
        found=found_lines(verdict),
        done=_work(view, spent),
        verdict=proof.verdict,
        criteria=criterion_lines(proof),
        missing=proof.missing,
        cautions=CAUTIONS,
        not_tested=_not_tested(plans),
        before_after=plots.before_after,
        settings=_settings(view, plans),
        turns=_turns(view, plans),
        readings=reading_lines(view.observations(proof_of(view).side)),
        plots=plots.appendix,
        sources=_sources(view),
        photos=plots.photos,
        total_minutes=f"{spent.minutes:.0f} min" if spent.minutes else "",
        total_cost=spent.total,
        link=shown.link,
        invented=sheet.invented,
        program=f"Dwellwright {__version__}",
        printed=printed,
        paper=paper,
    )


def _unit(view: JobView) -> tuple[Pair, ...]:
    sheet = view.sheet.sheet
    stamped = (Pair("Stamped", ", ".join(sheet.stamped)),) if sheet.stamped else ()
    return (Pair("Spec sheet", f"{sheet.title} (version {view.sheet.version})"),
            Pair("Engine", f"{sheet.engine.layout}, {sheet.engine.displacement}"), *stamped)  # fmt: skip


def summary_words(verdict: VerdictRecord | None, proof: Proof, worked: bool) -> str:
    """What was found and how it stands, in sentences for the owner."""
    said = []
    if verdict is not None:
        causes = [one for one in verdict.diagnosis.get("causes", []) if one["probability"] >= NAMED]
        if causes:
            named = " and ".join(one["title"][:1].lower() + one["title"][1:] for one in causes[:3])
            said.append(f"We found: {named}.")
        elif verdict.diagnosis.get("healthy_probability", 0.0) >= NAMED:
            said.append("The mixture control is sound; the complaint comes from elsewhere or did not show.")
        else:
            said.append("The evidence does not single out one cause; the likeliest are listed below.")
    said.append({
        ProofVerdict.PROVEN: "After the work every criterion of the spec sheet is met, each with its doubt taken off."
        if worked else "Every criterion of the spec sheet is met as the car came.",
        ProofVerdict.NOT_PROVEN: f"Not yet right: {', '.join(proof.failed)}.",
        ProofVerdict.NOT_YET_SHOWN: "What was measured meets the spec sheet, but not everything could be shown.",
    }[proof.verdict])  # fmt: skip
    return " ".join(said)


def found_lines(verdict: VerdictRecord | None) -> tuple[Finding, ...]:
    """The causes worth printing, likeliest first: those named, or the first three where none is."""
    causes: Sequence[Mapping[str, Any]] = verdict.diagnosis.get("causes", []) if verdict else []
    named = [one for one in causes if one["probability"] >= NAMED] or list(causes[:3])
    return tuple(Finding(one["title"], one["probability"], magnitude_words(one)) for one in named)


def magnitude_words(cause: Mapping[str, Any]) -> str:
    """Size of a cause with its interval and unit; empty where it has none."""
    if cause.get("magnitude") is None:
        return ""
    unit = "" if cause.get("unit") in (None, "1") else f" {cause['unit']}"
    size = f"{cause['magnitude']:+.3g}{unit}"
    if cause.get("low") is None or cause.get("high") is None:
        return size
    return f"{size} ({cause['low']:+.3g} to {cause['high']:+.3g})"


def _work(view: JobView, spent: CostSheet) -> tuple[Work, ...]:
    lines = []
    for record in view.steps:
        done = record.done
        words = step_of(done.phase, done.key).title + (f": {done.note}" if done.note else "")
        lines.append(Work(words, f"{done.minutes:.0f}" if done.minutes else ""))
    for line in spent.lines:
        many = "" if line.kind == "work" or line.count == "1" else f", {line.count}"
        lines.append(Work(f"{line.words}{many}", "", line.amount))
    return tuple(lines)


def turned_of(view: JobView) -> list[Turned]:
    """Every turn made, as the procedure knows it."""
    return [
        Turned(one.done.key, one.time, one.done.turns, one.done.note) for one in view.steps if one.done.turns
    ]


def _settings(view: JobView, plans: Sequence[Plan]) -> tuple[SettingLine, ...]:
    return tuple(line for plan in plans for line in setting_lines(plan.steps, turned_of(view)))


def _turns(view: JobView, plans: Sequence[Plan]) -> tuple[Any, ...]:
    return turn_lines(turned_of(view), [step for plan in plans for step in plan.steps])


def _not_tested(plans: Sequence[Plan]) -> tuple[str, ...]:
    return tuple(f"{step.plan.title} ({plan.phase.value})"
                 for plan in plans for step in plan.steps if step.judgement.verdict == "not read")  # fmt: skip


def _sources(view: JobView) -> tuple[str, ...]:
    files = [f"{one.file.name} ({one.side.value}), SHA-256 {one.file.sha256[:16]}" for one in view.evidence]
    return (f"Spec sheet: {view.sheet.sheet.source}", *files)
