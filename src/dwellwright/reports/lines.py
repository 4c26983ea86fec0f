"""From steps, proof and readings to the lines of a sheet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.procedure.hand import FINEST, HandTurn
from dwellwright.procedure.history import Turned
from dwellwright.procedure.proof import REGIME_WORDS, Criterion, Proof
from dwellwright.procedure.steps import Step
from dwellwright.reports.facts import CriterionLine, ReadingLine, SettingLine, TurnLine
from dwellwright.reports.shown import (
    DUTIES,
    SHOP_UNITS,
    decimals,
    figure_text,
    in_unit,
    interval_text,
    number,
    reading_text,
    reading_unit,
    step_in_unit,
    unit_sign,
)

_WHAT = {
    Measured.DUTY: "mean dwell", Measured.CO: "CO", Measured.CO2: "CO₂", Measured.O2: "O₂", Measured.HC: "HC",
    Measured.GAS_LAMBDA: "lambda by gas", Measured.LEAN_TO_RICH_TIME: "sensor, lean to rich",
    Measured.RICH_TO_LEAN_TIME: "sensor, rich to lean", Measured.ETHANOL: "ethanol in the fuel",
}  # fmt: skip


def what(measured: Measured) -> str:
    """A kind of reading in words."""
    return _WHAT.get(measured, measured.value.replace("_", " "))


def where(regime: Regime) -> str:
    """A regime in words."""
    return REGIME_WORDS.get(regime, regime.value)


def setting_lines(steps: Sequence[Step], turned: Sequence[Turned] = ()) -> tuple[SettingLine, ...]:
    """As found and as left of every step that was read or checked, with all turns made at it added up."""
    return tuple(
        _setting(step, turned) for step in steps if step.reading is not None or step.check is not None
    )


def _setting(step: Step, turned: Sequence[Turned]) -> SettingLine:
    made = [one.turns for one in turned if one.step == step.plan.key]
    counted = [turns for turns in made if turns is not None]
    words = amount_text(sum(counted)) if counted else "adjusted" if made else "–"
    wanted = figure_text(step.figure, duty=step.plan.reading == Measured.DUTY.value) if step.figure else "–"
    if step.reading is None or step.as_found is None:
        return SettingLine(step.plan.title, wanted, "–", _checked(step), words, step.judgement.verdict.value)
    unit = reading_unit(step.reading, step.figure)
    left = reading_text(step.reading, unit) if step.reading is not step.as_found or made else "as found"
    found = reading_text(step.as_found, unit)
    return SettingLine(step.plan.title, wanted, found, left, words, step.judgement.verdict.value)


def _checked(step: Step) -> str:
    """What a check left behind: its value where there is one, else that it was by eye."""
    if step.check is None or step.check.value is None or step.figure is None or not step.figure.unit:
        return "by eye"
    unit = step.figure.unit
    places = decimals(step_in_unit(step.check.uncertainty, unit))
    return number(in_unit(step.check.value, unit), places) + unit_sign(unit)


def amount_text(turns: float) -> str:
    """Turns to the nearest sixteenth, direction included.

    >>> amount_text(-0.375)
    '3/8 turn counterclockwise'
    """
    return str(HandTurn(round(turns * FINEST))) if round(turns * FINEST) else "0"


def turn_lines(turned: Iterable[Turned], steps: Sequence[Step]) -> tuple[TurnLine, ...]:
    """Every turn made, oldest first."""
    titles = {step.plan.key: step.plan.title for step in steps}
    ordered = sorted(turned, key=lambda one: one.time.timestamp())
    return tuple(
        TurnLine(
            f"{one.time:%Y-%m-%d %H:%M}",
            titles.get(one.step, one.step),
            amount_text(one.turns) if one.turns is not None else "adjusted, not counted",
            one.note,
        )
        for one in ordered
    )


def reading_lines(observations: Iterable[Observation]) -> tuple[ReadingLine, ...]:
    """Every reading with its interval and source, in the order given."""
    lines = []
    for one in observations:
        unit = SHOP_UNITS[one.measured]
        lines.append(
            ReadingLine(
                what(one.measured),
                where(one.regime),
                reading_text(one, unit),
                interval_text(one, unit),
                one.source,
            )
        )
    return tuple(lines)


def criterion_lines(proof: Proof) -> tuple[CriterionLine, ...]:
    """The criteria of a proof as printed."""
    return tuple(_criterion(one) for one in proof.criteria)


def _criterion(one: Criterion) -> CriterionLine:
    duty = one.reading is not None and one.reading.measured in DUTIES
    wanted = figure_text(one.figure, duty=duty or one.figure.unit == "deg")
    if one.reading is None:
        return CriterionLine(one.title, wanted, "–", "–", one.standing, one.reason)
    unit = reading_unit(one.reading, one.figure)
    return CriterionLine(
        one.title,
        wanted,
        reading_text(one.reading, unit),
        interval_text(one.reading, unit),
        one.standing,
        one.reason,
    )
