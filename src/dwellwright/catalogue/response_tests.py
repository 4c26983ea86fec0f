"""Tests with a response: what is done, what must answer, which way, what each answer means, and the hazard."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any

from dwellwright.errors import InputFault
from dwellwright.units import step_to_si


class Direction(StrEnum):
    """Which way a reading went, or must go."""

    RISES = "rises"
    FALLS = "falls"
    STAYS = "stays"


@dataclass(frozen=True)
class ResponseTest:
    """One test.

    Args:
        name: key in the data file.
        label: plain words.
        regime: where in the operating range.
        watch: name of what is read before and after.
        unit: unit people read it in.
        smallest: change that counts as an answer. [SI]
        expected: direction on a sound car.
        minutes: time it takes.
        hazard: what can hurt whom, and the precaution; shown before the steps.
        steps: what to do, in order.
        answers: what each direction means.
        source: where the direction comes from.
    """

    name: str
    label: str
    regime: str
    watch: str
    unit: str
    smallest: float
    expected: Direction
    minutes: float
    hazard: str
    steps: tuple[str, ...]
    answers: Mapping[Direction, str]
    source: str


def _test(name: str, entry: Mapping[str, Any]) -> ResponseTest:
    words = entry["answers"]
    return ResponseTest(
        name=name,
        label=entry["label"],
        regime=entry["regime"],
        watch=entry["watch"],
        unit=entry["unit"],
        smallest=step_to_si(float(entry["smallest"]), entry["unit"]),
        expected=Direction(entry["expected"]),
        minutes=float(entry["minutes"]),
        hazard=entry["hazard"],
        steps=tuple(entry["steps"]),
        answers={
            Direction.RISES: words["rises"],
            Direction.FALLS: words["falls"],
            Direction.STAYS: words["still"],
        },
        source=entry.get("source", "common practice, no source"),
    )


@cache
def response_tests() -> Mapping[str, ResponseTest]:
    """Every test by name."""
    text = files("dwellwright.catalogue").joinpath("data", "response_tests.toml").read_text("utf-8")
    return {name: _test(name, entry) for name, entry in tomllib.loads(text)["test"].items()}


def response_test(name: str) -> ResponseTest:
    """The test of that name.

    Raises:
        InputFault: no such test; the message lists those there are.
    """
    try:
        return response_tests()[name]
    except KeyError:
        raise InputFault("unknown test", wanted=", ".join(response_tests()), got=repr(name)) from None
