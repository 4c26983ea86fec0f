"""Printing a diagnosis."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dwellwright.cli.render import print_table, say
from dwellwright.service.diagnosis import likely_causes
from dwellwright.service.handover_facts import magnitude_words

BAR = 12
"""Characters of a bar that is certainty."""


def print_verdict(facts: Mapping[str, Any], heading: str, *, explain: bool = False) -> None:
    """Causes with probability and size, what to test next, doubts; with `explain` what speaks for each cause."""
    say(heading, style="bold")
    shown = likely_causes(facts)
    rows = [(f"{100 * one['probability']:.0f} %", _bar(one["probability"]), one["title"], magnitude_words(one),
             one["meaning"]) for one in shown]  # fmt: skip
    healthy = facts["healthy_probability"]
    rows.append((f"{100 * healthy:.0f} %", _bar(healthy), "no fault", "", "what is seen is a healthy car's"))
    print_table("Causes", (">chance", "", "cause", ">size (80 % interval)", "which means"), rows)
    _print_look_alikes(facts)
    if explain:
        for one in shown:
            _print_support(one)
            _print_remedy(one)
    _print_dwell(facts)
    tests = facts["next_tests"][:4]
    if tests:
        lines = [
            (one["title"], f"{one['minutes']:g} min", f"{one['information_bits']:.2f} bit", one["why"])
            for one in tests
        ]
        print_table("What to test next", ("test", ">takes", ">tells", "why"), lines)
    _print_pull(facts)
    _print_memory(facts)
    for words in facts["warnings"]:
        say(f"  ! {words}", style="yellow")


def _bar(share: float) -> str:
    return "█" * round(BAR * share) or "·"


def _print_look_alikes(facts: Mapping[str, Any]) -> None:
    titles = {one["id"]: one["title"].lower() for one in facts["causes"]}
    for group in facts["look_alikes"]:
        say(f"This evidence cannot tell apart: {', '.join(titles.get(one, one) for one in group)}.")


def _print_support(cause: Mapping[str, Any]) -> None:
    rows = [(f"{one['bits']:+.1f} bit", one["evidence"], one["source"]) for one in cause["support"][:8]]
    if rows:
        print_table(
            f"{cause['title']}: what speaks for (+) and against (-) it", (">weight", "evidence", "from"), rows
        )


def _print_remedy(cause: Mapping[str, Any]) -> None:
    parts = f" Parts: {'; '.join(cause['parts'])}." if cause["parts"] else ""
    say(f"{cause['title']}: {cause['remedy']} About {cause['minutes']:g} min.{parts}")
    if cause["hazard"]:
        say(f"  ! {cause['hazard']}", style="yellow")


def _print_dwell(facts: Mapping[str, Any]) -> None:
    rows = [
        (
            regime,
            _degrees(one["observed_dwell_deg"]),
            _degrees(one["healthy_dwell_deg"]),
            _degrees(one["explained_dwell_deg"]),
        )
        for regime, one in facts["predictions"].items()
    ]
    columns = ("where", ">read", ">a healthy car", ">best explanation")
    print_table("Dwell (six-cylinder scale)", columns, rows)


def _print_pull(facts: Mapping[str, Any]) -> None:
    if pull := facts.get("pull"):
        say(f"The unit: {pull['advice']}. {pull['why']}")


def _print_memory(facts: Mapping[str, Any]) -> None:
    memory = facts.get("shop_memory")
    if memory and memory["used"]:
        moved = ", ".join(f"{one['title'].lower()} {100 * one['shipped']:.0f} to {100 * one['shop']:.0f} %"
                          for one in memory["moved"][:4])  # fmt: skip
        say(
            f"Shares of arriving cars learned from {memory['jobs']} closed jobs: {moved}. --no-memory leaves them out."
        )
        _print_doubts(memory.get("doubts", []))
    for past in facts.get("similar_jobs", [])[:3]:
        say(f"Like job {past['number']} ({past['car']}), {past['apart_deg']:.1f} deg apart: {past['found']}.")


def _print_doubts(doubts: Sequence[Mapping[str, Any]]) -> None:
    rows = [(one["title"], f"{one['shipped']:.3g} {one['unit']}", f"{one['shop']:.3g} {one['unit']}",
             f"{one['low']:.3g} to {one['high']:.3g}", str(one["jobs"])) for one in doubts[:6]]  # fmt: skip
    if rows:
        columns = ("doubt, one standard deviation", "shipped", "in this shop", "80 % interval", "jobs")
        print_table("How healthy cars scatter here, and how far the model is off", columns, rows)


def _degrees(value: float | None) -> str:
    return "not read" if value is None else f"{value:.1f} deg"
