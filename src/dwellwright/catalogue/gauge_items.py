"""The lines a bench sheet may hold: what each measures, its usual instrument, tolerance and limits."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any

from dwellwright.units import Dimension, step_to_si, to_si


class ItemKind(StrEnum):
    """How the cells of a line are read."""

    TEXT = "text"
    COUNT = "count"
    CODES = "codes"
    CONTEXT = "context"
    READING = "reading"


@dataclass(frozen=True)
class GaugeItem:
    """One line of a bench sheet, as data.

    Args:
        name: the word in the sheet's item column.
        kind: how its cells are read.
        label: the same in plain words.
        dimension: of its readings; None for text.
        measured: name of the observation it becomes, or None if no observation uses it yet.
        regime: where in the operating range it is taken.
        instrument: key of the usual instrument.
        tolerance: half width allowed around the specification when the sheet gives none. [SI]
        method: standard uncertainty of the way of measuring, beside the instrument. [SI]
        lowest: smallest believable reading. [SI]
        highest: largest believable reading. [SI]
        larger: what a larger reading means.
        source: where tolerance and method come from.
    """

    name: str
    kind: ItemKind
    label: str
    dimension: Dimension | None
    measured: str | None
    regime: str
    instrument: str
    tolerance: float
    method: float
    lowest: float
    highest: float
    larger: str
    source: str


def _item(name: str, entry: Mapping[str, Any]) -> GaugeItem:
    unit = str(entry.get("limit_unit", "1"))
    return GaugeItem(
        name=name,
        kind=ItemKind(entry.get("kind", "reading")),
        label=entry["label"],
        dimension=Dimension(entry["dimension"]) if "dimension" in entry else None,
        measured=entry.get("measured"),
        regime=entry.get("regime", "bench"),
        instrument=entry.get("instrument", ""),
        tolerance=step_to_si(float(entry.get("tolerance", 0.0)), unit),
        method=step_to_si(float(entry.get("method", 0.0)), unit),
        lowest=to_si(float(entry.get("lowest", 0.0)), unit),
        highest=to_si(float(entry.get("highest", 0.0)), unit),
        larger=entry.get("larger", ""),
        source=entry.get("source", ""),
    )


@cache
def gauge_items() -> Mapping[str, GaugeItem]:
    """Every known line by its name and by each of its other names.

    >>> gauge_items()["rod_travel"].measured
    'rod_travel'
    """
    text = files("dwellwright.catalogue").joinpath("data", "gauge_items.toml").read_text("utf-8")
    known: dict[str, GaugeItem] = {}
    for name, entry in tomllib.loads(text)["item"].items():
        item = _item(name, entry)
        known[name] = item
        known.update(dict.fromkeys(entry.get("aliases", ()), item))
    return known
