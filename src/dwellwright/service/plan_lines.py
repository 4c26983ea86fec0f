"""A sequence of steps in words and shop units, as pages and the command line show it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from dwellwright.catalogue.steps import Judge
from dwellwright.evidence.observation import Measured
from dwellwright.procedure.advice import Correction
from dwellwright.procedure.figure import Figure
from dwellwright.procedure.hand import FINEST, HandTurn
from dwellwright.procedure.history import Turned
from dwellwright.procedure.steps import Step
from dwellwright.service.plans import Plan
from dwellwright.service.presentation import DWELL, PRINTED_UNITS, look_of, shown_step, shown_value
from dwellwright.units import from_si, step_from_si


@dataclass(frozen=True)
class PlanLine:
    """One step in words; numbers carry their unit, empty where there is none.

    Args:
        number: place in the sequence.
        key: of the step.
        title: of the step.
        why: why it comes here.
        instructions: what to do, in order.
        needs: what it is done with.
        makeshift: how it is done without that.
        cautions: hazards in words.
        verdict: in, out, cannot tell, not read, or do again.
        reason: why the verdict is not plainer.
        as_found: first reading.
        reading: latest reading.
        interval: about 95 %.
        source: who or what read it, and what it was corrected by.
        wanted: figure with tolerance.
        turned: turns made so far, added up.
        advice: what to turn, which way, how far, or why the step must be repeated.
        waits_for: keys of steps to do first.
        unit: that readings of this step are typed in; empty for a step judged by eye.
        minutes: what it usually takes. [min]
        done: in, and nothing below it moved since.
    """

    number: int
    key: str
    title: str
    why: str
    instructions: tuple[str, ...]
    needs: tuple[str, ...]
    makeshift: tuple[str, ...]
    cautions: tuple[str, ...]
    verdict: str
    reason: str
    as_found: str
    reading: str
    interval: str
    source: str
    wanted: str
    turned: str
    advice: str
    waits_for: tuple[str, ...]
    unit: str
    minutes: float
    done: bool


def plan_lines(plan: Plan) -> list[PlanLine]:
    """Every step of a sequence in words."""
    return [_line(step, plan.turned) for step in plan.steps]


def _line(step: Step, turned: Sequence[Turned]) -> PlanLine:
    plan = step.plan
    verdict = "do again" if step.do_again and step.judgement.verdict == "in" else step.judgement.verdict.value
    interval = step.judgement.interval
    shown = interval is not None and step.reading is not None
    return PlanLine(
        number=step.number,
        key=plan.key,
        title=plan.title,
        why=plan.why,
        instructions=plan.instructions,
        needs=plan.needs,
        makeshift=plan.makeshift,
        cautions=step.cautions,
        verdict=verdict,
        reason=step.judgement.reason,
        as_found=_number(step, step.as_found.value) if step.as_found else "",
        reading=_number(step, step.reading.value) if step.reading else "",
        interval=f"{_number(step, interval[0])} to {_number(step, interval[1])}"
        if shown and interval
        else "",
        source=step.reading.source if step.reading else "",
        wanted=_wanted(step),
        turned=_turned(step, turned),
        advice=_advice(step),
        waits_for=step.waits_for,
        unit=_typed_unit(step),
        minutes=plan.minutes,
        done=step.done,
    )


def _typed_unit(step: Step) -> str:
    if step.plan.reading is None:
        return ""
    unit, _ = _unit_of(step)
    return "deg" if unit == DWELL else unit


def _turned(step: Step, turned: Sequence[Turned]) -> str:
    made = [one.turns for one in turned if one.step == step.plan.key and one.turns is not None]
    return str(HandTurn(round(FINEST * sum(made)))) if made else ""


def _measured(step: Step) -> Measured | None:
    return Measured(step.plan.reading) if step.plan.reading else None


def _unit_of(step: Step) -> tuple[str, int]:
    """The unit a step is shown in, and its decimals: the sheet's own where it printed one."""
    measured = _measured(step)
    if measured is not None:
        look = look_of(measured)
        return look.unit, look.decimals
    return (step.figure.unit if step.figure else "1"), 2


def _number(step: Step, value: float, *, difference: bool = False) -> str:
    unit, decimals = _unit_of(step)
    measured = _measured(step)
    if measured is not None:
        number = shown_step(measured, value) if difference else shown_value(measured, value)
    else:
        number = step_from_si(value, unit) if difference else from_si(value, unit)
    return f"{number:.{decimals}f} {PRINTED_UNITS.get(unit, unit)}".rstrip()


def _wanted(step: Step) -> str:
    figure = step.figure
    if figure is None or not isfinite(figure.value):
        return ""
    return _bound(step, figure)


def _bound(step: Step, figure: Figure) -> str:
    value = _number(step, figure.value)
    if figure.judge is Judge.AT_LEAST:
        return f"at least {value}"
    if figure.judge is Judge.AT_MOST:
        return f"at most {value}"
    return f"{value} ± {_number(step, figure.tolerance, difference=True)}" if figure.tolerance else value


def _advice(step: Step) -> str:
    said = [*step.do_again]
    if step.correction is not None:
        said.append(correction_words(step.correction, _measured(step)))
    if step.waits_for and not step.done:
        said.append(f"first: {', '.join(step.waits_for)}")
    return "; ".join(said)


def correction_words(correction: Correction, measured: Measured | None) -> str:
    """What a hand should do, and the reading to expect after it."""
    said = []
    if correction.turn is not None:
        way = {True: ", richer", False: ", leaner", None: ""}[correction.richer]
        said.append(f"turn {correction.turn}{way}" if correction.turn.turns else str(correction.turn))
        if correction.expected is not None and measured is not None:
            said.append(f"expect {_shown(measured, shown_value(measured, correction.expected))}")
    elif measured is not None:
        more = "raise" if correction.change > 0 else "lower"
        said.append(f"{more} it by {_shown(measured, shown_step(measured, abs(correction.change)))}")
    if correction.direction_in_doubt:
        said.append("even the direction is in doubt: measure again first")
    return "; ".join(said)


def _shown(measured: Measured, number: float) -> str:
    look = look_of(measured)
    return f"{number:.{look.decimals}f} {PRINTED_UNITS.get(look.unit, look.unit)}".rstrip()
