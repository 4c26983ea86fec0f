"""`dwellwright diagnose`, `prove` and `handover`: what a job comes to."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dwellwright.cli.choices import side_of
from dwellwright.cli.context import person, shop_of
from dwellwright.cli.render import print_json, say

Number = Annotated[int, typer.Argument(metavar="JOB", min=1, help="Number of the job.")]


def _schema(asked: bool) -> None:
    if asked:
        from dwellwright.service.diagnosis import document_schema

        print_json(document_schema())
        raise typer.Exit


def diagnose(
    context: typer.Context,
    what: Annotated[
        str, typer.Argument(metavar="JOB_OR_FOLDER", help="Number of a job, or a folder of loose files.")
    ],
    json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    explain: Annotated[
        bool, typer.Option("--explain", help="What speaks for and against each cause.")
    ] = False,
    as_left: Annotated[bool, typer.Option("--as-left", help="A job's readings after the work.")] = False,
    no_memory: Annotated[
        bool, typer.Option("--no-memory", help="Leave the shop's own closed jobs out of it.")
    ] = False,
    sheet: Annotated[
        str | None,
        typer.Option(metavar="NAME_OR_FILE", help="Spec sheet for a folder; an archetype otherwise."),
    ] = None,
    schema: Annotated[
        bool,
        typer.Option(
            "--schema", callback=_schema, is_eager=True, help="Print the JSON Schema of --json, and leave."
        ),
    ] = False,
    plot: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Draw it too; .svg or .png, must not exist yet."),
    ] = None,
) -> None:
    """Say which causes explain the evidence of a job, or of a folder with log, drive, gas and bench files."""
    from dwellwright.service.diagnosis import diagnose_folder, diagnose_job
    from dwellwright.service.diagnosis_plots import draw_diagnosis
    from dwellwright.service.jobs import job_view
    from dwellwright.service.sheets import named_sheet

    if what.isascii() and what.isdigit() and not Path(what).is_dir():
        with shop_of(context) as shop:
            side = side_of(as_left)
            facts = diagnose_job(shop, int(what), person(context), side, memory=not no_memory).facts
            if plot is not None:
                draw_diagnosis(facts, plot, job_view(shop, int(what)))
        heading = f"Job {what}"
    else:
        if sheet is None:
            facts = diagnose_folder(Path(what))
        else:
            with shop_of(context) as shop:
                facts = diagnose_folder(Path(what), named_sheet(shop, sheet).sheet)
        if plot is not None:
            draw_diagnosis(facts, plot)
        heading = f"{facts['folder']}, held against: {facts['sheet']}"
    if json:
        print_json(facts)
        return
    from dwellwright.cli.verdict_page import print_verdict

    print_verdict(facts, heading, explain=explain)
    if plot is not None:
        say(f"Drawn: {plot}")


def prove(context: typer.Context, job: Number) -> None:
    """Judge the proof of a job: each criterion of the sheet against what was measured after the work."""
    from dwellwright.cli.proof_page import print_proof
    from dwellwright.service.proof import prove_job

    with shop_of(context) as shop:
        found = prove_job(shop, job, person(context))
    print_proof(found)


def handover(
    context: typer.Context,
    job: Number,
    folder: Annotated[Path, typer.Option(help="Folder for the owner's copy.")] = Path(),
    shop_name: Annotated[str, typer.Option(help="The shop's name on it; the shop's own otherwise.")] = "",
    link: Annotated[str, typer.Option(help="Address that opens the job, printed as a QR code.")] = "",
    a4: Annotated[bool, typer.Option("--a4", help="A4 paper; US letter otherwise.")] = False,
) -> None:
    """Make the handover sheet of a job as PDF and print its path."""
    from dwellwright.service.handover import hand_over, paper_named, shop_shown

    with shop_of(context) as shop:
        made = hand_over(
            shop, job, folder, person(context), shown=shop_shown(shop, shop_name, link), paper=paper_named(a4)
        )
    say(f"Job {job} is {made.verdict}. Handover sheet:")
    typer.echo(str(made.path))
