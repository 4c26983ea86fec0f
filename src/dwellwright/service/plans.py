"""The bench sequence and the sequence on the car for one job, and writing down what was done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

from dwellwright.catalogue import steps as catalogue
from dwellwright.catalogue.steps import StepPlan, step_plans
from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.procedure.history import Checked, Turned
from dwellwright.procedure.steps import Step, bench_steps, car_steps
from dwellwright.records import jobs, readings, steps
from dwellwright.records.engine import writing
from dwellwright.records.shop import Shop
from dwellwright.records.stages import JobStage, Phase, Side
from dwellwright.records.steps import StepDone, StepRecord
from dwellwright.service.calibrations import tool_of
from dwellwright.service.jobs import JobView, job_view
from dwellwright.service.readings import typed_observation

BEFORE = timedelta(microseconds=20)
"""How much earlier than the entry the as-found reading is taken to be; the turn lies in between."""


@dataclass(frozen=True)
class Plan:
    """One sequence of a job: each step as it stands, and every turn made in it."""

    job: int
    phase: Phase
    steps: tuple[Step, ...]
    turned: tuple[Turned, ...] = ()

    @property
    def next(self) -> Step | None:
        """The first step that is not done; None when all are."""
        return next((step for step in self.steps if not step.done), None)

    @property
    def minutes_left(self) -> float:
        """Time of the steps that are not done. [min]"""
        return sum(step.plan.minutes for step in self.steps if not step.done)


def bench_plan(shop: Shop, number: int) -> Plan:
    """The bench sequence of a job in dependency order.

    Raises:
        InputFault: no such job.
    """
    return plan_of(job_view(shop, number), Phase.BENCH)


def car_plan(shop: Shop, number: int) -> Plan:
    """The sequence on the car of a job in dependency order.

    Raises:
        InputFault: no such job.
    """
    return plan_of(job_view(shop, number), Phase.CAR)


def plan_of(view: JobView, phase: Phase) -> Plan:
    """One sequence of a job that was read already."""
    done = [record for record in view.steps if record.done.phase is phase]
    seen = [_timed(record) for record in view.readings]
    turned = [Turned(one.done.key, one.time, one.done.turns, one.done.note) for one in done if one.done.turns]
    checks = [Checked(one.done.key, one.time, one.done.passed, note=one.done.note)
              for one in done if one.done.passed is not None]  # fmt: skip
    make = bench_steps if phase is Phase.BENCH else car_steps
    return Plan(
        view.job.number, phase, make(view.sheet.sheet, seen, checks=checks, turned=turned), tuple(turned)
    )


def _timed(record: readings.ReadingRecord) -> Observation:
    """What was read after the work has a time, so that it counts as later than the turns before it."""
    seen = record.observation
    return replace(seen, time=record.added) if record.side is Side.AS_LEFT and seen.time is None else seen


def step_of(phase: Phase, key: str) -> StepPlan:
    """What a step is.

    Raises:
        InputFault: the sequence has no such step.
    """
    plans = step_plans(catalogue.Sequence.BENCH if phase is Phase.BENCH else catalogue.Sequence.CAR)
    for plan in plans:
        if plan.key == key:
            return plan
    raise InputFault("no such step", where=f"{phase} sequence", got=repr(key),
                     wanted=", ".join(plan.key for plan in plans))  # fmt: skip


@dataclass(frozen=True)
class StepEntry:
    """What a person writes down at a step; readings in `unit`, every repeat; `instrument` where not the usual one."""

    as_found: Sequence[float] = ()
    as_left: Sequence[float] = ()
    unit: str = ""
    instrument: str | None = None
    turns: float | None = None
    passed: bool | None = None
    minutes: float | None = None
    note: str = ""


def record_step(shop: Shop, number: int, phase: Phase, key: str, entry: StepEntry, who: str) -> StepRecord:
    """Write down a step: its readings before and after, the turns made, the time it took.

    Raises:
        InputFault: no such job or step, a reading or a number that cannot be, or nothing to write down.
    """
    plan = step_of(phase, key)
    _refuse_odd_entry(entry, key)
    found = _observation(shop, plan, entry.as_found, entry, who)
    left = _observation(shop, plan, entry.as_left, entry, who)
    done = StepDone(
        phase=phase,
        key=key,
        as_found=found.value if found else None,
        turns=entry.turns,
        as_left=left.value if left else None,
        passed=entry.passed,
        minutes=entry.minutes,
        note=entry.note,
    )
    with writing(shop.engine) as connection:
        jobs.job_record(connection, number)
        before = steps.steps_of(connection, number)
        repeats = phase is Phase.CAR and bool(entry.turns)
        identity = steps.store_step(connection, number, done, who, repeats=repeats)
        record = next(one for one in steps.steps_of(connection, number) if one.id == identity)
        if found and not any(one.done.key == key and one.done.phase is phase for one in before):
            early = replace(found, time=record.time - BEFORE)
            readings.store_reading(connection, number, _side_of_first(phase, before), early, who)
        if left:
            late = replace(left, time=record.time + BEFORE)
            readings.store_reading(connection, number, Side.AS_LEFT, late, who)
        jobs.advance_job(connection, number, JobStage.BENCH if phase is Phase.BENCH else JobStage.CAR, who)
    return record


def _side_of_first(phase: Phase, before: Sequence[StepRecord]) -> Side:
    """A first reading on the car, once screws were turned, no longer shows the car as it was found."""
    worked = any(one.done.turns for one in before)
    return Side.AS_LEFT if phase is Phase.CAR and worked else Side.AS_FOUND


def _refuse_odd_entry(entry: StepEntry, key: str) -> None:
    given = (
        entry.as_found,
        entry.as_left,
        entry.turns is not None,
        entry.passed is not None,
        entry.note.strip(),
    )
    if not any(given):
        raise InputFault("there is nothing to write down", where=key,
                         wanted="a reading, turns, whether it passed, or a note")  # fmt: skip
    for name, value, most in (("turns", entry.turns, 40.0), ("minutes", entry.minutes, 1440.0)):
        if value is not None and not (abs(value) <= most and (name == "turns" or value >= 0)):
            raise InputFault(f"the {name} cannot be", where=key, got=f"{value:g}", wanted=f"at most {most:g}")


def _observation(
    shop: Shop, plan: StepPlan, values: Sequence[float], entry: StepEntry, who: str
) -> Observation | None:
    if not values:
        return None
    if plan.reading is None:
        raise InputFault(
            "this step has no reading", where=plan.key, remedy="Say whether it passed, and add a note"
        )
    if not entry.unit:
        raise InputFault(
            "the reading has no unit", where=plan.key, wanted="a unit such as thou, mm, deg or turns"
        )
    regime = Regime(plan.regimes[0])
    item = _ITEMS.get(Measured(plan.reading), plan.reading)
    tool = tool_of(shop, entry.instrument, item, values, entry.unit)
    seen = typed_observation(item, values, entry.unit, regime, tool=tool, who=who)
    return replace(seen, regime=regime)


_ITEMS = {
    Measured.DUTY: "dwell", Measured.GAS_LAMBDA: "lambda", Measured.COOLANT_TEMPERATURE: "coolant",
    Measured.IDLE_NEEDLE: "idle_needle_turns_out", Measured.IDLE_BLEED: "idle_bleed_turns_out",
    Measured.FLOAT_LEVEL: "float_gauge_below_rim", Measured.FLOAT_LEVEL_RUNNING: "float_gauge_running",
    Measured.THROTTLE_SENSOR_CLOSED: "tps_closed", Measured.LEAN_STOP: "rod_lean_gauge",
    Measured.RICH_STOP: "rod_rich_gauge", Measured.COOLANT_THERMOMETER: "coolant_thermometer",
}  # fmt: skip
"""Item under which a step's reading is typed in, where its name differs."""
