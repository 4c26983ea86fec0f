"""The bench and on-car sequences as data: read, checked, and brought into dependency order."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Annotated, Any

from pydantic import Field, ValidationError, model_validator

from dwellwright.catalogue.quantity import Frozen, Quantity
from dwellwright.errors import InputFault

Text = Annotated[str, Field(min_length=1)]


class Sequence(StrEnum):
    """The two sequences shipped; the value names the data file."""

    BENCH = "bench"
    CAR = "car"


class Judge(StrEnum):
    """How a reading is held against its figure."""

    WITHIN = "within"
    AT_LEAST = "at_least"
    AT_MOST = "at_most"


class StepPlan(Frozen):
    """One step as the data file gives it, the same for every unit."""

    key: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$")]
    title: Text
    why: Text
    instructions: Annotated[tuple[Text, ...], Field(strict=False, min_length=1)]
    depends_on: Annotated[tuple[str, ...], Field(strict=False)] = ()
    needs: Annotated[tuple[Text, ...], Field(strict=False, min_length=1)]
    makeshift: Annotated[tuple[Text, ...], Field(strict=False)] = ()
    hazards: Annotated[tuple[str, ...], Field(strict=False)] = ()
    reading: str | None = None
    regimes: Annotated[tuple[str, ...], Field(strict=False, min_length=1)] = ("bench",)
    wanted: Annotated[str, Field(pattern=r"^(settings|solenoid|engine|criteria)\.[a-z_]+$")] | None = None
    bound: Quantity | None = None
    judge: Annotated[Judge, Field(strict=False)] = Judge.WITHIN
    minutes: Annotated[float, Field(gt=0, allow_inf_nan=False)]
    optional: bool = False

    @model_validator(mode="after")
    def _one_figure(self) -> StepPlan:
        if self.wanted is not None and self.bound is not None:
            raise ValueError("give wanted (a place on the sheet) or bound (a figure of its own), not both")
        return self


def _data(name: str) -> str:
    return files("dwellwright.catalogue").joinpath("data", "steps", f"{name}.toml").read_text("utf-8")


@cache
def hazards() -> Mapping[str, str]:
    """Every caution by its key."""
    return {key: str(entry["text"]) for key, entry in tomllib.loads(_data("hazards")).items()}


@cache
def step_plans(sequence: Sequence) -> tuple[StepPlan, ...]:
    """The steps of a shipped sequence in an order in which every prerequisite comes first."""
    return parsed_steps(_data(sequence.value), f"{sequence.value}.toml")


def parsed_steps(text: str, name: str = "steps") -> tuple[StepPlan, ...]:
    """Steps from a file's text, in dependency order.

    Raises:
        InputFault: not TOML, a field is wrong, a key is unknown or doubled, or steps wait for each other.
    """
    try:
        entries = tomllib.loads(text).get("step", [])
    except tomllib.TOMLDecodeError as fault:
        raise InputFault("the file of steps is not TOML", where=name, got=str(fault)) from None
    if not isinstance(entries, list) or not entries:
        raise InputFault("the file holds no steps", where=name, wanted="at least one [[step]]")
    return dependency_order(
        [_plan(entry, number, name) for number, entry in enumerate(entries, start=1)], name
    )


def _plan(entry: Any, number: int, name: str) -> StepPlan:
    try:
        return StepPlan.model_validate(entry)
    except ValidationError as fault:
        error = fault.errors()[0]
        field = ".".join(map(str, error["loc"]))
        message = error["msg"].removeprefix("Value error, ")
        raise InputFault(
            f"a step is wrong: {message}", where=f"{name}, step {number}, {field}".rstrip(", ")
        ) from None


def dependency_order(plans: Iterable[StepPlan], name: str = "steps") -> tuple[StepPlan, ...]:
    """The same steps, each after all it depends on; among those free to come next, the first as given.

    Raises:
        InputFault: a key is doubled or unknown, or steps wait for each other in a ring.
    """
    waiting = list(plans)
    _refuse_strange_keys(waiting, name)
    done: list[StepPlan] = []
    ready: set[str] = set()
    while waiting:
        free = next((plan for plan in waiting if ready.issuperset(plan.depends_on)), None)
        if free is None:
            raise InputFault("steps wait for each other", where=name, got=" -> ".join(_ring(waiting)),
                             remedy="Remove one of these dependencies")  # fmt: skip
        waiting.remove(free)
        done.append(free)
        ready.add(free.key)
    return tuple(done)


def _refuse_strange_keys(plans: list[StepPlan], name: str) -> None:
    keys = [plan.key for plan in plans]
    for plan in plans:
        where = f"{name}, step {plan.key}"
        if keys.count(plan.key) > 1:
            raise InputFault("two steps have the same key", where=where)
        for need in plan.depends_on:
            if need not in keys:
                raise InputFault("the step depends on one that does not exist", where=where,
                                 wanted=", ".join(keys), got=repr(need))  # fmt: skip
        for hazard in plan.hazards:
            if hazard not in hazards():
                raise InputFault("unknown hazard", where=where, wanted=", ".join(hazards()), got=repr(hazard))


def _ring(waiting: list[StepPlan]) -> list[str]:
    """Keys along one ring among steps that all wait; the first is repeated at the end."""
    needs = {
        plan.key: [key for key in plan.depends_on if any(p.key == key for p in waiting)] for plan in waiting
    }
    path = [waiting[0].key]
    while path[-1] not in path[:-1]:
        path.append(needs[path[-1]][0])
    return path[path.index(path[-1]) :]
