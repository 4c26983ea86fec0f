"""The time column, however it is written, as seconds that rise."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
import polars as pl

from dwellwright.errors import InputFault
from dwellwright.evidence.trace.names import TIME_FORMS, column_unit
from dwellwright.evidence.trace.trace import Values

SECONDS_STEP = 0.9
"""A time without unit whose steps are shorter than this is in seconds: in milliseconds it would be a logger
faster than 1 kHz, which records no drive."""
_EPOCHS = ((1e17, 1e-9), (1e14, 1e-6), (1e11, 1e-3), (1e8, 1.0))


@dataclass(frozen=True)
class Clock:
    """Seconds of each row and what time zero was. NaN where the cell was blank or wrong."""

    seconds: Values
    started: datetime | None = None
    assumed: str = ""


def time_form(unit: str, sample: Sequence[str]) -> str:
    """How a time column is written: `clock`, `iso`, `epoch`, a unit of time, or "" for a bare number."""
    first = next((cell.strip() for cell in sample if cell.strip()), "")
    if ":" in first:
        return "iso" if re.match(r"\d{4}[-/]\d", first) else "clock"
    if unit in ("clock", "iso"):
        return ""
    return unit


def clock_from_text(cells: pl.Series, form: str) -> Clock:
    """Seconds since the first row from hh:mm:ss or ISO 8601 text."""
    text = cells.str.strip_chars().str.replace_all(",", ".", literal=True)
    if form == "clock":
        parts = text.str.split(":").list.eval(pl.element().cast(pl.Float64, strict=False))
        count = parts.list.len()
        hours = pl.when(count == 3).then(parts.list.get(0, null_on_oob=True)).otherwise(0.0)
        minutes = pl.when(count == 3).then(parts.list.get(1, null_on_oob=True)).otherwise(parts.list.get(0))
        total = pl.select(hours * 3600 + minutes * 60 + parts.list.get(-1)).to_series()
        seconds = total.to_numpy().astype(np.float64)
        good = np.flatnonzero(np.isfinite(seconds))
        return Clock(seconds - seconds[good[0]] if good.size else seconds)
    plain = text.str.replace(r"\s*(Z|[+-]\d\d:?\d\d)$", "").str.replace("T", " ", literal=True)
    moment = plain.str.replace_all("/", "-", literal=True).str.to_datetime(
        "%Y-%m-%d %H:%M:%S%.f", strict=False
    )
    return clock_from_moments(moment)


def clock_from_moments(moments: pl.Series) -> Clock:
    """Seconds since the first of a column of date-times."""
    stamps = moments.dt.epoch("us").cast(pl.Float64).to_numpy().astype(np.float64)
    good = np.flatnonzero(np.isfinite(stamps))
    if good.size == 0:
        return Clock(stamps)
    first = stamps[good[0]]
    return Clock((stamps - first) * 1e-6, _moment(first * 1e-6))


def clock_from_numbers(numbers: Values, unit: str, *, where: str) -> Clock:
    """Seconds from numbers in a unit of time, or from seconds (or finer) since 1970.

    Raises:
        InputFault: no unit, and the steps do not tell.
    """
    if unit not in ("", "epoch"):
        factor = column_unit(unit, where=where).factor
        with np.errstate(over="ignore"):  # what overflows is no time, and is left out later
            return Clock(numbers * factor if factor != 1.0 else numbers)
    head = numbers[:10_000]
    good = head[np.isfinite(head)]
    first = float(good[0]) if good.size else 0.0
    for least, factor in _EPOCHS:
        if abs(first) > least:
            start = _moment(first * factor)
            with np.errstate(over="ignore"):
                return Clock((numbers - first) * factor, start)
    if unit == "epoch":
        raise InputFault(
            "the time is not since 1970", where=where, wanted="seconds since 1970", got=f"{first:g}"
        )
    steps = np.diff(good)
    step = float(np.median(steps[steps > 0])) if np.any(steps > 0) else np.nan
    if step < SECONDS_STEP:
        return Clock(numbers, None, f"The time column has no unit; steps of {step:.3g} can only be seconds.")
    raise InputFault(
        "the time column does not say its unit",
        where=where,
        wanted="seconds, milliseconds, hh:mm:ss, date and time, or epoch",
        got=f"steps of {step:g}",
        remedy="Rename it 'time (s)' or 'time (ms)', or give a column map.",
    )


def _moment(seconds: float) -> datetime | None:
    try:
        return datetime.fromtimestamp(seconds, UTC)
    except (OverflowError, OSError, ValueError):
        return None


def text_needed(form: str) -> bool:
    """Whether the time column must be read as text."""
    return form in ("clock", "iso")


def known_form(form: str) -> bool:
    """Whether a form is one of the written forms rather than a unit."""
    return form in TIME_FORMS
