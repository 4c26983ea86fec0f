"""How to measure each bench setting without its special gauge: ways, steps, cautions and what each adds in doubt."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any

from dwellwright.errors import InputFault
from dwellwright.units import Dimension, known_unit, step_to_si

SOURCE = "common practice, no source"


class Conversion(StrEnum):
    """How a reading becomes the setting."""

    DIRECT = "direct"
    DIFFERENCE = "difference"
    STACK = "stack"
    TURNS = "turns"
    TRAVEL = "travel"
    LEVER = "lever"
    DIVIDER = "divider"


@dataclass(frozen=True)
class Extra:
    """What a way of measuring adds beside its instrument: half width, rectangular. [SI, or turns]"""

    name: str
    half_width: float
    dimension: Dimension


@dataclass(frozen=True)
class MakeshiftMethod:
    """One way to measure one setting.

    Args:
        name: key within its setting.
        label: plain words.
        conversion: how the reading becomes the setting.
        instrument: key of the instrument.
        steps: what to do, in order.
        caution: what goes wrong.
        extra: further doubts.
        reference: what a divider's ratio is multiplied by. [unit of the setting]
        reference_half_width: its largest error. [same]
        whole: usual reading below the ratio's line. [unit of the instrument]
        source: where the method comes from.
    """

    name: str
    label: str
    conversion: Conversion
    instrument: str
    steps: tuple[str, ...]
    caution: str
    extra: tuple[Extra, ...]
    reference: float
    reference_half_width: float
    whole: float
    source: str


@dataclass(frozen=True)
class MakeshiftSetting:
    """A bench setting and the ways to measure it.

    Args:
        name: key in the data file.
        label: plain words.
        item: line of the bench sheet it answers to.
        methods: by name.
    """

    name: str
    label: str
    item: str
    methods: Mapping[str, MakeshiftMethod]


def _method(entry: Mapping[str, Any]) -> MakeshiftMethod:
    extra = tuple(
        Extra(
            one["name"], step_to_si(float(one["half_width"]), one["unit"]), known_unit(one["unit"]).dimension
        )
        for one in entry.get("extra", ())
    )
    return MakeshiftMethod(
        name=entry["name"],
        label=entry["label"],
        conversion=Conversion(entry["conversion"]),
        instrument=entry["instrument"],
        steps=tuple(entry["steps"]),
        caution=entry["caution"],
        extra=extra,
        reference=float(entry.get("reference", 0.0)),
        reference_half_width=float(entry.get("reference_half_width", 0.0)),
        whole=float(entry.get("whole", 0.0)),
        source=entry.get("source", SOURCE),
    )


@cache
def makeshift_settings() -> Mapping[str, MakeshiftSetting]:
    """Every bench setting that has makeshift ways, by name."""
    text = files("dwellwright.catalogue").joinpath("data", "makeshift_methods.toml").read_text("utf-8")
    return {
        name: MakeshiftSetting(
            name, entry["label"], entry["item"], {m["name"]: _method(m) for m in entry["method"]}
        )
        for name, entry in tomllib.loads(text)["setting"].items()
    }


def makeshift_setting(name: str) -> MakeshiftSetting:
    """The setting of that name.

    Raises:
        InputFault: no such setting; the message lists those there are.
    """
    try:
        return makeshift_settings()[name]
    except KeyError:
        raise InputFault("unknown setting", wanted=", ".join(makeshift_settings()), got=repr(name)) from None
