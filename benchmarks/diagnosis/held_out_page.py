"""What the study on held-out cars says, as a section of a page."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np

MOST_TESTS, SURE, CAP = 3, 0.8, 240.0
"""Tests followed, chance at which a cause counts as found, and minutes booked where it never is."""
HEADING = "## Cars from a model of other physics"
METHODS = ("tool", "flowchart", "neighbors")


@dataclass
class Tally:
    """What each method said, beside the truth."""

    places: dict[str, dict[str, list[int]]] = field(
        default_factory=lambda: {m: defaultdict(list) for m in METHODS}
    )
    alarms: dict[str, list[bool]] = field(default_factory=lambda: {m: [] for m in METHODS})
    minutes: dict[str, list[float]] = field(default_factory=lambda: {m: [] for m in METHODS})
    found: list[bool] = field(default_factory=list)
    stated: list[tuple[float, bool]] = field(default_factory=list)


def _share(values: list[bool]) -> str:
    return f"{100 * np.mean(values):.0f} % of {len(values)}" if values else "none drawn"


WORDS = """\
{heading}

{cars} invented cars, seed {seed}, every cause as often as any other; made by
`python benchmarks/diagnosis/held_out.py --write docs/validation.md`. Their flow, two-phase and loop laws are not the
tool's and are perturbed from car to car; scatter is the tool's own list a fifth wider, test noise a quarter larger than
believed. Gauges and searches read the car's state by the tool's own definitions. First evidence is dwell, limit cycle,
closed-loop share and coolant reading: no gas, no sensor levels, no throttle voltage, so that a throttle sensor leaves
no mark and its place is the prior's doing. A few cars for each cause tell little.

Minutes end when a true cause is first at {sure:.0%} or more. The tool may ask {tests} tests; being that sure of a
wrong cause costs its repair; after the tests its causes are looked at in order. The flowchart (common practice, no
source) and the neighbors look at their causes in order, then at the others, the most common first; each search ends
at a true cause without error. {cap:.0f} min at most.
"""


def section(tally: Tally, cars: int, seed: int) -> str:
    """The section of the page."""
    words = WORDS.format(heading=HEADING, cars=cars, seed=seed, sure=SURE, tests=MOST_TESTS, cap=CAP)
    lines = [words, "| | tool | flowchart | nearest neighbors |", "|---|---|---|---|"]
    for title, place in (("true cause first", 0), ("in the first three", 2)):
        cells = [_share([p <= place for v in tally.places[m].values() for p in v]) for m in METHODS]
        lines.append(f"| {title} | {' | '.join(cells)} |")
    lines.append(f"| healthy called faulty | {' | '.join(_share(tally.alarms[m]) for m in METHODS)} |")
    for title, middle in (("mean minutes to the true cause", np.mean), ("median minutes", np.median)):
        lines.append(f"| {title} | {' | '.join(f'{middle(tally.minutes[m]):.0f}' for m in METHODS)} |")
    lines += [
        "",
        f"The tool became sure of a true cause in {_share(tally.found)} cars.",
        "",
        *_bands(tally),
        "",
    ]
    return "\n".join([*lines, *_misses(tally), "", *_causes(tally)]) + "\n"


def _bands(tally: Tally) -> list[str]:
    rows = ["| stated, before any test | times | was so |", "|---|---|---|"]
    for low, high in ((0.0, 0.05), (0.05, 0.2), (0.2, 0.5), (0.5, 0.75), (0.75, 0.9), (0.9, 1.01)):
        inside = [so for chance, so in tally.stated if low <= chance < high]
        if inside:
            rows.append(
                f"| {100 * low:.0f} to {100 * min(high, 1):.0f} % | {len(inside)} | {100 * np.mean(inside):.0f} % |"
            )
    return rows


def _misses(tally: Tally) -> list[str]:
    """Floors that are missed, by name."""
    places = [p for v in tally.places["tool"].values() for p in v]
    told = [so for chance, so in tally.stated if 0.75 <= chance < 0.85]
    ratio = np.mean(tally.minutes["tool"]) / np.mean(tally.minutes["flowchart"])
    floors = [
        ("true cause first in 80 %", np.mean([p == 0 for p in places]) >= 0.8),
        ("in the first three in 95 %", np.mean([p <= 2 for p in places]) >= 0.95),
        ("false alarms at most 5 %", np.mean(tally.alarms["tool"] or [False]) <= 0.05),
        (
            f"stated 80 % right 75 to 85 % of the time ({_share(told)})",
            bool(told) and 0.75 <= np.mean(told) <= 0.85,
        ),
        (f"half the flowchart's minutes (ratio {ratio:.2f})", ratio <= 0.5),
    ]
    return [f"- {'met' if met else 'MISSED'}: {title}" for title, met in floors]


def _causes(tally: Tally) -> list[str]:
    rows = [
        "| cause | cars | tool first / in three | flowchart | nearest neighbors |",
        "|---|---|---|---|---|",
    ]
    for name, own in sorted(tally.places["tool"].items()):
        cells = []
        for method in METHODS:
            seen = tally.places[method][name]
            cells.append(f"{sum(p == 0 for p in seen)} / {sum(p <= 2 for p in seen)}")
        rows.append(f"| {name} | {len(own)} | {' | '.join(cells)} |")
    return rows
