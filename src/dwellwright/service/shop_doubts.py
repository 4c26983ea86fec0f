"""What the shop's closed jobs teach of the doubts: how healthy cars scatter here, and how far the model is off."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

from dwellwright.catalogue.sheet_file import parsed_sheet
from dwellwright.records import jobs, readings, sheets
from dwellwright.records.engine import reading
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Side
from dwellwright.units import step_from_si

if TYPE_CHECKING:
    from dwellwright.diagnosis.learning import Learned
    from dwellwright.evidence.observation import Observation

MOST_TAUGHT = 100
"""Newest closed jobs that teach; each takes a few milliseconds. [-]"""

Taught = tuple[str, "tuple[Observation, ...]", frozenset[str]]
"""A closed job: its sheet's text, what was seen before the work, and the causes confirmed."""


def shop_doubts(shop: Shop, but: int | None = None) -> Learned:
    """Scatter and the model's doubt from the newest closed jobs but one; the shipped ones where there are none."""
    with reading(shop.engine) as connection:
        closed = [one for one in jobs.job_records(connection)
                  if one.closed and one.found is not None and one.number != but]  # fmt: skip
        closed = sorted(closed, key=lambda one: one.number)[-MOST_TAUGHT:]
        seen = readings.readings_of_closed(connection, Side.AS_FOUND)
        texts = {key: sheets.sheet_version(connection, key).text for key in {one.sheet for one in closed}}
    cars = [
        (texts[one.sheet], tuple(record.observation for record in seen[one.number]),
         frozenset(str(cause.get("id")) for cause in one.found or ()))
        for one in closed if one.number in seen
    ]  # fmt: skip
    return _learned(tuple(cars))


@lru_cache(maxsize=8)
def _learned(cars: tuple[Taught, ...]) -> Learned:
    from dwellwright.diagnosis.learning import PastCar, learned_from

    parsed = {text: parsed_sheet(text, "the sheet of a closed job") for text, _, _ in cars}
    return learned_from([PastCar(parsed[text], seen, found) for text, seen, found in cars])


def doubt_facts(learned: Learned) -> list[dict[str, Any]]:
    """Learned doubts as plain facts in shop units, what moved most first."""
    from dwellwright.diagnosis.scatter import scatter_table

    table = scatter_table()
    entries = {**table["build"], **table["discrepancy"]}
    facts = []
    for one in sorted(learned.doubts, key=lambda one: -abs(one.learned / one.shipped - 1.0)):
        unit = str(entries[one.name]["unit"])
        shipped, shop, low, high = (float(f"{step_from_si(value, unit):.3g}")
                                    for value in (one.shipped, one.learned, one.low, one.high))  # fmt: skip
        facts.append({"id": one.name, "title": entries[one.name]["title"], "unit": unit, "shipped": shipped,
                      "shop": shop, "low": low, "high": high, "jobs": one.cars})  # fmt: skip
    return facts
