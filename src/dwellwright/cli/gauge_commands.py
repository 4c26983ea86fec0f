"""`dwellwright gauge ...`: measuring without the special gauge."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dwellwright.cli import gauge_check_commands, gauge_sum_commands
from dwellwright.cli.context import person, shop_of
from dwellwright.cli.render import print_json, say

app = typer.Typer(
    help="Gauges: what measures well enough, gauges made in the shop, and how far to trust any of them.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
app.command()(gauge_check_commands.study)
app.command()(gauge_check_commands.calibration)
app.command()(gauge_check_commands.calibrations)
app.command()(gauge_check_commands.drift)
app.command()(gauge_sum_commands.choke)
app.command("float")(gauge_sum_commands.float_)
app.command()(gauge_sum_commands.screw)
app.command()(gauge_sum_commands.vacuum)
app.command()(gauge_sum_commands.convert)
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
    plot: Annotated[
        Path | None,
        typer.Option(
            "--plot", metavar="FILE", help="Draw one setting's ways; .svg or .png, must not exist yet."
        ),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Say how each bench setting can be measured without its special gauge, and whether that is good enough."""
    from dataclasses import asdict

    from dwellwright.cli.gauge_page import draw_ways, print_ways
    from dwellwright.service.known_sheets import sheet_or_job
    from dwellwright.service.makeshift import setting_ways, sheet_ways

    with shop_of(context) as shop:
        sheet = sheet_or_job(shop, what)
    found = sheet_ways(sheet, repeats) if setting is None else (setting_ways(sheet, setting, repeats),)
    if plot is not None:
        draw_ways(found, plot)
    if json:
        print_json({"sheet": sheet.title, "repeats": repeats, "settings": [asdict(one) for one in found]})
        return
    print_ways(sheet.title, found, closely=setting is not None)
    if plot is not None:
        say(f"Drawn: {plot}")


@app.command()
def draw(
    context: typer.Context,
    what: What,
    setting: Setting,
    file: Annotated[
        Path,
        typer.Argument(
            help="File to write; must not exist yet. Its ending says the form: svg, pdf, png, dxf."
        ),
    ],
) -> None:
    """Draw a gauge for one setting: a dimensioned sheet to print, or DXF at true size."""
    from dwellwright.service.known_sheets import sheet_or_job
    from dwellwright.service.shop_gauges import gauge_for, write_drawing

    with shop_of(context) as shop:
        sheet = sheet_or_job(shop, what)
    gauge = gauge_for(sheet, setting)
    write_drawing(sheet, setting, file)
    say(f"{gauge.form.value} for {gauge.setting}: short {1e3 * gauge.short:.3f}, long {1e3 * gauge.long:.3f} mm, "
        f"each ± {1e3 * gauge.make_tolerance:.3f}; accepts {gauge.zone:.0%} of the tolerance.")  # fmt: skip
    say(f"Wrote {file}. Make it, measure both ends, then enter what was really made: dwellwright gauge card")


@app.command()
def card(
    context: typer.Context,
    name: Annotated[str, typer.Argument(help="Name of the gauge, as you stamp it.")],
    what: What,
    setting: Setting,
    unit: Annotated[str, typer.Argument(help="Unit of the sizes: mm, thou, in.")],
    short: Annotated[float, typer.Argument(help="Short end as measured.")],
    long: Annotated[float, typer.Argument(help="Long end as measured.")],
    doubt: Annotated[float, typer.Option(help="Standard uncertainty of both sizes, same unit.")],
    measured_with: Annotated[str, typer.Option("--with", help="What the ends were measured with.")] = "",
) -> None:
    """Enter what was really made of a gauge; readings that name it are corrected by its true size."""
    from dwellwright.service.gauge_cards import MadeSizes, enter_card
    from dwellwright.service.known_sheets import sheet_or_job

    made = MadeSizes(short, long, doubt, unit, measured_with)
    with shop_of(context) as shop:
        gauge = enter_card(shop, sheet_or_job(shop, what), setting, name, made, person(context))
    say(f"{gauge.name}: {gauge.card.words}.")
    say(
        f"In readings and steps it is the instrument “gauge:{gauge.name}”; both ends tried: dwellwright gauge fit"
    )


@app.command()
def cards(
    context: typer.Context,
    remove: Annotated[str | None, typer.Option(metavar="NAME", help="Take this gauge off the list.")] = None,
) -> None:
    """List the gauges of the shop with their true sizes."""
    from dwellwright.cli.gauge_page import print_cards
    from dwellwright.service.gauge_cards import own_gauges, remove_card

    with shop_of(context) as shop:
        if remove is not None:
            remove_card(shop, remove, person(context))
            say(f"{remove} is off the list; readings that it took keep their correction.")
        found = own_gauges(shop)
    print_cards(found)


@app.command()
def fit(
    context: typer.Context,
    job: Annotated[int, typer.Argument(metavar="JOB", min=1, help="Number of the job.")],
    name: Annotated[str, typer.Argument(help="Gauge of the shop.")],
    ends: Annotated[
        str,
        typer.Argument(
            help="between (short end right, long end right), short or long (that end only just fits)."
        ),
    ],
    as_left: Annotated[
        bool, typer.Option("--as-left", help="Tried after the work; otherwise as found.")
    ] = False,
) -> None:
    """Write down how a gauge of the shop fits; its true sizes make the reading."""
    from dwellwright.cli.choices import side_of
    from dwellwright.service.gauge_cards import own_gauge
    from dwellwright.service.gauge_fit import add_fit, tried
    from dwellwright.service.presentation import shown

    with shop_of(context) as shop:
        record = add_fit(shop, job, name, ends, side_of(as_left), person(context))
        said = tried(record, own_gauge(shop, name))
    view = shown(record.observation)
    say(f"{view.label}: {view.text} ({view.interval_text}), wanted {view.wanted_text}, {record.side.value}.")
    say(f"  {said.verdict.value}: {said.band}")
    say(f"  {view.source}")
