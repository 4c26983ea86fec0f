"""What the study on held-out cars says, as a section of a page."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np

MOST_TESTS, SURE, CAP = 3, 0.8, 240.0
"""Tests followed, chance at which a cause counts as found, and minutes booked where it never is."""
CYCLE = 45
"""Cars of one round: every cause, a dozen healthy ones, four pairs."""
HEADING = "## Cars from a model of other physics"
METHODS = ("tool", "flowchart", "neighbors")


@dataclass(frozen=True)
class Faulty:
    """What the tool made of one car that has a fault.

    Args:
        place: of a true cause among those named, from 0.
        grouped: whether a true cause stands first, or in the group that the tool cannot tell from its first.
        group: causes in that group.
        weight: how often such a car comes to a shop, over how often it comes here.
        size: of its largest fault within the catalogue's range, 0 the least, 1 the most.
    """

    place: int
    grouped: bool
    group: int
    weight: float
    size: float


@dataclass
class Tally:
    """What each method said, beside the truth."""

    places: dict[str, dict[str, list[int]]] = field(
        default_factory=lambda: {m: defaultdict(list) for m in METHODS}
    )
    alarms: dict[str, list[bool]] = field(default_factory=lambda: {m: [] for m in METHODS})
    minutes: dict[str, list[float]] = field(default_factory=lambda: {m: [] for m in METHODS})
    found: list[bool] = field(default_factory=list)
    stated: list[tuple[float, bool, float]] = field(default_factory=list)
    faulty: list[Faulty] = field(default_factory=list)


def _share(values: list[bool]) -> str:
    return f"{100 * np.mean(values):.0f} % of {len(values)}" if values else "none drawn"


WORDS = """\
{heading}

{cars} invented cars, seed {seed}, every cause as often as any other; made by
`python benchmarks/diagnosis/held_out.py --write docs/validation.md`. Their flow, two-phase, loop and gas laws are not
the tool's and are perturbed from car to car; scatter is the tool's own list a fifth wider, noise a fifth to a quarter
larger than believed. Gauges and searches read the car's state by the tool's own definitions. The same cars come with:

- **thin** evidence: dwell, limit cycle, closed-loop share and coolant reading of a recording, nothing else;
- **car**: also the sensor's swing, throttle voltage, vacuum, five gases at idle and fast, and the answers to a grounded
  driver lead and to an unplugged solenoid;
- **bench**: also a bench sheet (stops, float, needles, bleed, fuel pressure), each line missing in three of ten;
- **bench, taught**: the same, in a shop that has closed {taught} jobs on such cars, as they come to a shop, and so has
  learned how far healthy cars scatter and how far the tool's model is off them.

"As cars come to a shop", and the last column of the tables of what was stated, weigh each car by how often its causes
come to a shop by the priors, against one in {frequency} here: a prior that leans to the commoner of two look-alikes is
wrong here more often.

"Or its group" counts a true cause that stands in the group which the tool says it cannot tell from its first. Sizes
are drawn evenly down to the least that the catalogue calls a fault, where many hide in a healthy car's scatter.

Minutes end when a true cause is first at {sure:.0%} or more. The tool may ask {tests} tests; being that sure of a
wrong cause costs its repair; after the tests its causes are looked at in order. The flowchart (common practice, no
source; it sees every reading) and the neighbors (dwell and limit cycle only) look at their causes in order, then at
the others, the most common first; each search ends at a true cause without error. {cap:.0f} min at most.
"""


def section(kinds: dict[str, tuple[Tally, int]], seed: int, taught: int) -> str:
    """The section of the page: a table over all kinds of evidence, then what each shows."""
    cars = max(count for _, count in kinds.values())
    lines = [
        WORDS.format(
            heading=HEADING,
            cars=cars,
            seed=seed,
            sure=SURE,
            tests=MOST_TESTS,
            cap=CAP,
            frequency=CYCLE,
            taught=taught,
        )
    ]
    lines += [f"| | {' | '.join(kinds)} |", f"|---|{'---|' * len(kinds)}"]
    tallies = [tally for tally, _ in kinds.values()]
    for title, told in SUMMARY.items():
        lines.append(f"| {title} | {' | '.join(told(one) for one in tallies)} |")
    for kind, (tally, count) in kinds.items():
        lines += ["", f"### With {kind} evidence, {count} cars", "", *_methods(tally), "", *_bands(tally), "",
                  *_misses(tally)]  # fmt: skip
    lines += ["", "### By cause: first / in the first three", "", *_causes(kinds)]
    return "\n".join(lines) + "\n"


def _usual(right: list[bool], tally: Tally) -> str:
    """A share in which each car counts as often as it comes to a shop."""
    weights = np.array([one.weight for one in tally.faulty])
    return f"{100 * np.average(right, weights=weights):.0f} %" if right else "none drawn"


def _first(tally: Tally) -> list[bool]:
    return [one.place == 0 for one in tally.faulty]


def _grouped(tally: Tally, least: float = 0.0, most: float = 1.0) -> list[bool]:
    return [one.grouped for one in tally.faulty if least <= one.size <= most]


def _three(tally: Tally, least: float = 0.0, most: float = 1.0) -> list[bool]:
    return [one.place <= 2 for one in tally.faulty if least <= one.size <= most]


SUMMARY = {
    "true cause first": lambda tally: _share(_first(tally)),
    "first, as cars come to a shop": lambda tally: _usual(_first(tally), tally),
    "true cause or its group first": lambda tally: (
        f"{_share(_grouped(tally))} (groups of {np.mean([one.group for one in tally.faulty]):.1f})"
    ),
    "it or its group, as cars come to a shop": lambda tally: _usual(_grouped(tally), tally),
    "it or its group, faults in the larger half of their range": lambda tally: _share(_grouped(tally, 0.5)),
    "it or its group, in the smaller half": lambda tally: _share(_grouped(tally, 0.0, 0.5)),
    "true cause in the first three": lambda tally: _share(_three(tally)),
    "in three, as cars come to a shop": lambda tally: _usual(_three(tally), tally),
    "in three, faults in the larger half of their range": lambda tally: _share(_three(tally, 0.5)),
    "healthy called faulty": lambda tally: _share(tally.alarms["tool"]),
    "became sure of a true cause within the tests": lambda tally: _share(tally.found),
}


def _methods(tally: Tally) -> list[str]:
    lines = ["| | tool | flowchart | nearest neighbors |", "|---|---|---|---|"]
    for title, place in (("true cause first", 0), ("in the first three", 2)):
        cells = [_share([p <= place for v in tally.places[m].values() for p in v]) for m in METHODS]
        lines.append(f"| {title} | {' | '.join(cells)} |")
    lines.append(f"| healthy called faulty | {' | '.join(_share(tally.alarms[m]) for m in METHODS)} |")
    for title, middle in (("mean minutes to the true cause", np.mean), ("median minutes", np.median)):
        lines.append(f"| {title} | {' | '.join(f'{middle(tally.minutes[m]):.0f}' for m in METHODS)} |")
    return lines


def _bands(tally: Tally) -> list[str]:
    rows = [
        "| stated, before any test | times | was so | was so, as cars come to a shop |",
        "|---|---|---|---|",
    ]
    for low, high in ((0.0, 0.05), (0.05, 0.2), (0.2, 0.5), (0.5, 0.75), (0.75, 0.9), (0.9, 1.01)):
        inside = [(so, weight) for chance, so, weight in tally.stated if low <= chance < high]
        if inside:
            so, weight = np.array(inside).T
            rows.append(f"| {100 * low:.0f} to {100 * min(high, 1):.0f} % | {len(inside)} | {100 * np.mean(so):.0f} % "
                        f"| {100 * np.average(so, weights=weight):.0f} % |")  # fmt: skip
    return rows


def _misses(tally: Tally) -> list[str]:
    """Floors that are missed, by name."""
    places = [p for v in tally.places["tool"].values() for p in v]
    told = [so for chance, so, _ in tally.stated if 0.75 <= chance < 0.85]
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


def _causes(kinds: dict[str, tuple[Tally, int]]) -> list[str]:
    """Places of each cause under every kind of evidence, and what the flowchart made of the fullest."""
    last = list(kinds.values())[-1][0]
    rows = [f"| cause | cars | {' | '.join(kinds)} | flowchart |", f"|---|---|{'---|' * (len(kinds) + 1)}"]
    for name in sorted(last.places["tool"]):
        cells = [_counted(tally.places["tool"].get(name, [])) for tally, _ in kinds.values()]
        cells.append(_counted(last.places["flowchart"][name]))
        rows.append(f"| {name} | {len(last.places['tool'][name])} | {' | '.join(cells)} |")
    return rows


def _counted(places: list[int]) -> str:
    return f"{sum(p == 0 for p in places)} / {sum(p <= 2 for p in places)}"
