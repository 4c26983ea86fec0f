"""Shop instruments and gas analyzers: resolution, limit of error, repeatability, and the source of each."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from dwellwright.errors import InputFault
from dwellwright.units import Dimension, known_unit, step_to_si


@dataclass(frozen=True)
class Instrument:
    """One measuring instrument. All lengths, volts and so on in SI.

    Args:
        name: key in the data file.
        label: plain words.
        dimension: what it measures.
        resolution: smallest step that is read.
        limit: largest error independent of the reading, half width, rectangular.
        limit_relative: largest error in proportion to the reading. [-]
        repeatability: standard deviation of one reading by one person.
        repeatability_freedom: degrees of freedom behind `repeatability`.
        source: where the numbers come from.
    """

    name: str
    label: str
    dimension: Dimension
    resolution: float
    limit: float
    limit_relative: float
    repeatability: float
    repeatability_freedom: float
    source: str

    def measures(self, dimension: Dimension | None) -> bool:
        """Whether it reads that; a thermometer's steps are differences, what it reads is a temperature."""
        read = Dimension.TEMPERATURE if self.dimension is Dimension.TEMPERATURE_STEP else self.dimension
        return read is dimension


@dataclass(frozen=True)
class GasChannel:
    """One gas of an analyzer. [mole fraction; relative: -]

    Args:
        limit: largest error, half width, rectangular.
        limit_relative: the same in proportion to the reading; the larger of the two applies.
        resolution: smallest step shown.
        repeatability_relative: standard deviation of one reading on a running engine.
    """

    limit: float
    limit_relative: float
    resolution: float
    repeatability_relative: float

    def largest_error(self, reading: float) -> float:
        """The larger of the absolute and the relative limit at that reading."""
        return max(self.limit, self.limit_relative * abs(reading))


@dataclass(frozen=True)
class Analyzer:
    """An exhaust gas analyzer by its accuracy class."""

    name: str
    label: str
    source: str
    co: GasChannel
    co2: GasChannel
    o2: GasChannel
    hc: GasChannel
    nox: GasChannel


@cache
def _data() -> Mapping[str, Any]:
    text = files("dwellwright.catalogue").joinpath("data", "instruments.toml").read_text("utf-8")
    return tomllib.loads(text)


def _instrument(name: str, entry: Mapping[str, Any]) -> Instrument:
    unit = entry["unit"]
    return Instrument(
        name=name,
        label=entry["label"],
        dimension=known_unit(unit).dimension,
        resolution=step_to_si(entry["resolution"], unit),
        limit=step_to_si(entry["limit"], unit),
        limit_relative=float(entry.get("limit_relative", 0.0)),
        repeatability=step_to_si(entry["repeatability"], unit),
        repeatability_freedom=float(entry["repeatability_freedom"]),
        source=entry["source"],
    )


@cache
def instruments() -> Mapping[str, Instrument]:
    """Every shop instrument by name."""
    return {name: _instrument(name, entry) for name, entry in _data()["instrument"].items()}


def instrument(name: str, *, where: str = "") -> Instrument:
    """The instrument of that name.

    Raises:
        InputFault: no such instrument; the message lists those there are.
    """
    try:
        return instruments()[name]
    except KeyError:
        raise InputFault(
            "unknown instrument", where=where, wanted=", ".join(instruments()), got=repr(name)
        ) from None


@cache
def analyzers() -> Mapping[str, Analyzer]:
    """Every gas analyzer class by name."""
    gases = ("co", "co2", "o2", "hc", "nox")
    return {
        name: Analyzer(
            name, entry["label"], entry["source"], **{gas: GasChannel(**entry[gas]) for gas in gases}
        )
        for name, entry in _data()["analyzer"].items()
    }


def analyzer(name: str) -> Analyzer:
    """The analyzer class of that name.

    Raises:
        InputFault: no such class; the message lists those there are.
    """
    try:
        return analyzers()[name]
    except KeyError:
        raise InputFault("unknown analyzer class", wanted=", ".join(analyzers()), got=repr(name)) from None
