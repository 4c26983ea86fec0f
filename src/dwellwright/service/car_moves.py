"""Writing down one reading of a screw on the car, with the turns made before it and how the idle feels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Regime
from dwellwright.records import jobs, readings, steps
from dwellwright.records.engine import writing
from dwellwright.records.shop import Shop
from dwellwright.records.stages import JobStage, Phase, Side
from dwellwright.records.steps import StepDone
from dwellwright.service.car_advisor import screw_named
from dwellwright.service.plans import BEFORE
from dwellwright.service.readings import typed_observation

MOST_TURNS, LEAST_TRIM = 40.0, 1e-9


@dataclass(frozen=True)
class CarMove:
    """What was turned, and what was read then.

    Args:
        values: every repeat, in the screw's unit.
        turns: made since the reading before on each needle, clockwise positive; one number for all of them. [turns]
        roughness: how the idle feels, 0 smooth to 3 shaking, if noted.
        minutes: it took. [min]
    """

    values: Sequence[float]
    turns: tuple[float, ...] = ()
    roughness: float | None = None
    minutes: float | None = None


def record_move(shop: Shop, number: int, name: str, move: CarMove, who: str) -> None:
    """Write down one reading of a screw, and the move before it.

    Raises:
        InputFault: no such job or screw, no reading, or a number that cannot be.
    """
    screw = screw_named(name)
    for turns in move.turns:
        if not abs(turns) <= MOST_TURNS:
            raise InputFault("the turns cannot be", where=screw.title, got=f"{turns:g}", wanted="at most 40")
    if len(move.turns) > 1 and not screw.trim_step:
        raise InputFault("there is only one such screw", where=screw.title, got=f"{len(move.turns)} turns")
    seen = [typed_observation(screw.item, move.values, screw.unit, Regime.IDLE, who=who)]
    if move.roughness is not None:
        seen.append(typed_observation("idle_roughness", [move.roughness], "1", Regime.IDLE, who=who))
    common = sum(move.turns) / max(len(move.turns), 1)
    trim = 0.5 * (move.turns[0] - move.turns[1]) if len(move.turns) > 1 else 0.0
    made = [
        (key, turns)
        for key, turns in ((screw.step, common), (screw.trim_step, trim))
        if abs(turns) > LEAST_TRIM
    ]
    with writing(shop.engine) as connection:
        jobs.job_record(connection, number)
        moment = seen[0].time
        for key, turns in made:
            as_left = seen[0].value if key == screw.step else None
            done = StepDone(
                Phase.CAR,
                key,
                turns=turns,
                as_left=as_left,
                minutes=move.minutes if key == made[0][0] else None,
            )
            identity = steps.store_step(connection, number, done, who, repeats=True)
            moment = (
                next(one.time for one in steps.steps_of(connection, number) if one.id == identity) + BEFORE
            )
        for one in seen:
            readings.store_reading(connection, number, Side.AS_LEFT, replace(one, time=moment), who)
        jobs.advance_job(connection, number, JobStage.CAR if made else JobStage.EVIDENCE, who)
