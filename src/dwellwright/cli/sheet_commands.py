"""`dwellwright sheet ...`: spec sheets."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dwellwright.cli.context import person, shop_of
from dwellwright.cli.render import print_json, print_table, say
from dwellwright.errors import InputFault

app = typer.Typer(help="Spec sheets: what a unit should be.", no_args_is_help=True, rich_markup_mode=None)


@app.command()
def check(file: Annotated[Path, typer.Argument(help="Sheet to check (TOML).")]) -> None:
    """Say exactly what is wrong with a sheet, and on which line; exit code 2 if anything is."""
    from dwellwright.service.sheets import check_sheet

    report = check_sheet(file)
    for finding in report.findings:
        typer.echo(f"{file}: {finding}", err=True)
    if report.findings:
        raise typer.Exit(2)
    if report.sheet is not None:
        marked = ", invented" if report.sheet.invented else ""
        say(f"{file}: a good sheet: {report.sheet.title} ({len(report.sheet.settings)} settings{marked})")


@app.command()
def schema() -> None:
    """Print the JSON Schema of a sheet."""
    from dwellwright.service.sheets import schema_of_sheets

    print_json(schema_of_sheets())


@app.command("list")
def list_all(context: typer.Context) -> None:
    """List the shop's sheets and the archetypes shipped with the tool."""
    from dwellwright.service.known_sheets import sheet_lines

    with shop_of(context) as shop:
        lines = sheet_lines(shop)
    rows = [
        (one.name, str(one.version or "-"), one.title, "invented" if one.invented else "", one.source)
        for one in lines
    ]
    print_table("Spec sheets", ("name", ">version", "title", "", "from"), rows)


@app.command()
def new(
    file: Annotated[Path, typer.Argument(help="File to write; must not exist yet.")],
    like: Annotated[str | None, typer.Option(metavar="ARCHETYPE", help="Archetype to copy.")] = None,
    cylinders: Annotated[
        int | None, typer.Option(min=1, max=16, help="Choose the archetype by cylinders.")
    ] = None,
) -> None:
    """Write a sheet to start from: a copy of an invented archetype, for your manual's numbers."""
    from dwellwright.service.sheets import new_sheet

    text = new_sheet(like, cylinders)
    try:
        with open(file, "x", encoding="utf-8") as target:
            target.write(text)
    except OSError as fault:
        raise InputFault(
            "the sheet cannot be written", where=str(file), got=fault.strerror or str(fault)
        ) from None
    say(f"Wrote {file}. Replace its invented numbers by your manual's, then: dwellwright sheet check {file}")


@app.command()
def show(
    context: typer.Context,
    name: Annotated[str, typer.Argument(help="Name of a sheet, of an archetype, or a file.")],
    toml: Annotated[bool, typer.Option("--toml", help="Print the sheet's text itself.")] = False,
) -> None:
    """Show a sheet: its settings with tolerance, thread and source."""
    from dwellwright.service.sheets import named_sheet

    with shop_of(context) as shop:
        found = named_sheet(shop, name)
    if toml:
        typer.echo(found.text, nl=False)
        return
    sheet = found.sheet
    say(f"{sheet.title}{' (invented)' if sheet.invented else ''}; from: {sheet.source}", style="bold")
    engine = sheet.engine
    say(f"{engine.layout}, {engine.cylinders} cylinders, {engine.displacement}; idle {engine.idle_speed}")
    rows = [
        (key, one.title, str(one.wanted), _turning(one), one.gauge, one.wanted.source)
        for key, one in sheet.settings.items()
    ]
    print_table("Settings", ("key", "setting", "wanted", "screw", "gauge", "read in"), rows)


def _turning(setting: object) -> str:
    thread, clockwise = getattr(setting, "thread", None), getattr(setting, "clockwise", None)
    if thread is None:
        return ""
    return f"{1e3 * thread.travel_per_turn:.3f} mm per turn" + (
        f", clockwise {clockwise}" if clockwise else ""
    )


@app.command("import")
def import_file(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(help="Sheet to keep in the shop (TOML).")],
    name: Annotated[str | None, typer.Option(help="Name to keep it under; the file's own otherwise.")] = None,
) -> None:
    """Keep a sheet in the shop, as a new version if its name is taken."""
    from dwellwright.service.sheets import import_sheet

    with shop_of(context) as shop:
        stored = import_sheet(shop, file, person(context), name)
    say(f"Kept {stored.title} as {stored.name}, version {stored.version}.")


@app.command()
def identify(
    context: typer.Context,
    stamped: Annotated[str, typer.Argument(help="What is stamped on the unit; ? for what cannot be read.")],
) -> None:
    """Find the sheet of a unit by what is stamped on it."""
    from dwellwright.service.identification import sheets_stamped

    with shop_of(context) as shop:
        found = sheets_stamped(shop, stamped)
    if not found:
        say("No sheet fits. Start one with `dwellwright sheet new`.")
        return
    rows = [(f"{100 * one.alike:.0f} %", one.name, one.title, one.stamp, one.words) for one in found]
    print_table("Sheets", (">alike", "name", "title", "stamp", ""), rows)


@app.command()
def sign(
    context: typer.Context,
    name: Annotated[str, typer.Argument(help="Name of the shop's own sheet.")],
    file: Annotated[Path, typer.Argument(help="File to write for the other shop.")],
    remark: Annotated[str, typer.Option(help="A short remark that goes with it.")] = "",
) -> None:
    """Sign a sheet off and write it as a file for another shop, with a digest that tells later changes."""
    from dwellwright.service.sheet_exchange import sign_sheet

    with shop_of(context) as shop:
        signed = sign_sheet(shop, name, person(context), remark)
    try:
        file.write_text(signed.text, encoding="utf-8", newline="")
    except OSError as fault:
        raise InputFault(
            "the sheet cannot be written", where=str(file), got=fault.strerror or str(fault)
        ) from None
    say(f"Wrote {file}: {signed.stored.source}.")
