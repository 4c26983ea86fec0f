"""Printing what was read in one evidence file."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from dwellwright.cli.render import print_table, say
from dwellwright.evidence.observation import Observation, Regime
from dwellwright.service.files import FileReport
from dwellwright.service.presentation import REGIME_LABELS, shown

TITLES = {
    "waveform": "sound of the solenoid's wire",
    "trace": "drive recording",
    "gas": "gas table",
    "gauges": "bench sheet",
}


def print_report(report: FileReport) -> None:
    """The kind of the file, its readings with intervals, and its warnings."""
    say(f"{report.name}: {TITLES[report.kind]}", style="bold")
    for line in _headline(report):
        say(f"  {line}")
    if report.kind == "trace":
        _stretches(report.facts["regimes"])
    print_readings(report.observations, of_file=report.name)
    print_warnings(report.warnings)


def _headline(report: FileReport) -> list[str]:
    facts = report.facts
    if report.kind == "waveform":
        sure = f"{100 * facts['polarity_confidence']:.0f} % sure"
        lines = [f"{facts['duration_s']:.1f} s, {facts['pulses']} pulses, duty {facts['pattern']}, "
                 f"polarity {facts['polarity']} ({sure})"]  # fmt: skip
        spread, odd = (
            facts["dwell_spread_deg"],
            f"{facts['missing_pulses']} missing, {facts['double_pulses']} doubled",
        )
        single = f"single pulses {spread['p5']:.1f} to {spread['p95']:.1f} deg, " if spread else ""
        lines.append(f"{single}beat within {facts['jitter_ms']:.2g} ms, {odd}")
        for key, words in (("pull_in_ms", "pulls in"), ("drop_out_ms", "drops out")):
            if facts[key] is not None:
                lines.append(f"the armature {words} after {facts[key]:.1f} ms")
        if facts["dwell_deg"] is None:
            for way in ("normal", "reversed"):
                dwell = facts[f"dwell_if_{way}_deg"]
                lines.append(f"dwell {dwell['value']:.2f} deg if the polarity is {way} (--polarity {way})")
        return lines
    if report.kind == "gauges":
        said = [facts["engine"], f"{facts['cylinders']} cylinders" if facts["cylinders"] else None]
        said.append(f"codes {', '.join(facts['codes'])}" if facts["codes"] else "no stored codes")
        return [", ".join(part for part in said if part)]
    return []


def _stretches(regimes: Mapping[str, Mapping[str, Any]]) -> None:
    """Where each regime lies in a recording, how its dwell is spread, and what is left to either limit."""
    rows = []
    for name, one in regimes.items():
        spread, left = one.get("dwell_spread_deg"), one.get("reserve_deg")
        rows.append((
            REGIME_LABELS[Regime(name)], f"{one['from_s']:.0f} to {one['to_s']:.0f} s",
            f"{spread['p5']:.1f} to {spread['p95']:.1f} deg" if spread else "",
            f"{left['rich']:.1f} deg" if left else "", f"{left['lean']:.1f} deg" if left else "",
        ))  # fmt: skip
    columns = ("where", ">from", ">dwell, nine tenths of the time", ">reserve to rich", ">to lean")
    print_table("", columns, rows)


def print_readings(seen: Iterable[Observation], *, of_file: str = "") -> None:
    """Readings with their intervals (about 95 %); the name of their file is left out where it is known."""
    rows, before = [], ""
    for one in seen:
        view = shown(one)
        place = REGIME_LABELS[Regime(view.regime)]
        source = view.source.removeprefix(f"{of_file}, ") if of_file else view.source
        rows.append(
            (
                "" if place == before else place,
                view.label,
                view.text,
                view.interval_text,
                view.wanted_text,
                source,
            )
        )
        before = place
    if rows:
        print_table("", ("where", "reading", ">value", ">95 % interval", ">wanted", "source"), rows)


def print_warnings(warnings: Iterable[str]) -> None:
    """Warnings, one to a line."""
    for warning in warnings:
        say(f"  ! {warning}", style="yellow")
