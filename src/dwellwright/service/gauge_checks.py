"""How far a gauge can be trusted: a study by several hands, a calibration by known sizes, a drift against a master."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.checks import Checks, calibration_of, drift_of, read_checks
from dwellwright.evidence.gauge.study_file import StudyTable, read_study, study_of
from dwellwright.units import from_si, known_unit, step_from_si, step_to_si, to_si

MOST_OF_TOLERANCE = 0.30
"""Six gauge spreads may take up less than this of a tolerance (common practice, no source). [-]"""

if TYPE_CHECKING:
    from dwellwright.evidence.gauge.calibration import Calibration
    from dwellwright.evidence.gauge.drift import DriftChart
    from dwellwright.evidence.gauge.study import GaugeStudy
    from dwellwright.reports.plots.gauges import StudyPoint
    from dwellwright.reports.plots.look import Format, Plot
    from dwellwright.reports.plots.moving import Moving


@dataclass(frozen=True)
class CheckReport:
    """What a table of checks says.

    Args:
        title: what was done, with the file's name.
        verdict: one sentence.
        lines: name and value with unit of each figure.
        facts: the same as numbers, every unit in its key.
        warnings: rows left out, and what to be wary of.
    """

    title: str
    verdict: str
    lines: tuple[tuple[str, str], ...]
    facts: dict[str, Any]
    warnings: tuple[str, ...]


def _said(findings: Sequence[InputFault]) -> tuple[str, ...]:
    return tuple(one.message for one in findings)


def _in_unit(value: float, unit: str) -> str:
    return f"{step_from_si(value, unit):.3g} {unit}"


@dataclass(frozen=True)
class Studied:
    """A study, read and solved."""

    table: StudyTable
    study: GaugeStudy
    report: CheckReport

    def plot(self, form: Format) -> Plot:
        """Readings by part and hand beside the standard deviations."""
        from dwellwright.reports.plots.gauges import study_plot

        return study_plot(*self._drawn(), form)

    def moving(self) -> tuple[Moving, ...]:
        """The same to move along in a page."""
        from dwellwright.reports.plots.moving_gauges import moving_study

        return moving_study(*self._drawn())

    def _drawn(self) -> tuple[list[StudyPoint], dict[str, float], float, str]:
        from dwellwright.reports.plots.gauges import StudyPoint

        unit = self.table.unit
        rows = zip(self.table.parts, self.table.hands, self.table.values, strict=True)
        points = [StudyPoint(part, hand, from_si(value, unit)) for part, hand, value in rows]
        found = self.study
        sizes = {"same hand": found.repeatability, "hand to hand": found.reproducibility, "whole gauge": found.gauge,
                 "part to part": found.part}  # fmt: skip
        spreads = {key: step_from_si(value, unit) for key, value in sizes.items()}
        return points, spreads, found.share, unit


def gauge_study(path: Path, tolerance: float | None = None, unit: str | None = None) -> Studied:
    """A gauge repeatability and reproducibility study from a table.

    Args:
        path: of the table: part, hand, unit and any number of readings in each row.
        tolerance: half width of what the gauge is to judge, in `unit`; None where the share of it is not asked.
        unit: of the tolerance; the table's own where None.

    Raises:
        InputFault: the table cannot be used, or a tolerance that cannot be.
    """
    table = read_study(path)
    found = study_of(table)
    width = _tolerance(tolerance, unit or table.unit, table.unit)
    good = found.good_enough and (width is None or found.tolerance_share(width) < MOST_OF_TOLERANCE)
    lines = [
        ("same hand, again (repeatability)", _in_unit(found.repeatability, table.unit)),
        ("hand to hand (reproducibility)", _in_unit(found.reproducibility, table.unit)),
        ("gauge and hands together", _in_unit(found.gauge, table.unit)),
        ("part to part", _in_unit(found.part, table.unit)),
        ("gauge's share of all spread", f"{found.share:.1%}"),
        ("groups of parts it can tell apart", f"{found.categories:.1f}"),
    ]
    if width is not None:
        lines.append(("six gauge spreads over the whole tolerance", f"{found.tolerance_share(width):.1%}"))
    verdict = _study_words(found, width, good=good)
    facts = {
        "unit": table.unit, "repeatability": step_from_si(found.repeatability, table.unit),
        "reproducibility": step_from_si(found.reproducibility, table.unit),
        "part": step_from_si(found.part, table.unit), "share": found.share,
        "categories": found.categories if found.gauge > 0 else None, "method": found.method, "good_enough": good,
        "tolerance_share": None if width is None else found.tolerance_share(width),
    }  # fmt: skip
    title = f"Study of a gauge: {table.name}, {len(table.values)} readings, by {found.method}"
    return Studied(table, found, CheckReport(title, verdict, tuple(lines), facts, _said(table.findings)))


def _study_words(found: GaugeStudy, width: float | None, *, good: bool) -> str:
    """The verdict on a gauge with what it rests on; the limits are common practice, no source."""
    said = [f"the gauge and the hands make {found.share:.0%} of all spread (asked for: under 30 %)",
            f"it tells {found.categories:.0f} groups of parts apart (at least 5)"]  # fmt: skip
    if width is not None:
        said.append(
            f"six of its spreads take up {found.tolerance_share(width):.0%} of the tolerance (under 30 %)"
        )
    return f"{'Good enough' if good else 'Not good enough'}: {', '.join(said)}."


def _tolerance(tolerance: float | None, unit: str, own: str) -> float | None:
    if tolerance is None:
        return None
    if known_unit(unit, where="tolerance").dimension is not known_unit(own).dimension:
        raise InputFault("the tolerance measures something else than the study", where="tolerance", got=unit,
                         wanted=f"a unit like {own}")  # fmt: skip
    width = step_to_si(tolerance, unit, where="tolerance")
    if not width > 0:
        raise InputFault("the tolerance must be above zero", where="tolerance", got=f"{tolerance:g} {unit}")
    return width


@dataclass(frozen=True)
class Calibrated:
    """A calibration by known sizes."""

    checks: Checks
    line: Calibration
    report: CheckReport

    def plot(self, form: Format) -> Plot:
        """Error over the known size with the line."""
        from dwellwright.reports.plots.gauges import calibration_plot

        return calibration_plot(*self._drawn(), form)

    def moving(self) -> tuple[Moving, ...]:
        """The same to move along in a page."""
        from dwellwright.reports.plots.moving_gauges import moving_calibration

        return moving_calibration(*self._drawn())

    def _drawn(self) -> tuple[list[float], list[float], tuple[float, float], float, str]:
        unit, line = self.checks.unit, self.line
        truths, readings = (
            [from_si(one, unit) for one in values] for values in (self.checks.truths, self.checks.readings)
        )
        offset = from_si(line.offset + line.slope * to_si(0.0, unit), unit)
        return truths, readings, (offset, line.slope), step_from_si(line.residual, unit), unit


def gauge_calibration(path: Path, reading: float | None = None) -> Calibrated:
    """A gauge held against known sizes: the line, whether readings need correcting, and one reading corrected.

    Args:
        path: of the table: truth, reading, unit in each row.
        reading: to be corrected, in the table's unit; None where none is.

    Raises:
        InputFault: the table cannot be used.
    """
    checks = read_checks(path)
    line, unit = calibration_of(checks), checks.unit
    needs = line.needs_correction()
    middle = line.offset + (line.slope - 1) * line.middle
    lines = [
        ("known sizes", f"{from_si(line.lowest, unit):.6g} to {from_si(line.highest, unit):.6g} {unit}"),
        ("error in the middle", f"{step_from_si(middle, unit):+.3g} {unit}"),
        ("slope", f"{line.slope:.6g} ± {2 * line.slope_uncertainty:.2g}"),
        ("scatter about the line", _in_unit(line.residual, unit)),
    ]
    facts = {"unit": unit, "offset": from_si(line.offset + line.slope * to_si(0.0, unit), unit), "slope": line.slope,
             "residual": step_from_si(line.residual, unit), "needs_correction": needs, "truth": None}  # fmt: skip
    warnings = list(_said(checks.findings))
    if reading is not None:
        truth, doubt = line.truth(to_si(reading, unit, where="reading"))
        shown = f"{from_si(truth, unit):.6g} ± {2 * step_from_si(doubt, unit):.2g} {unit}"
        lines.append((f"behind a reading of {reading:g} {unit}", shown))
        facts["truth"] = from_si(truth, unit)
        if not line.inside(to_si(reading, unit)):
            warnings.append("The reading lies outside the known sizes: the line says nothing there.")
    verdict = (
        "Correct its readings by the line: it is off by more than chance would make it."
        if needs
        else "Within chance of the known sizes: its readings can stand as they are."
    )
    title = f"Calibration: {checks.name}, {len(checks.readings)} readings"
    return Calibrated(checks, line, CheckReport(title, verdict, tuple(lines), facts, tuple(warnings)))


@dataclass(frozen=True)
class Drifted:
    """Checks against a master in order of time."""

    checks: Checks
    chart: DriftChart
    report: CheckReport

    def plot(self, form: Format) -> Plot:
        """Errors and cumulative sums by check."""
        from dwellwright.reports.plots.gauges import drift_plot

        return drift_plot(*self._drawn(), form)

    def moving(self) -> tuple[Moving, ...]:
        """The same to move along in a page."""
        from dwellwright.reports.plots.moving_gauges import moving_drift

        return moving_drift(*self._drawn())

    def _drawn(self) -> tuple[list[float], tuple[list[float], list[float]], float, int | None, str]:
        unit, chart = self.checks.unit, self.chart
        pairs = zip(self.checks.truths, self.checks.readings, strict=True)
        errors = [step_from_si(reading - truth, unit) for truth, reading in pairs]
        high, low = ([step_from_si(one, unit) for one in track] for track in (chart.upper, chart.lower))
        limit = step_from_si(chart.upper_limit, unit)
        return errors, (high, low), limit, chart.first_alarm, unit


def gauge_drift_of(path: Path, repeatability: float) -> Drifted:
    """Whether a gauge drifted, from checks in the order of the rows.

    Args:
        path: of the table: truth, reading, unit in each row.
        repeatability: standard deviation of one check, in the table's unit.

    Raises:
        InputFault: the table cannot be used, or a repeatability that cannot be.
    """
    checks = read_checks(path)
    unit = checks.unit
    chart = drift_of(checks, step_to_si(repeatability, unit, where="repeatability"))
    alarm = chart.first_alarm
    side = "high" if alarm and chart.upper[alarm - 1] > chart.upper_limit else "low"
    verdict = (
        f"It drifted: from check {alarm} on it is sure to read {side}. Calibrate it, and doubt what it read before."
        if alarm
        else "No drift is seen: the checks lie within what repeats alone would make."
    )
    largest = max((*chart.upper, *chart.lower))
    lines = [
        ("checks", str(len(checks.readings))),
        ("largest cumulative sum", _in_unit(largest, unit)),
        ("alarms above", _in_unit(chart.upper_limit, unit)),
    ]
    facts = {"unit": unit, "first_alarm": alarm, "largest_sum": step_from_si(largest, unit),
             "limit": step_from_si(chart.upper_limit, unit)}  # fmt: skip
    title = f"Drift: {checks.name}"
    return Drifted(checks, chart, CheckReport(title, verdict, tuple(lines), facts, _said(checks.findings)))
