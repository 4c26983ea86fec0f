"""Limits of idle emission tests, as a reference and not as a legal test."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from dwellwright.errors import InputFault
from dwellwright.units import to_si

DEFAULT_LIMIT = "light_duty_1981"


@dataclass(frozen=True)
class IdleLimit:
    """One class of vehicle.

    Args:
        name: key in the data file.
        label: plain words.
        hc: largest hydrocarbon as hexane. [-]
        co: largest carbon monoxide. [-]
        running_mean: length of the mean that counts. [s]
        smallest_carbon_oxides: CO + CO2 below which the sample is void. [-]
        source: the regulation.
    """

    name: str
    label: str
    hc: float
    co: float
    running_mean: float
    smallest_carbon_oxides: float
    source: str


def _si(entry: Mapping[str, Any]) -> float:
    return to_si(float(entry["value"]), str(entry["unit"]))


@cache
def idle_limits() -> Mapping[str, IdleLimit]:
    """Every limit by name."""
    text = files("dwellwright.catalogue").joinpath("data", "idle_limits.toml").read_text("utf-8")
    data = tomllib.loads(text)
    validity = data["validity"]
    return {
        name: IdleLimit(
            name=name,
            label=entry["label"],
            hc=_si(entry["hc"]),
            co=_si(entry["co"]),
            running_mean=_si(validity["running_mean"]),
            smallest_carbon_oxides=_si(validity["smallest_carbon_oxides"]),
            source=f"{entry['source']}; {validity['source']}",
        )
        for name, entry in data["limit"].items()
    }


def idle_limit(name: str = DEFAULT_LIMIT) -> IdleLimit:
    """The limit of that name.

    Raises:
        InputFault: no such limit; the message lists those there are.
    """
    try:
        return idle_limits()[name]
    except KeyError:
        raise InputFault("unknown idle limit", wanted=", ".join(idle_limits()), got=repr(name)) from None
