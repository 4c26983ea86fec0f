"""`dwellwright gauge study`, `calibration`, `calibrations`, `drift`: how far a gauge can be trusted."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dwellwright.cli.context import person, shop_of
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
    context: typer.Context,
    file: Table,
    reading: Annotated[float | None, typer.Option(help="A reading to correct, in the table's unit.")] = None,
    keep: Annotated[
        str, typer.Option(metavar="KIND:MARK", help="Keep it for this instrument of the shop: caliper:C-12.")
    ] = "",
    doubt: Annotated[
        float | None,
        typer.Option(help="Standard uncertainty of the known sizes, the table's unit; asked for to keep it."),
    ] = None,
    day: Annotated[str, typer.Option(metavar="YYYY-MM-DD", help="When it was done; today otherwise.")] = "",
    plot: Drawn = None,
    json: Json = False,
) -> None:
    """Hold a gauge against known sizes; kept for an instrument, its readings are corrected from then on."""
    from dwellwright.service.calibrations import keep_calibration
    from dwellwright.service.gauge_checks import gauge_calibration

    found = gauge_calibration(file, reading)
    if keep:
        with shop_of(context) as shop:
            kept = keep_calibration(shop, file, keep, doubt, day, person(context))
    _print(found, plot, as_json=json)
    if keep and not json:
        say(f"Kept for {kept.label}: {kept.words}.")
        say(f"A reading names it with --instrument “{kept.tool}”. Readings taken before stay as they are.")


def calibrations(
    context: typer.Context,
    undo: Annotated[
        str, typer.Option(metavar="KIND:MARK", help="Take back the last calibration of this instrument.")
    ] = "",
    history: Annotated[
        bool, typer.Option("--history", help="Every calibration ever kept, those taken back too.")
    ] = False,
    json: Json = False,
) -> None:
    """List the instruments of the shop: how their calibration stands, and what it does to readings."""
    from dwellwright.cli.gauge_page import calibration_facts, print_calibrations, print_kept
    from dwellwright.service.calibrations import (
        calibrated_instruments,
        calibration_history,
        take_back_calibration,
    )

    with shop_of(context) as shop:
        if undo:
            gone = take_back_calibration(shop, undo, person(context))
            say(f"Taken back: {undo}, {gone.done.day}. Readings that it corrected stay as they are.")
        found, kept = calibrated_instruments(shop), calibration_history(shop)
    if json:
        print_json({"instruments": [calibration_facts(one) for one in found]})
    elif history:
        print_kept(kept)
    else:
        print_calibrations(found)


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
