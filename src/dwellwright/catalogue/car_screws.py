"""Screws turned on the car by a reading: which, by what, within which limits, and what it means when one cannot."""

from __future__ import annotations

import tomllib
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Annotated, Literal

from pydantic import Field

from dwellwright.catalogue.quantity import Frozen

Pair = Annotated[tuple[float, float], Field(strict=False)]
Names = Annotated[tuple[str, ...], Field(strict=False)]


class Trouble(StrEnum):
    """Why a screw cannot bring its reading in."""

    LEAN = "lean"
    RICH = "rich"
    NO_RESPONSE = "none"
    REVERSED = "reversed"
    UNSTEADY = "unsteady"


class CarScrew(Frozen):
    """One screw as the data file gives it; numbers in `unit` unless they are turns or shares."""

    title: str
    titles: str
    step: str
    trim_step: str = ""
    setting: str
    reading: str
    item: str
    read: str
    unit: str
    full_scale: Annotated[float, Field(gt=0)]
    decimals: int
    least_out: float
    most_out: float
    out: str
    inward: Annotated[str, Field(alias="in")]
    per_turn: Annotated[float, Field(gt=0)] | Literal["model"]
    spread: Annotated[float, Field(gt=0)]
    limits: Pair
    drift: Annotated[float, Field(ge=0)]
    points_to: dict[Annotated[Trouble, Field(strict=False)], str]
    suspects: dict[Annotated[Trouble, Field(strict=False)], Names]


@cache
def car_screws() -> dict[str, CarScrew]:
    """Every screw of the shipped data file, by name."""
    text = files("dwellwright.catalogue").joinpath("data/car_screws.toml").read_text(encoding="utf-8")
    return {name: CarScrew.model_validate(entry) for name, entry in tomllib.loads(text).items()}
