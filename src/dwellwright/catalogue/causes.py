"""The causes shipped in `data/causes.toml`: what each one changes, how large it can be, how common it is."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Annotated, Literal

from pydantic import Field, model_validator

from dwellwright.catalogue.quantity import Finite, Frozen
from dwellwright.units import known_unit, step_from_si, step_to_si


class Cause(Frozen):
    """One thing that can be wrong, or different about the day.

    Args:
        title: in the trade's words.
        kind: "fault" is repaired, "condition" is allowed for.
        effects: change of each field of the car's state per SI unit (or turn) of magnitude.
        unit: of `least`, `most` and of every magnitude shown.
        positive: what a positive magnitude means.
        negative: what a negative one means; empty when there is no such thing.
        least: smallest size that counts as this cause.
        most: largest size believed.
        prior: share of arriving cars that have it.
        minutes: to put right.
        parts: what is usually replaced with it.
        remedy: what to do.
        hazard: what can hurt while doing it.
        inside: whether the unit has to come off and open for it.
    """

    title: str
    kind: Literal["fault", "condition"]
    effects: dict[str, Finite]
    unit: str
    positive: str
    negative: str = ""
    least: Annotated[float, Field(gt=0, allow_inf_nan=False)]
    most: Annotated[float, Field(gt=0, allow_inf_nan=False)]
    prior: Annotated[float, Field(gt=0, lt=1, allow_inf_nan=False)]
    minutes: Annotated[float, Field(gt=0, allow_inf_nan=False)]
    parts: Annotated[tuple[str, ...], Field(strict=False)] = ()
    remedy: str
    hazard: str = ""
    inside: bool = False

    @model_validator(mode="before")
    @classmethod
    def _whole_numbers_count(cls, tree: object) -> object:
        if isinstance(tree, dict):
            return {
                k: float(v) if isinstance(v, int) and not isinstance(v, bool) else v for k, v in tree.items()
            }
        return tree

    @model_validator(mode="after")
    def _possible(self) -> Cause:
        known_unit(self.unit)
        if self.least >= self.most:
            raise ValueError(f"least must be below most, got {self.least} and {self.most} {self.unit}")
        return self

    @property
    def two_sided(self) -> bool:
        """Whether it can go either way."""
        return bool(self.negative)

    def si(self, magnitude: float) -> float:
        """A magnitude in the cause's unit, in SI (turns stay turns)."""
        return step_to_si(magnitude, self.unit)

    def shown(self, magnitude: float) -> float:
        """A magnitude in SI, in the cause's unit."""
        return step_from_si(magnitude, self.unit)


def causes_from_toml(text: str) -> dict[str, Cause]:
    """Causes of a TOML text by identifier.

    Raises:
        ValueError: a cause that is not complete or not possible (pydantic's ValidationError is one).
    """
    return {key: Cause.model_validate(table) for key, table in tomllib.loads(text).items()}


@cache
def shipped_causes() -> dict[str, Cause]:
    """Every cause the tool knows, by its stable identifier."""
    return causes_from_toml(
        files("dwellwright.catalogue").joinpath("data/causes.toml").read_text(encoding="utf-8")
    )
