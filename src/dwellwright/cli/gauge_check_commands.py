"""`dwellwright gauge study`, `calibration`, `drift`: how far a gauge can be trusted."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dwellwright.cli.render import print_json, print_table, say

if TYPE_CHECKING:
    from dwellwright.service.gauge_checks import Calibrated, Drifted, Studied

Table = Annotated[Path, typer.Argument(help="Table of checks: truth, reading, unit; one row for each check.")]
Drawn = Annotated[
    Path | None, typer.Option("--plot", metavar="FILE", help="Draw it too; .svg or .png, must not exist yet.")
]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON object.")]


def study(
    file: Annotated[
        Path, typer.Argument(help="Table: part, hand, unit, and any number of readings in each row.")
    ],
    tolerance: Annotated[float | None, typer.Option(help="Half width of what the gauge is to judge.")] = None,
    unit: Annotated[str | None, typer.Option(help="Unit of the tolerance; the table's otherwise.")] = None,
    plot: Drawn = None,
    json: Json = False,
) -> None:
    """Say how much of the spread of readings is gauge and hands: repeatability and reproducibility."""
    from dwellwright.service.gauge_checks import gauge_study

    _print(gauge_study(file, tolerance, unit), plot, as_json=json)


def calibration(
    file: Table,
    reading: Annotated[float | None, typer.Option(help="A reading to correct, in the table's unit.")] = None,
    plot: Drawn = None,
    json: Json = False,
) -> None:
    """Hold a gauge against known sizes: its line, and whether readings must be corrected by it."""
    from dwellwright.service.gauge_checks import gauge_calibration

    _print(gauge_calibration(file, reading), plot, as_json=json)


def drift(
    file: Table,
    repeatability: Annotated[
        float, typer.Option(help="Standard deviation of one check, in the table's unit; a study tells it.")
    ],
    plot: Drawn = None,
    json: Json = False,
) -> None:
    """Say whether a gauge drifted, from checks against a master in order of time."""
    from dwellwright.service.gauge_checks import gauge_drift_of

    _print(gauge_drift_of(file, repeatability), plot, as_json=json)


def _print(found: Studied | Calibrated | Drifted, plot: Path | None, *, as_json: bool) -> None:
    from dwellwright.service.evidence_plots import write_plot

    report = found.report
    if plot is not None:
        write_plot(found.plot, plot)
    if as_json:
        said = {"title": report.title, "verdict": report.verdict, "warnings": list(report.warnings)}
        print_json({**said, **report.facts})
        return
    say(report.title, style="bold")
    print_table("", ("", ">"), report.lines)
    say(report.verdict)
    for words in report.warnings:
        say(f"  ! {words}", style="yellow")
    if plot is not None:
        say(f"Drawn: {plot}")
