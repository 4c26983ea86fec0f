"""`dwellwright turns` and `dwellwright predict`: a sheet and a few numbers, without a job."""

from __future__ import annotations

from typing import Annotated

import typer

from dwellwright.cli.context import shop_of
from dwellwright.cli.render import print_json, print_table, say

Sheet = Annotated[str, typer.Argument(metavar="SHEET", help="Name of a sheet, of an archetype, or a file.")]


def turns(
    context: typer.Context,
    sheet: Sheet,
    setting: Annotated[
        str, typer.Argument(help="Setting on the sheet: lean_stop, rich_stop, idle_needle, ...")
    ],
    unit: Annotated[str, typer.Argument(help="Unit of the readings: thou, mm, turns, ...")],
    values: Annotated[list[float], typer.Argument(metavar="VALUE...", help="Every repeat.")],
    instrument: Annotated[
        str | None, typer.Option(help="What it was read with, where not the usual gauge.")
    ] = None,
) -> None:
    """Say which way to turn a screw and how far, from its readings and the sheet."""
    from dwellwright.service.plan_lines import correction_words
    from dwellwright.service.presentation import shown
    from dwellwright.service.sheets import named_sheet
    from dwellwright.service.turns import turns_for

    with shop_of(context) as shop:
        chosen = named_sheet(shop, sheet).sheet
    answer = turns_for(chosen, setting, values, unit, instrument)
    view = shown(answer.reading)
    say(f"{answer.title}: wanted {chosen.settings[setting].wanted}")
    say(f"Read {view.text} ({view.interval_text}): {answer.judgement.verdict.value}")
    if answer.judgement.reason:
        say(f"  {answer.judgement.reason}")
    if answer.correction is not None:
        say(f"  -> {correction_words(answer.correction, answer.reading.measured)}", style="bold")


def predict(
    context: typer.Context,
    sheet: Sheet,
    off: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME=VALUE", help="What is off, e.g. lean_stop=+12thou, altitude=1500m."),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Predict dwell at idle, 3000 rpm and cruise for a sheet, and what each screw would change."""
    from dwellwright.service.prediction import prediction_facts, prediction_of
    from dwellwright.service.sheets import named_sheet

    with shop_of(context) as shop:
        chosen = named_sheet(shop, sheet).sheet
    found = prediction_of(chosen, off or ())
    if json:
        print_json(prediction_facts(found))
        return
    facts = prediction_facts(found)
    say(f"{found.title}{', with ' + ', '.join(found.changes) if found.changes else ''}", style="bold")
    rows = [
        (name, f"{one['dwell_deg']:.1f} deg", f"{one['lambda_released']:.3f}", f"{one['lambda_energized']:.3f}",
         f"{one['lambda_held']:.3f}", f"{one['air_g_s']:.2f} g/s", f"{one['fuel_g_s']:.3f} g/s")
        for name, one in facts["points"].items()
    ]  # fmt: skip
    columns = ("point", ">dwell", ">lambda full rich", ">lambda full lean", ">lambda held", ">air", ">fuel")
    print_table("Closed loop, warm (dwell on the six-cylinder scale)", columns, rows)
    screws = [(one.title, one.step, *(f"{change:+.1f} deg" for change in one.dwell_change.values()))
              for one in found.screws]  # fmt: skip
    print_table(
        "What each screw does to dwell",
        ("setting", "step", *(f">{name}" for name in facts["points"])),
        screws,
    )
    for point in found.points:
        for finding in point.findings:
            say(f"  ! {finding}", style="yellow")
