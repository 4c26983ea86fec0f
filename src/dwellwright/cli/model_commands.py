"""`dwellwright turns`: a sheet and a few numbers, without a job."""

from __future__ import annotations

from typing import Annotated

import typer

from dwellwright.cli.context import shop_of
from dwellwright.cli.render import say

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
        str | None, typer.Option(help="What it was read with: a kind, KIND:MARK of the shop, or gauge:NAME.")
    ] = None,
) -> None:
    """Say which way to turn a screw and how far, from its readings and the sheet."""
    from dwellwright.service.calibrations import tool_of
    from dwellwright.service.plan_lines import correction_words
    from dwellwright.service.presentation import shown
    from dwellwright.service.sheets import named_sheet
    from dwellwright.service.turns import ITEMS, turns_for

    with shop_of(context) as shop:
        chosen = named_sheet(shop, sheet).sheet
        tool = tool_of(shop, instrument, ITEMS.get(setting, setting), values, unit)
    answer = turns_for(chosen, setting, values, unit, tool)
    view = shown(answer.reading)
    say(f"{answer.title}: wanted {chosen.settings[setting].wanted}")
    say(f"Read {view.text} ({view.interval_text}): {answer.judgement.verdict.value}")
    if tool.correction:
        say(f"  {view.source}")
    if answer.judgement.reason:
        say(f"  {answer.judgement.reason}")
    if answer.correction is not None:
        say(f"  -> {correction_words(answer.correction, answer.reading.measured)}", style="bold")
