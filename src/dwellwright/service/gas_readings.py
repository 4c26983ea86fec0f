"""Gas read off an analyzer's display: written as the same table a file would hold, and read by the same reader."""

from __future__ import annotations

import csv
import tempfile
from collections.abc import Mapping
from pathlib import Path

from dwellwright.errors import InputFault
from dwellwright.records.audit import now
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Side
from dwellwright.service.evidence import AddedEvidence, add_evidence

COLUMNS = ("condition", "co_pct", "co2_pct", "o2_pct", "hc_ppm")


def add_gas(shop: Shop, number: int, gas: Mapping[str, str], side: Side, who: str) -> AddedEvidence:
    """Add one line of an analyzer to a job, as typed.

    Args:
        shop: where.
        number: of the job.
        gas: text by column; `condition` is idle or an engine speed.
        side: before or after the work.
        who: who read it.

    Raises:
        InputFault: no such job, nothing typed, or the table's reader refuses it.
    """
    if not any(gas.get(name, "").strip() for name in COLUMNS[1:]):
        raise InputFault(
            "the reading has no value", where="exhaust gas", wanted="CO, CO2, O2 in % and HC in ppm"
        )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"gas-typed-{now():%Y%m%d-%H%M%S}.csv"
        with path.open("w", encoding="utf-8", newline="") as file:
            table = csv.writer(file)
            table.writerow(COLUMNS)
            table.writerow([" ".join(gas.get(name, "").replace(",", ".").split()) for name in COLUMNS])
        return add_evidence(shop, number, path, side, who)
