"""Regime dwell, limit-cycle period and loop entry of recordings against the truth beside them.

Usage: python benchmarks/trace/cases.py FOLDER    (FOLDER holds one folder per car, with log.csv and truth.json)
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from statistics import median
from typing import Any

from dwellwright.evidence.observation import Regime
from dwellwright.evidence.trace import read_trace, summarize
from dwellwright.units import dwell_degrees

REGIMES = (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)


def rows_of(folder: Path) -> list[dict[str, Any]]:
    """One row per car and regime."""
    truth = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    summary = summarize(read_trace(folder / "log.csv"))
    rows = []
    for regime in REGIMES:
        told = truth["regimes"].get(regime.value)
        seen = summary.regimes.get(regime)
        if told is None:
            continue
        row: dict[str, Any] = {"car": folder.name, "regime": regime.value, "dwell": told["dwell_deg"]}
        row["period"], row["closed"] = told["limit_cycle_s"], told["closed_loop_fraction"]
        if seen is not None and seen.duty is not None:
            mean = seen.duty.mean
            row["seen"], row["doubt"] = dwell_degrees(mean.value), dwell_degrees(mean.uncertainty)
            row["seen_closed"] = seen.duty.closed_loop_share
            row["seen_period"] = seen.period.value if seen.period else None
            row["period_doubt"] = seen.period.uncertainty if seen.period else None
            row["delay"] = seen.delay.value if seen.delay else None
        rows.append(row)
    entry, told_entry = summary.features.first_closed_loop, truth.get("first_closed_loop_s")
    rows[0]["entry"] = (told_entry, entry)
    return rows


def main(root: Path) -> None:
    """Print the table and the floors."""
    rows = [
        row for folder in sorted(root.iterdir()) if (folder / "log.csv").is_file() for row in rows_of(folder)
    ]
    print(
        "| car | regime | dwell true | seen | error | u | period true | seen | error % | closed true | seen | delay |"
    )
    print("|---|---|---|---|---|---|---|---|---|---|---|---|")
    for row in rows:
        print("| " + " | ".join(_cells(row)) + " |")
    errors = [abs(row["seen"] - row["dwell"]) for row in rows if "seen" in row]
    print(f"\nregimes {len(rows)}, found {len(errors)}")
    print(f"dwell error median {median(errors):.3f} worst {max(errors):.3f} deg (floors 0.3 and 1)")
    scores = [(row["seen"] - row["dwell"]) / max(row["doubt"], 0.05) for row in rows if "seen" in row]
    print(
        f"root mean square of error over uncertainty {(sum(s * s for s in scores) / len(scores)) ** 0.5:.2f}"
    )
    for regime, limit in ((Regime.IDLE, 20), (Regime.FAST_NO_LOAD, 10), (Regime.CRUISE, 10)):
        told = [r for r in rows if r["regime"] == regime.value and r["period"]]
        off = [100 * abs(r["seen_period"] / r["period"] - 1) if r.get("seen_period") else 100.0 for r in told]
        if off:
            print(
                f"period {regime.value}: median {median(off):.1f} % worst {max(off):.1f} % (floor {limit} %)"
            )
    for row in rows:
        if "entry" in row:
            told, seen = row["entry"]
            print(
                f"{row['car']} first closed loop: true {told and round(told, 1)} seen {seen and round(seen, 1)} s"
            )


def _cells(row: dict[str, Any]) -> list[str]:
    def shown(key: str, places: int) -> str:
        value = row.get(key)
        return "-" if value is None else f"{value:.{places}f}"

    off = row["seen"] - row["dwell"] if "seen" in row else None
    ratio = (
        100 * (row["seen_period"] / row["period"] - 1) if row.get("seen_period") and row["period"] else None
    )
    return [
        row["car"], row["regime"], shown("dwell", 2), shown("seen", 2), "-" if off is None else f"{off:+.2f}",
        shown("doubt", 2), shown("period", 2), shown("seen_period", 2), "-" if ratio is None else f"{ratio:+.1f}",
        shown("closed", 2), shown("seen_closed", 2), shown("delay", 2),
    ]  # fmt: skip


if __name__ == "__main__":
    main(Path(sys.argv[1]))
