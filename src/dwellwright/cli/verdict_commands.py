"""`dwellwright diagnose`, `prove` and `handover`: what a job comes to."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dwellwright.cli.context import person, shop_of
from dwellwright.cli.render import say

Number = Annotated[int, typer.Argument(metavar="JOB", min=1, help="Number of the job.")]


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
    shop_name: Annotated[str, typer.Option(help="The shop's name as it is printed.")] = "The workshop",
    link: Annotated[str, typer.Option(help="Address that opens the job, printed as a QR code.")] = "",
    a4: Annotated[bool, typer.Option("--a4", help="A4 paper; US letter otherwise.")] = False,
) -> None:
    """Make the handover sheet of a job as PDF and print its path."""
    from dwellwright.service.handover import hand_over, paper_named, shop_shown

    with shop_of(context) as shop:
        made = hand_over(
            shop, job, folder, person(context), shown=shop_shown(shop_name, link), paper=paper_named(a4)
        )
    say(f"Job {job} is {made.verdict}. Handover sheet:")
    typer.echo(str(made.path))
