"""What an instrument's lines mean, as its owner describes it in TOML: columns, units, how it is connected."""

from __future__ import annotations

import tomllib
from enum import StrEnum
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError, model_validator

from dwellwright.catalogue.quantity import Frozen
from dwellwright.catalogue.sheet_file import line_of
from dwellwright.errors import InputFault
from dwellwright.evidence.trace.columns import Channel
from dwellwright.evidence.trace.names import channel_units

LARGEST = 100_000
"""Bytes of a description; it is a page of text."""

GASES = ("co", "co2", "o2", "hc")
"""Gases of an analyzer, beside the channels of a drive recording."""

GAS_UNITS = {"co": ("%",), "co2": ("%",), "o2": ("%",), "hc": ("ppm",)}


class Wire(StrEnum):
    """How the lines arrive."""

    SERIAL = "serial"
    NETWORK = "network"


class Connection(Frozen):
    """How the instrument is connected, and what it must be asked."""

    kind: Annotated[Wire, Field(strict=False)]
    baud: Annotated[int, Field(ge=50, le=4_000_000)] = 9600
    bits: Literal[7, 8] = 8
    parity: Literal["none", "even", "odd"] = "none"
    stop_bits: Literal[1, 2] = 1
    ask: Annotated[str, Field(max_length=200)] = Field(
        default="", description="Sent to have one line; empty for an instrument that speaks by itself."
    )
    ask_every: Annotated[float, Field(gt=0.005, le=60, allow_inf_nan=False)] = 0.2


class Lines(Frozen):
    """What one line of readings looks like."""

    separator: Annotated[str, Field(min_length=1, max_length=4)] = ","
    begins: Annotated[str, Field(max_length=40)] = Field(
        default="", description="How a line of readings begins; other lines are passed over."
    )
    decimal: Literal[".", ","] = "."


class Column(Frozen):
    """One column of a line: its place from 1, what it holds, and in which unit."""

    place: Annotated[int, Field(ge=1, le=200)]
    channel: str
    unit: str
    cylinders: Annotated[int, Field(ge=1, le=16)] = Field(default=6, description="Scale of a dwell meter.")

    @model_validator(mode="after")
    def _known(self) -> Column:
        if self.channel in GASES:
            units: tuple[str, ...] = GAS_UNITS[self.channel]
        elif self.channel in set(Channel):
            units = tuple(one for one in channel_units(Channel(self.channel)) if one not in ("iso", "clock"))
        else:
            raise ValueError(f"channel must be one of {', '.join((*Channel, *GASES))}, got {self.channel!r}")
        if self.unit not in units:
            raise ValueError(f"unit of {self.channel} must be one of {', '.join(units)}, got {self.unit!r}")
        return self


class Description(Frozen):
    """One instrument."""

    format: Literal[1]
    title: Annotated[str, Field(min_length=1, max_length=120)]
    connection: Connection
    line: Lines = Lines()
    column: Annotated[list[Column], Field(min_length=1, max_length=40)]

    @model_validator(mode="after")
    def _each_once(self) -> Description:
        for what, given in (("place", [str(one.place) for one in self.column]),
                            ("channel", [one.channel for one in self.column])):  # fmt: skip
            if twice := sorted({one for one in given if given.count(one) > 1}):
                raise ValueError(f"column {what} {', '.join(twice)} is used twice")
        if {one.channel for one in self.column} <= {Channel.TIME}:
            raise ValueError("column must hold more than the time")
        return self

    @property
    def is_trace(self) -> bool:
        """Whether it has anything that a drive recording has."""
        return any(one.channel not in (*GASES, Channel.TIME) for one in self.column)

    @property
    def has_gas(self) -> bool:
        """Whether it reads exhaust gas."""
        return any(one.channel in GASES for one in self.column)


def description_of(text: str, where: str = "description") -> Description:
    """The instrument that a TOML text describes.

    Raises:
        InputFault: the text is not such a description; the message holds every finding with its line.
    """
    if len(text.encode("utf-8", "replace")) > LARGEST:
        raise InputFault("the description is too long", where=where, wanted=f"at most {LARGEST} bytes")
    try:
        tree = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise InputFault("the description is not TOML", where=where, got=str(fault)) from None
    try:
        return Description.model_validate(tree)
    except ValidationError as fault:
        found = "; ".join(_words(text, error) for error in fault.errors()[:8])
        raise InputFault(f"the description cannot be used: {found}", where=where) from None


def _words(text: str, error: Any) -> str:
    path = tuple(error["loc"])
    line = line_of(text, tuple(part for part in path if not isinstance(part, int)))
    message = error["msg"].removeprefix("Value error, ")
    place = ".".join(str(part + 1) if isinstance(part, int) else part for part in path) or "as a whole"
    got = "" if isinstance(error["input"], dict | list) else f", got {error['input']!r}"
    return f"{f'line {line}, ' if line else ''}{place}: {message}{got}"
