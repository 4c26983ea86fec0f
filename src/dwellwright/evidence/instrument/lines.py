"""One line of an instrument as numbers, in the units of its description."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from dwellwright.evidence.instrument.description import Column, Description
from dwellwright.evidence.trace.columns import Channel
from dwellwright.evidence.trace.names import column_unit

LONGEST_LINE = 4096
"""Bytes; an instrument that sends no line end within so many is not described rightly. Assumed."""


@dataclass(frozen=True)
class Decoded:
    """What one line said.

    Args:
        values: number of each channel, as sent; a cell that is no number is left out.
        passed: whether the line holds no readings at all: a heading, a remark, another kind of line.
        fault: what was wrong with a line that should have held readings; empty where nothing was.
    """

    values: dict[str, float]
    passed: bool = False
    fault: str = ""


def decoded(description: Description, line: str) -> Decoded:
    """A line's numbers by channel.

    >>> from dwellwright.evidence.instrument.description import description_of
    >>> meter = description_of('''format = 1
    ... title = "a meter"
    ... connection = { kind = "serial" }
    ... column = [{ place = 2, channel = "duty", unit = "deg" }]''')
    >>> decoded(meter, "1.0, 31.5").values
    {'duty': 31.5}
    """
    text = line.strip("\r\n\x00 ")
    begins = description.line.begins
    if not text or not text.startswith(begins):
        return Decoded({}, passed=True)
    cells = text[len(begins) :].split(description.line.separator)
    values: dict[str, float] = {}
    bad = []
    for column in description.column:
        number = _number(cells, column, description.line.decimal)
        if number is None:
            bad.append(column)
        else:
            values[column.channel] = number
    if not values or (len(values) == 1 and Channel.TIME in values):
        return Decoded({}, fault=f"no number where one was described: {text[:80]!r}")
    fault = f"column {bad[0].place} ({bad[0].channel}) holds no number" if bad else ""
    return Decoded(values, fault=fault)


def _number(cells: list[str], column: Column, decimal: str) -> float | None:
    if column.place > len(cells):
        return None
    text = cells[column.place - 1].strip().replace(decimal, ".")
    try:
        value = float(text)
    except ValueError:
        return None
    return value if isfinite(value) and "_" not in text else None


def seconds(column: Column, value: float) -> float:
    """An instrument's own time. [s]"""
    return value if column.unit == "epoch" else value * column_unit(column.unit).factor
