"""The tests shipped in `data/tests.toml`: what each reads, how well, its minutes and its hazard."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from dwellwright.units import step_to_si


@dataclass(frozen=True)
class ShopTest:
    """A test a shop can make next.

    Args:
        identifier: stable name.
        title: what to do.
        reads: what it reads of the car's state.
        doubt: standard uncertainty of the result. [SI or turns]
        unit: of `doubt` and of the reading, as shown.
        minutes: it takes.
        after: observation that makes it unnecessary; empty when none does.
        hazard: what can hurt.
        result: what the number typed in says, for a result that has no line on the bench sheet; empty otherwise.
        lowest, highest: of a believable result, in `unit`.
        answered: test with a response that is this very test, or empty.
    """

    identifier: str
    title: str
    reads: str
    doubt: float
    unit: str
    minutes: float
    after: str
    hazard: str
    result: str = ""
    lowest: float = 0.0
    highest: float = 0.0
    answered: str = ""


@cache
def shipped_tests() -> tuple[ShopTest, ...]:
    """Every test the tool knows."""
    text = files("dwellwright.catalogue").joinpath("data/tests.toml").read_text(encoding="utf-8")
    return tuple(
        ShopTest(key, one["title"], one["reads"], step_to_si(float(one["doubt"]), one["unit"]), one["unit"],
                 float(one["minutes"]), one.get("after", ""), one.get("hazard", ""), one.get("result", ""),
                 float(one.get("lowest", 0.0)), float(one.get("highest", 0.0)),
                 one.get("answered", ""))
        for key, one in tomllib.loads(text).items()
    )  # fmt: skip
