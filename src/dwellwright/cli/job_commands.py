"""`dwellwright job ...`: the cars in the shop."""

from __future__ import annotations

from typing import Annotated

import typer

from dwellwright.cli.context import person, shop_of
from dwellwright.cli.render import print_table, say

app = typer.Typer(
    help="Jobs: one car each, from arrival to handover.", no_args_is_help=True, rich_markup_mode=None
)
Number = Annotated[int, typer.Argument(metavar="JOB", min=1, help="Number of the job.")]


@app.command()
def new(
    context: typer.Context,
    complaint: Annotated[str, typer.Argument(help="What the customer said, in the customer's words.")],
    car: Annotated[str, typer.Option(help="The car in plain words.")],
    owner: Annotated[str, typer.Option(help="Whose it is.")],
    sheet: Annotated[
        str, typer.Option(metavar="NAME_OR_FILE", help="Spec sheet: a name, an archetype, or a file.")
    ],
) -> None:
    """Take a job in."""
    from dwellwright.service.jobs import take_in_job

    with shop_of(context) as shop:
        view = take_in_job(shop, owner=owner, car=car, complaint=complaint, sheet=sheet, who=person(context))
    say(f"Job {view.job.number}: {view.job.car} ({view.job.owner}), on {view.sheet.title}.")


@app.command("list")
def list_all(context: typer.Context) -> None:
    """List the jobs, newest first."""
    from dwellwright.service.jobs import list_jobs

    with shop_of(context) as shop:
        lines = list_jobs(shop)
    if not lines:
        say("No jobs yet. Take one in with `dwellwright job new`, or see `dwellwright demo`.")
        return
    rows = [
        (str(one.number), f"{one.created:%Y-%m-%d}", one.stage, one.car, one.owner, one.complaint)
        for one in lines
    ]
    print_table("Jobs", (">job", "since", "stage", "car", "owner", "complaint"), rows)
