"""Printing what the gauge commands find."""

from __future__ import annotations

from collections.abc import Sequence

from dwellwright.cli.render import print_table, say
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
