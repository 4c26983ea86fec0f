"""Gauges and ways of measuring drawn: a bench sheet's readings with their budgets, and the ways for one setting."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from dwellwright.errors import InputFault
from dwellwright.evidence.gauge import named_corrections, read_gauges
from dwellwright.evidence.gauge.budget import Budget
from dwellwright.evidence.gauge.corrected import Correction
from dwellwright.evidence.gauge.judgement import judgements
from dwellwright.evidence.gauge.observe import budget_of
from dwellwright.evidence.gauge.shares import doubt_shares
from dwellwright.reports.plots.gauges import SettingRow
from dwellwright.reports.plots.ways import WayRow
from dwellwright.service.makeshift import SettingWays
from dwellwright.units import step_from_si

if TYPE_CHECKING:
    from dwellwright.reports.plots.look import Format, Plot
    from dwellwright.reports.plots.moving import Moving


@dataclass(frozen=True)
class JudgedReading:
    """One reading of a bench sheet against its tolerance.

    Args:
        title: of the reading.
        verdict: in, out or cannot tell.
        doubt: half width at about 95 %, with its unit.
        budget: contribution of each part, one standard uncertainty, largest first.
        row: for the plot of readings.
        way: for the plot of what makes the doubt.
    """

    title: str
    verdict: str
    doubt: str
    budget: tuple[tuple[str, str], ...]
    row: SettingRow
    way: WayRow


def judged_readings(path: Path, known: Mapping[str, Correction]) -> tuple[JudgedReading, ...]:
    """Every reading of a bench sheet that has a specification and a known instrument.

    Args:
        path: of the sheet.
        known: corrections of the shop's instruments by `kind:mark`.

    Raises:
        InputFault: the sheet cannot be used.
    """
    sheet, found = read_gauges(path), []
    own, _ = named_corrections(sheet, known)
    for name, judged in judgements(sheet, corrections=own).items():
        reading = sheet.readings[name]
        budget, wanted = budget_of(reading, own.get(name)), reading.wanted or 0.0
        if budget is None or not judged.tolerance > 0:
            continue
        half = budget.expanded()
        value, low, high = ((one - wanted) / judged.tolerance for one in
                            (budget.value, budget.value - half, budget.value + half))  # fmt: skip
        repeats = tuple((one - wanted) / judged.tolerance for one in reading.repeats)
        title = reading.known.label if reading.known else name
        row = SettingRow(title, value, low, high, repeats, judged.verdict.value)
        doubt = f"± {step_from_si(half, reading.unit):.2g} {reading.unit}"
        way = WayRow(
            title, half / judged.tolerance, judged.verdict.value == "in", doubt, "", doubt_shares(budget)
        )
        found.append(
            JudgedReading(title, judged.verdict.value, doubt, _parts(budget, reading.unit), row, way)
        )
    return tuple(found)


def _parts(budget: Budget, unit: str) -> tuple[tuple[str, str], ...]:
    parts = sorted(budget.components, key=lambda part: -part.contribution)
    return tuple((part.name, f"{step_from_si(part.contribution, unit):.2g} {unit}") for part in parts)


def bench_plot(path: Path, form: Format, known: Mapping[str, Correction]) -> Plot:
    """A bench sheet drawn.

    Raises:
        InputFault: the sheet cannot be used, or no reading of it has a specification.
    """
    from dwellwright.reports.plots.gauges import settings_plot

    found = judged_readings(path, known)
    if not found:
        raise InputFault("there is nothing to draw", where=path.name, wanted="a reading with a specification")
    return settings_plot([one.row for one in found], [one.way for one in found], form)


def bench_moving(found: tuple[JudgedReading, ...]) -> tuple[Moving, ...]:
    """The same to move along in a page; none where no reading has a specification."""
    from dwellwright.reports.plots.moving_gauges import moving_settings

    return moving_settings([one.row for one in found], [one.way for one in found]) if found else ()


def way_rows(found: SettingWays) -> list[WayRow]:
    """The ways for a setting as rows of a plot."""
    return [
        WayRow(
            one.label,
            one.half,
            one.good_enough,
            f"{one.doubt}, {one.verdict}",
            f"{one.chance} wrong",
            one.shares,
        )
        for one in found.ways
    ]


def setting_plot(found: SettingWays, form: Format) -> Plot:
    """The ways for a setting side by side.

    Raises:
        InputFault: there are none.
    """
    from dwellwright.reports.plots.ways import ways_plot

    if not found.ways:
        raise InputFault("there is nothing to draw", where=found.key, wanted="a setting with a tolerance")
    return ways_plot(f"{found.title}: {found.wanted}", way_rows(found), form)


def setting_moving(found: SettingWays) -> tuple[Moving, ...]:
    """The same to move along in a page; none where no way can be judged."""
    from dwellwright.reports.plots.moving_gauges import moving_ways

    return moving_ways(found.title, way_rows(found)) if found.ways else ()
