"""Printing what the gauge commands find."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

from dwellwright.cli.render import print_table, say
from dwellwright.errors import InputFault
from dwellwright.records.calibrations import CalibrationRecord
from dwellwright.service.calibrations import CalibratedInstrument, line_words
from dwellwright.service.gauge_cards import OwnGauge
from dwellwright.service.makeshift import SettingWays


def print_ways(title: str, found: Sequence[SettingWays], *, closely: bool = False) -> None:
    """Every setting with its ways and verdicts; closely: with conversion, budget, steps and cautions."""
    say(f"{title}: measured with what a shop has", style="bold")
    columns = ("way", ">95 %", "for this tolerance", "settings that would be wrong")
    for one in found:
        rows = [(way.label, way.doubt, way.verdict, way.chance) for way in one.ways]
        print_table(f"{one.key}: {one.wanted}", columns, rows or [(one.note, "", "", "")])
    if closely:
        for one in found:
            _print_closely(one)
    else:
        say("Steps, cautions and the budget of each way: name one setting.")


def draw_ways(found: Sequence[SettingWays], path: Path) -> None:
    """Draw the ways for one setting into a new file.

    Raises:
        InputFault: more than one setting, nothing to draw, or a file that cannot be written.
    """
    from dwellwright.service.evidence_plots import write_plot
    from dwellwright.service.measuring_plots import setting_plot

    if len(found) != 1:
        raise InputFault("a plot shows one setting", where="--plot", wanted="the name of a setting before it")
    write_plot(lambda form: setting_plot(found[0], form), path)


def _print_closely(found: SettingWays) -> None:
    for way in found.ways:
        say(f"{way.label}: {way.verdict}", style="bold")
        for number, step in enumerate(way.steps, 1):
            say(f"  {number}. {step}")
        say(f"  ! {way.caution}", style="yellow")
        say(f"  {way.conversion}; {way.source}")
        say("  budget, one standard uncertainty each: " + ", ".join(f"{a} {b}" for a, b in way.budget))


def print_cards(found: Sequence[OwnGauge]) -> None:
    """The shop's gauges: what they were drawn for, their true sizes, and what their cards say."""
    if not found:
        say("No gauges with a card yet. Draw one with `dwellwright gauge draw`.")
        return
    rows = [
        (one.name, one.setting, f"{1e3 * one.short_made:.3f}", f"{1e3 * one.long_made:.3f}", f"{1e3 * one.doubt:.3f}",
         one.measured_with, one.made, one.card.words)
        for one in found
    ]  # fmt: skip
    columns = ("name", "for", ">short, mm", ">long, mm", ">doubt", "measured with", "entered", "says")
    print_table("Gauges of the shop", columns, rows)


def print_calibrations(found: Sequence[CalibratedInstrument]) -> None:
    """The instruments of the shop, how their calibration stands, and what it does to readings."""
    if not found:
        say(
            "No instruments yet. Keep a calibration for one: dwellwright gauge calibration FILE --keep caliper:C-12"
        )
        return
    rows = [(one.tool, str(one.own.calibrated or "never"), str(one.own.due or ""), one.own.standing(date.today()),
             one.words or "none kept") for one in found]  # fmt: skip
    print_table(
        "Instruments of the shop", ("read with", "calibrated", "due", "stands", "its calibration"), rows
    )


def calibration_facts(one: CalibratedInstrument) -> dict[str, Any]:
    """One instrument as plain facts."""
    return {"tool": one.tool, "label": one.label, "calibrated": str(one.own.calibrated) if one.own.calibrated else None,
            "due": str(one.own.due) if one.own.due else None, "stands": one.own.standing(date.today()),
            "calibration": one.words or None}  # fmt: skip


def print_kept(kept: Sequence[CalibrationRecord]) -> None:
    """Every calibration ever kept, and by whom."""
    rows = [(f"{one.added:%Y-%m-%d %H:%M}", one.who, f"{one.done.kind}:{one.done.mark}", one.done.day.isoformat(),
             one.done.source, line_words(one), f"{one.withdrawn:%Y-%m-%d %H:%M}" if one.withdrawn else "")
            for one in kept]  # fmt: skip
    columns = ("kept", "by", "for", "done", "table", "says", "taken back")
    print_table("Calibrations", columns, rows)
