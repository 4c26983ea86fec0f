"""The bench and on-car sequences for one unit: where each step stands, what to turn, what to do again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot

from dwellwright.catalogue import steps as catalogue
from dwellwright.catalogue.sheet import Setting, SpecSheet
from dwellwright.catalogue.steps import StepPlan, hazards, step_plans
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.procedure.advice import Correction, correction_of
from dwellwright.procedure.figure import Figure, figure_of, setting_of
from dwellwright.procedure.history import Checked, History, Moment, Turned, history_of
from dwellwright.procedure.judgement import Judgement, Verdict, judged


@dataclass(frozen=True)
class Step:
    """One step of a sequence as it stands for this unit.

    Args:
        plan: what the step is, the same for every unit.
        number: place in the sequence, from 1.
        setting: the sheet's setting it adjusts, if any.
        figure: what its reading is held against, if the sheet gives one.
        as_found: first reading, if any.
        reading: latest reading, if any.
        check: latest check by eye or by a gauge no model uses, if any.
        judgement: verdict with interval and reason.
        correction: how far the reading must move, and the turn that does it; None when it is in or unread.
        cautions: hazards in words, then what this sheet and these readings add.
        do_again: why the step must be repeated; empty when it need not.
        waits_for: keys of prerequisites that are not in yet, or must be done again.
    """

    plan: StepPlan
    number: int
    setting: Setting | None
    figure: Figure | None
    as_found: Observation | None
    reading: Observation | None
    check: Checked | None
    judgement: Judgement
    correction: Correction | None
    cautions: tuple[str, ...]
    do_again: tuple[str, ...]
    waits_for: tuple[str, ...]

    @property
    def done(self) -> bool:
        """In, and nothing below it moved since; a step that not every unit needs is done while it is not read."""
        if self.plan.optional and self.judgement.verdict is Verdict.NOT_READ:
            return True
        return self.judgement.verdict is Verdict.IN and not self.do_again


def bench_steps(
    sheet: SpecSheet,
    observations: Sequence[Observation],
    *,
    checks: Sequence[Checked] = (),
    turned: Sequence[Turned] = (),
) -> tuple[Step, ...]:
    """The bench sequence in dependency order, each step as it stands.

    Args:
        sheet: of the unit.
        observations: everything read so far, in the order it was entered.
        checks: steps judged by eye or by a gauge no model uses.
        turned: what was turned or bent, and when.
    """
    return _steps(step_plans(catalogue.Sequence.BENCH), sheet, observations, checks, turned)


def car_steps(
    sheet: SpecSheet,
    observations: Sequence[Observation],
    *,
    checks: Sequence[Checked] = (),
    turned: Sequence[Turned] = (),
) -> tuple[Step, ...]:
    """The sequence on the car in dependency order, each step as it stands; arguments as for `bench_steps`."""
    return _steps(step_plans(catalogue.Sequence.CAR), sheet, observations, checks, turned)


def next_step(steps: Sequence[Step]) -> Step | None:
    """The first step that is not done; None when all are."""
    return next((step for step in steps if not step.done), None)


def _steps(
    plans: tuple[StepPlan, ...],
    sheet: SpecSheet,
    observations: Sequence[Observation],
    checks: Sequence[Checked],
    turned: Sequence[Turned],
) -> tuple[Step, ...]:
    past = {plan.key: history_of(plan, observations, checks, turned) for plan in plans}
    if "travel" in past:
        past["travel"] = _with_difference_of_stops(past)
    steps: dict[str, Step] = {}
    for number, plan in enumerate(plans, start=1):
        steps[plan.key] = _step(plan, number, sheet, past, plans, steps)
    return tuple(steps.values())


def _step(
    plan: StepPlan,
    number: int,
    sheet: SpecSheet,
    past: Mapping[str, History],
    plans: tuple[StepPlan, ...],
    before: Mapping[str, Step],
) -> Step:
    own = past[plan.key]
    reading = own.readings[-1][1] if own.readings else None
    check = own.checks[-1][1] if own.checks else None
    figure, setting = figure_of(plan, sheet, reading), setting_of(plan, sheet)
    if own.checks and (not own.readings or own.checks[-1][0] > own.readings[-1][0]):
        judgement = _judged_check(own.checks[-1][1], figure)
    else:
        judgement = judged(reading, figure)
    return Step(
        plan=plan,
        number=number,
        setting=setting,
        figure=figure,
        as_found=own.readings[0][1] if own.readings else None,
        reading=reading,
        check=check,
        judgement=judgement,
        correction=correction_of(reading, figure, setting, judgement.verdict),
        cautions=_cautions(plan, setting, reading, figure),
        do_again=_reasons_to_repeat(plan, past, plans),
        waits_for=tuple(key for key in plan.depends_on if not before[key].done),
    )


def _judged_check(check: Checked, figure: Figure | None) -> Judgement:
    if check.value is None or figure is None:
        return Judgement(
            Verdict.IN if check.passed else Verdict.OUT, reason=check.note or "judged by hand and eye"
        )
    stand_in = Observation(Measured.FLOAT_LEVEL, Regime.BENCH, check.value, check.uncertainty, check.note)
    return judged(stand_in, figure)


def _cautions(
    plan: StepPlan, setting: Setting | None, reading: Observation | None, figure: Figure | None
) -> tuple[str, ...]:
    found = [hazards()[key] for key in plan.hazards]
    if setting is not None and setting.note:
        found.append(setting.note)
    if (
        reading is not None
        and reading.wanted is not None
        and figure is not None
        and figure.source != reading.source
    ):
        least, most = figure.limits
        if not least <= reading.wanted <= most:
            found.append(
                "The reading came with another figure than the sheet's: check that this is the right sheet."
            )
    return tuple(found)


def _prerequisites(plan: StepPlan, plans: tuple[StepPlan, ...]) -> tuple[StepPlan, ...]:
    """Every step this one rests on, near and far, in sequence order."""
    wanted, reached = set(plan.depends_on), {plan.key}
    by_key = {one.key: one for one in plans}
    while wanted:
        key = wanted.pop()
        reached.add(key)
        wanted.update(set(by_key[key].depends_on) - reached)
    return tuple(one for one in plans if one.key in reached - {plan.key})


def _reasons_to_repeat(
    plan: StepPlan, past: Mapping[str, History], plans: tuple[StepPlan, ...]
) -> tuple[str, ...]:
    """Why the latest look at a step no longer counts."""
    looked = past[plan.key].latest
    if looked is None:
        return ()
    reasons = []
    if any(moment > looked for moment in past[plan.key].changes):
        reasons.append("it was turned after it was last read")
    for need in _prerequisites(plan, plans):
        if any(moment > looked for moment in past[need.key].changes):
            reasons.append(f"{need.title} was changed after this")
    return tuple(reasons)


def _with_difference_of_stops(past: Mapping[str, History]) -> History:
    """The travel's past, with the difference of the stop readings where it has no later one of its own."""
    own, lean, rich = past["travel"], past["lean_stop"].readings, past["rich_stop"].readings
    if not lean or not rich:
        return own
    moment: Moment = max(lean[-1][0], rich[-1][0])
    moved = max((*past["lean_stop"].changes, *past["rich_stop"].changes), default=None)
    if own.readings and (own.readings[-1][0] > moment or moved is None or moved < own.readings[-1][0]):
        return own
    high, low = rich[-1][1], lean[-1][1]
    difference = Observation(
        Measured.ROD_TRAVEL,
        Regime.BENCH,
        high.value - low.value,
        hypot(high.uncertainty, low.uncertainty),
        f"difference of the stops ({high.source}; {low.source})",
        time=high.time if moment == rich[-1][0] else low.time,
    )
    return History((*own.readings, (moment, difference)), own.checks, own.changes)
