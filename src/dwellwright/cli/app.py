"""The commands and the options before them."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dwellwright import __version__
from dwellwright.cli import (
    adjust_command,
    demo_command,
    evidence_commands,
    gauge_commands,
    instrument_commands,
    job_commands,
    model_commands,
    predict_command,
    read_commands,
    serve_command,
    sheet_commands,
    verdict_commands,
)
from dwellwright.cli.context import Asked
from dwellwright.languages.language import HOME, settle

app = typer.Typer(
    help="Rebuild, calibrate, diagnose and prove closed-loop (feedback) carburetors.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
app.add_typer(job_commands.app, name="job")
app.add_typer(sheet_commands.app, name="sheet")
app.add_typer(gauge_commands.app, name="gauge")
app.add_typer(instrument_commands.app, name="instrument")
app.add_typer(evidence_commands.app, name="evidence")
app.command()(read_commands.read)
app.command()(demo_command.demo)
app.command()(serve_command.serve)
app.command()(verdict_commands.diagnose)
app.command()(verdict_commands.prove)
app.command()(verdict_commands.handover)
app.command()(model_commands.turns)
app.command()(adjust_command.adjust)
app.command()(predict_command.predict)


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"dwellwright {__version__}")
        raise typer.Exit


@app.callback()
def options(
    context: typer.Context,
    shop: Annotated[
        Path | None,
        typer.Option(metavar="PATH", help="Shop folder. Default: DWELLWRIGHT_SHOP, else your data folder."),
    ] = None,
    database: Annotated[
        str | None,
        typer.Option(metavar="URL", help="PostgreSQL address, where the shop keeps its records in one."),
    ] = None,
    who: Annotated[
        str | None, typer.Option(metavar="NAME", help="Who is at work, for the audit trail.")
    ] = None,
    language: Annotated[
        str,
        typer.Option(
            metavar="CODE", envvar="DWELLWRIGHT_LANGUAGE", help="Language of the answers: en or es."
        ),
    ] = HOME,
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and leave.")
    ] = False,
) -> None:
    """Keep the options for the command that follows."""
    settle(language)
    context.obj = Asked(shop, database, who)
