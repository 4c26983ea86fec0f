"""What a reading can be typed in for: in plain words, with the unit it is usually read in."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from dwellwright.catalogue.gauge_items import gauge_items
from dwellwright.evidence.observation import Measured, Regime
from dwellwright.service.presentation import DWELL, look_of
from dwellwright.service.readings import PLAIN_ITEMS

RUNNING = "engine running"
BENCH = "bench"


@dataclass(frozen=True)
class TypedItem:
    """One thing that can be read: its name, plain words, usual unit, and where it is read."""

    name: str
    label: str
    unit: str
    group: str


@cache
def typed_items() -> tuple[TypedItem, ...]:
    """Everything that can be typed in, each once: running engine first, dwell at the very top."""
    found = [
        TypedItem(name, look_of(item.measured).label, item.unit, RUNNING)
        for name, item in PLAIN_ITEMS.items()
    ]
    for name, known in gauge_items().items():
        if known.measured is None or name != known.name:
            continue
        unit = look_of(Measured(known.measured)).unit
        group = BENCH if known.regime == Regime.BENCH.value else RUNNING
        found.append(TypedItem(name, known.label, "deg" if unit == DWELL else unit, group))
    return tuple(sorted(found, key=lambda one: (one.group != RUNNING, one.name != "dwell", one.label)))


def usual_unit(item: str) -> str:
    """The unit an item is usually read in; empty where there is no such item."""
    return next((one.unit for one in typed_items() if one.name == item), "")
