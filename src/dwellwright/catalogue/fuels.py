"""The fuels shipped in `data/fuels.toml`, each number with its unit, spread and source."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from math import isfinite
from types import MappingProxyType
from typing import Any

from dwellwright.errors import InputFault
from dwellwright.physics.fuel import Fuel, blend

FIELD_UNITS = MappingProxyType(
    {
        "hydrogen_to_carbon": "1",
        "oxygen_to_carbon": "1",
        "reference_density": "kg/m3",
        "expansion": "1/K",
        "reference_viscosity": "Pa s",
        "viscosity_activation": "K",
    }
)
"""Fields of a fuel and the SI unit each is given in."""


@dataclass(frozen=True)
class SourcedNumber:
    """A number with what a reader needs to believe it.

    Args:
        value: in `unit`.
        unit: SI.
        spread: one standard deviation, in the same unit.
        source: where it was read, or the word "assumed".
    """

    value: float
    unit: str
    spread: float
    source: str


@dataclass(frozen=True)
class CatalogueFuel:
    """A fuel as the data file gives it: the fuel for the laws, and each field's origin."""

    key: str
    title: str
    fuel: Fuel
    fields: MappingProxyType[str, SourcedNumber]


def fuels_from_toml(text: str, where: str) -> MappingProxyType[str, CatalogueFuel]:
    """Fuels of a TOML text, by key.

    Args:
        text: the file's content.
        where: its name, for messages.

    Raises:
        InputFault: not TOML, or a field missing, unknown or unusable.
    """
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise InputFault(f"the fuel list is not valid TOML: {fault}", where=where) from fault
    return MappingProxyType({key: _fuel(key, table, where) for key, table in document.items()})


def _fuel(key: str, table: Any, where: str) -> CatalogueFuel:
    place = f"{where}, [{key}]"
    if not isinstance(table, dict) or set(table) != {"title", *FIELD_UNITS}:
        got = sorted(table) if isinstance(table, dict) else table
        raise InputFault(
            "a fuel needs exactly its fields",
            where=place,
            wanted=", ".join(("title", *FIELD_UNITS)),
            got=str(got),
        )
    numbers = {field: _number(table[field], unit, f"{place}, {field}") for field, unit in FIELD_UNITS.items()}
    try:
        fuel = Fuel(name=str(table["title"]), **{field: number.value for field, number in numbers.items()})
    except ValueError as fault:
        raise InputFault(str(fault), where=place) from fault
    return CatalogueFuel(key, str(table["title"]), fuel, MappingProxyType(numbers))


def _number(entry: Any, unit: str, place: str) -> SourcedNumber:
    wanted = f"value in {unit}, unit, spread, source"
    if not isinstance(entry, dict) or set(entry) != {"value", "unit", "spread", "source"}:
        raise InputFault(
            "a number needs value, unit, spread and source", where=place, wanted=wanted, got=str(entry)
        )
    if entry["unit"] != unit:
        raise InputFault(
            "the unit is not the one of this field", where=place, wanted=unit, got=repr(entry["unit"])
        )
    for part in ("value", "spread"):
        number = entry[part]
        if isinstance(number, bool) or not isinstance(number, int | float) or not isfinite(number):
            raise InputFault(
                f"the {part} is not a finite number", where=place, wanted=wanted, got=repr(number)
            )
    if entry["spread"] < 0:
        raise InputFault(
            "the spread is negative", where=place, wanted="zero or more", got=repr(entry["spread"])
        )
    if not isinstance(entry["source"], str) or not entry["source"].strip():
        raise InputFault("the number has no source", where=place, wanted='a source, or the word "assumed"')
    return SourcedNumber(float(entry["value"]), unit, float(entry["spread"]), entry["source"])


@lru_cache(maxsize=1)
def shipped_fuels() -> MappingProxyType[str, CatalogueFuel]:
    """Fuels of the shipped data file, by key."""
    text = files("dwellwright.catalogue").joinpath("data/fuels.toml").read_text(encoding="utf-8")
    return fuels_from_toml(text, "fuels.toml")


def fuel_named(key: str) -> Fuel:
    """Shipped fuel of that key.

    Raises:
        InputFault: no such fuel; the message lists those there are.

    >>> fuel_named("ethanol").oxygen_to_carbon
    0.5
    """
    fuels = shipped_fuels()
    if key not in fuels:
        raise InputFault("unknown fuel", where="fuel", wanted=", ".join(fuels), got=repr(key))
    return fuels[key].fuel


@lru_cache(maxsize=128)
def ethanol_blend(ethanol_fraction: float) -> Fuel:
    """Base gasoline with that volume fraction of ethanol: 0.10 is E10.

    Raises:
        InputFault: fraction outside 0 to 1.

    >>> round(ethanol_blend(0.10).stoichiometric_ratio, 2)
    13.99
    """
    if not 0.0 <= ethanol_fraction <= 1.0:
        raise InputFault(
            "the ethanol content is not possible",
            where="ethanol",
            wanted="0 to 1 by volume",
            got=str(ethanol_fraction),
        )
    parts = {fuel_named("gasoline"): 1.0 - ethanol_fraction, fuel_named("ethanol"): ethanol_fraction}
    return blend(f"E{100 * ethanol_fraction:g}", parts)
