"""Diagnose every case folder below one folder and set the answers beside the truth; writes a page of tables.

Usage: python benchmarks/diagnosis/cases.py FOLDER [--write docs/validation.md]

A case folder holds log.csv, drive.wav, gas.csv, bench.csv (any missing) and truth.json. The cars must come from a
simulator that shares no code with this tool, or the table proves nothing.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from statistics import median
from typing import Any

from dwellwright.service.diagnosis import diagnose_folder
from dwellwright.units import dwell_degrees

ALIASES = {
    "needle_seat_leak": {"seat_leak"}, "o2_slow": {"sensor_slow"}, "o2_bias": {"sensor_bias"},
    "o2_cold": {"sensor_cold"}, "coolant": {"coolant_sensor"}, "tps": {"throttle_sensor"},
    "throttle_sensor": {"throttle_sensor"}, "idle_block": {"idle_channel_blocked"},
    "idle_blocked": {"idle_channel_blocked"}, "rods_stuck": {"rods_stuck_rich", "rods_stuck_lean"},
    "piston": {"power_piston"}, "travel": {"rod_travel"},
}  # fmt: skip
"""Names that truth files use for what the tool calls something else."""
REGIMES = ("idle", "3000", "cruise")


def named(truth: str) -> set[str]:
    """Identifiers of the tool that count as this true fault."""
    return ALIASES.get(truth, {truth})


def rank(answer: dict[str, Any], truth: str) -> int:
    """Place of a true fault among the causes named, from 1; 99 when it is not among them."""
    names = [cause["id"] for cause in answer["causes"]]
    return next((place for place, name in enumerate(names, 1) if name in named(truth)), 99)


def row(folder: Path) -> dict[str, Any]:
    """One case: truth, answer and errors."""
    truth = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    answer = diagnose_folder(folder)
    errors = {}
    for regime in REGIMES:
        told, true = answer["regimes"].get(regime) or {}, truth["regimes"].get(regime) or {}
        if told.get("dwell_deg") is not None and true.get("dwell_deg") is not None:
            errors[regime] = told["dwell_deg"] - true["dwell_deg"]
    wave = answer.get("waveform") or {}
    true_wave = truth.get("wav")
    wave_error = (
        wave["dwell_deg"] - dwell_degrees(true_wave["duty"]) if true_wave and wave.get("dwell_deg") else None
    )
    cycles = {}
    for regime in REGIMES:
        told, true = answer["regimes"].get(regime) or {}, truth["regimes"].get(regime) or {}
        if told.get("limit_cycle_s") and true.get("limit_cycle_s"):
            cycles[regime] = told["limit_cycle_s"] / true["limit_cycle_s"] - 1.0
    return {
        "name": folder.name,
        "truth": truth,
        "answer": answer,
        "dwell": errors,
        "wave": wave_error,
        "cycle": cycles,
    }


def line(one: dict[str, Any]) -> str:
    """A row of the table."""
    faults, answer = one["truth"]["faults"], one["answer"]
    true = "; ".join(f"{f['name']} {f['magnitude']:g}" for f in faults) or "healthy"
    top = "; ".join(f"{c['id']} {c['probability']:.2f}" for c in answer["causes"][:2])
    places = ", ".join(str(rank(answer, f["name"])) for f in faults) or "–"
    dwell = " ".join(f"{one['dwell'][r]:+.2f}" if r in one["dwell"] else "–" for r in REGIMES)
    wave = f"{one['wave']:+.3f}" if one["wave"] is not None else "–"
    named_ = f"{top}; healthy {answer['healthy_probability']:.2f}"
    return f"| {one['name']} | {true} | {named_} | {places} | {dwell} | {wave} |"


def summary(rows: list[dict[str, Any]]) -> list[str]:
    """Figures over all cases."""
    faulty = [one for one in rows if one["truth"]["faults"]]
    first = [min(rank(one["answer"], f["name"]) for f in one["truth"]["faults"]) for one in faulty]
    healthy = [one for one in rows if not one["truth"]["faults"]]
    alarms = sum(one["answer"]["causes"][0]["probability"] > 0.5 for one in healthy)
    dwell = [abs(v) for one in rows for v in one["dwell"].values()]
    waves = [abs(one["wave"]) for one in rows if one["wave"] is not None]
    cycles = {r: [abs(one["cycle"][r]) for one in rows if r in one["cycle"]] for r in REGIMES}
    told = [
        f"- a true fault first: {sum(p == 1 for p in first)} of {len(faulty)}; in the first three: "
        f"{sum(p <= 3 for p in first)} of {len(faulty)}",
        f"- healthy cars called faulty (a cause above one half): {alarms} of {len(healthy)}",
    ]
    if dwell:
        told.append(f"- regime dwell: median error {median(dwell):.2f} deg, worst {max(dwell):.2f} deg")
    if waves:
        told.append(f"- waveform dwell: median error {median(waves):.3f} deg, worst {max(waves):.3f} deg")
    for regime, values in cycles.items():
        if values:
            told.append(
                f"- limit cycle at {regime}: median error {median(values):.1%}, worst {max(values):.1%}"
            )
    return told


def page(rows: list[dict[str, Any]]) -> str:
    """The whole page."""
    head = [
        "# Validation on example cars", "",
        "Invented cars from a simulator that shares no code with this tool; none of its numbers was fitted to them.",
        "Made by `python benchmarks/diagnosis/cases.py FOLDER --write docs/validation.md`. Errors are answer minus",
        "truth, dwell on the six-cylinder scale.", "", *summary(rows), "",
        "| case | true fault and size | named causes with probability | place of the true fault "
        "| dwell error idle / 3000 / cruise (deg) | waveform dwell error (deg) |",
        "|---|---|---|---|---|---|",
    ]  # fmt: skip
    return "\n".join([*head, *(line(one) for one in rows)]) + "\n"


def main() -> None:
    """Diagnose and print, or write, the page."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--write", type=Path)
    asked = parser.parse_args()
    folders = sorted(file.parent for file in asked.folder.glob("*/truth.json"))
    text = page([row(folder) for folder in folders])
    if asked.write:
        asked.write.write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
