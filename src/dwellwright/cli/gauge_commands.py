"""`dwellwright gauge ...`: measuring without the special gauge."""

from __future__ import annotations

from typing import Annotated

import typer

from dwellwright.cli.context import shop_of
from dwellwright.cli.render import print_json

app = typer.Typer(
    help="Gauges: what measures well enough, gauges made in the shop, and how far to trust any of them.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
What = Annotated[
    str, typer.Argument(metavar="JOB_OR_SHEET", help="Number of a job, or a sheet by its name or file.")
]
Setting = Annotated[str, typer.Argument(help="Setting on the sheet: lean_stop, float_level, ...")]


@app.command()
def ways(
    context: typer.Context,
    what: What,
    setting: Annotated[
        str | None, typer.Argument(help="One setting of the sheet, with steps and budget; all otherwise.")
    ] = None,
    repeats: Annotated[int, typer.Option(help="Readings averaged.")] = 3,
    json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Say how each bench setting can be measured without its special gauge, and whether that is good enough."""
    from dataclasses import asdict

    from dwellwright.cli.gauge_page import print_ways
    from dwellwright.service.known_sheets import sheet_or_job
    from dwellwright.service.makeshift import setting_ways, sheet_ways

    with shop_of(context) as shop:
        sheet = sheet_or_job(shop, what)
    found = sheet_ways(sheet, repeats) if setting is None else (setting_ways(sheet, setting, repeats),)
    if json:
        print_json({"sheet": sheet.title, "repeats": repeats, "settings": [asdict(one) for one in found]})
        return
    print_ways(sheet.title, found, closely=setting is not None)
