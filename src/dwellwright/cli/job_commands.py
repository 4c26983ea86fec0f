"""`dwellwright job ...`: the cars in the shop."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dwellwright.cli.choices import Place, Polarity, Rows, phase_of, side_of
from dwellwright.cli.context import person, shop_of
from dwellwright.cli.render import print_json, print_table, say
from dwellwright.errors import InputFault

app = typer.Typer(
    help="Jobs: one car each, from arrival to handover.", no_args_is_help=True, rich_markup_mode=None
)
Number = Annotated[int, typer.Argument(metavar="JOB", min=1, help="Number of the job.")]
AsLeft = Annotated[bool, typer.Option("--as-left", help="Taken after the work; otherwise it is as found.")]


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


@app.command()
def show(
    context: typer.Context,
    job: Number,
    history: Annotated[bool, typer.Option("--history", help="Who changed what, and when.")] = False,
) -> None:
    """Show a job: its evidence, readings, steps and verdict."""
    from dwellwright.cli.job_pages import print_history, print_job
    from dwellwright.service.jobs import job_history, job_view

    with shop_of(context) as shop:
        if history:
            print_history(job_history(shop, job))
        else:
            print_job(job_view(shop, job))


@app.command()
def add(
    context: typer.Context,
    job: Number,
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE...", help="Sound, recording, gas table, bench sheet.")
    ],
    as_left: AsLeft = False,
    regime: Annotated[
        Place, typer.Option(help="Where a sound was recorded, or a gas table read that does not say.")
    ] = Place.IDLE,
    polarity: Annotated[Polarity, typer.Option(help="Of a sound recording, if you know it.")] = Polarity.AUTO,
    sample_rate: Rows = None,
) -> None:
    """Add evidence files to a job; a file that cannot be used leaves the job as it was."""
    from dwellwright.cli.file_page import print_report
    from dwellwright.service.evidence import add_evidence

    side = side_of(as_left)
    with shop_of(context) as shop:
        for file in files:
            added = add_evidence(shop, job, file, side, person(context), regime=regime.regime,
                                 polarity=polarity.polarity, sample_rate=sample_rate)  # fmt: skip
            print_report(added.report)
            done = f"is in job {job} already"
            if added.new or added.again:
                done = f"{'added to' if added.new else 'read again for'} job {job}, {added.readings} readings"
            say(f"{file.name}: {done} ({side.value}).")


@app.command()
def reading(
    context: typer.Context,
    job: Number,
    item: Annotated[str, typer.Argument(help="What was read: dwell, rod_lean_gauge, fuel_pressure, ...")],
    unit: Annotated[str, typer.Argument(help="Unit of the values: deg, thou, mm, kPa, V, turns, ...")],
    values: Annotated[list[float], typer.Argument(metavar="VALUE...", help="Every repeat.")],
    as_left: AsLeft = False,
    regime: Annotated[Place, typer.Option(help="Where it was read.")] = Place.IDLE,
    wanted: Annotated[float | None, typer.Option(help="Specification, same unit.")] = None,
    instrument: Annotated[
        str | None, typer.Option(help="What it was read with: a kind, KIND:MARK of the shop, or gauge:NAME.")
    ] = None,
) -> None:
    """Type in one reading, with its repeats."""
    from dwellwright.service.presentation import shown
    from dwellwright.service.readings import add_reading

    with shop_of(context) as shop:
        record = add_reading(
            shop,
            job,
            item,
            values,
            unit,
            side_of(as_left),
            person(context),
            regime=regime.regime,
            wanted=wanted,
            tool=instrument,
        )
    view = shown(record.observation)
    say(f"{view.label}: {view.text} ({view.interval_text}), {record.side.value}.")
    if instrument:
        say(f"  {view.source}")


@app.command()
def undo(context: typer.Context, job: Number) -> None:
    """Take back the last typed reading."""
    from dwellwright.service.presentation import shown
    from dwellwright.service.readings import take_back_reading

    with shop_of(context) as shop:
        record = take_back_reading(shop, job, person(context))
    view = shown(record.observation)
    say(f"Taken back: {view.label} {view.text}. It stays in the history.")


@app.command()
def bench(context: typer.Context, job: Number) -> None:
    """The bench sequence: what comes next, which way to turn and how far."""
    from dwellwright.cli.plan_page import print_plan
    from dwellwright.service.plans import bench_plan

    with shop_of(context) as shop:
        print_plan(bench_plan(shop, job))


@app.command()
def car(context: typer.Context, job: Number) -> None:
    """The sequence on the car."""
    from dwellwright.cli.plan_page import print_plan
    from dwellwright.service.plans import car_plan

    with shop_of(context) as shop:
        print_plan(car_plan(shop, job))


@app.command()
def step(
    context: typer.Context,
    job: Number,
    key: Annotated[str, typer.Argument(help="Key of the step, as the sequence shows it.")],
    unit: Annotated[str, typer.Option(help="Unit of the readings.")] = "",
    found: Annotated[
        list[float] | None, typer.Option(help="Reading before; repeat the option for repeats.")
    ] = None,
    left: Annotated[
        list[float] | None, typer.Option(help="Reading after; repeat the option for repeats.")
    ] = None,
    instrument: Annotated[
        str | None, typer.Option(help="What it was read with: a kind, KIND:MARK of the shop, or gauge:NAME.")
    ] = None,
    turns: Annotated[
        float | None, typer.Option(help="Turns made, clockwise seen from the head is positive.")
    ] = None,
    passed: Annotated[bool | None, typer.Option("--passed/--failed", help="Judged by eye.")] = None,
    minutes: Annotated[float | None, typer.Option(help="Time it took.")] = None,
    note: Annotated[str, typer.Option(help="Free words.")] = "",
    on_car: Annotated[
        bool, typer.Option("--on-car", help="A step on the car; otherwise on the bench.")
    ] = False,
) -> None:
    """Write down a step: readings before and after, turns made, time."""
    from dwellwright.service.plans import StepEntry, record_step

    entry = StepEntry(found or (), left or (), unit, instrument, turns, passed, minutes, note)
    with shop_of(context) as shop:
        record = record_step(shop, job, phase_of(on_car), key, entry, person(context))
    say(f"Step {record.done.key} written down for job {job} by {record.who}.")


@app.command()
def part(
    context: typer.Context,
    job: Number,
    words: Annotated[str, typer.Argument(help="What it is.")],
    count: Annotated[str, typer.Option(help="How many.")] = "1",
    price: Annotated[str, typer.Option(help="Price of one; not charged without it.")] = "",
    other: Annotated[bool, typer.Option("--other", help="No part: shipping, a test, a fee.")] = False,
) -> None:
    """Write down a part that was fitted, or another line with a price."""
    from dwellwright.service.costs import add_cost

    with shop_of(context) as shop:
        add_cost(shop, job, "other" if other else "part", words, count, price, person(context))
    say(f"Written down for job {job}: {words}.")


@app.command()
def costs(
    context: typer.Context,
    job: Number,
    csv: Annotated[bool, typer.Option("--csv", help="Print the table as CSV.")] = False,
) -> None:
    """Time and parts of a job, with the total."""
    from dwellwright.service.costs import cost_sheet, costs_csv, prices_of
    from dwellwright.service.jobs import job_view
    from dwellwright.service.shop_profile import shop_profile

    with shop_of(context) as shop:
        view, prices = job_view(shop, job), prices_of(shop_profile(shop))
    if csv:
        typer.echo(costs_csv(view, prices), nl=False)
        return
    found = cost_sheet(view, prices)
    print_table(
        "Time",
        ("where", "step", ">minutes"),
        [(one.where, one.title, f"{one.minutes:g}") for one in found.steps],
    )
    rows = [(one.words, one.count, one.price or "-", one.amount or "-") for one in found.lines]
    print_table("Parts and prices", ("what", ">how many", ">price of one", ">amount"), rows)
    say(f"{found.minutes:g} min; total {found.total or 'not charged'}.", style="bold")


@app.command()
def case(
    context: typer.Context,
    job: Number,
    file: Annotated[Path, typer.Argument(help="Page to write (HTML), or an archive with its plots (ZIP).")],
    photo: Annotated[
        list[int] | None, typer.Option(help="A photograph to show, by its number; repeat for more.")
    ] = None,
) -> None:
    """Write a job up as an anonymous case: one illustrated page that needs nothing else."""
    from dwellwright.service.case_writeup import write_up, write_up_archive

    with shop_of(context) as shop:
        whole = file.suffix.lower() == ".zip"
        content = (
            write_up_archive(shop, job, photo or ())
            if whole
            else write_up(shop, job, photo or ()).encode("utf-8")
        )
    try:
        file.write_bytes(content)
    except OSError as fault:
        raise InputFault(
            "the case cannot be written", where=str(file), got=fault.strerror or str(fault)
        ) from None
    say(f"Wrote {file}. Read it once before you give it away.")


@app.command("export")
def export_all(
    context: typer.Context,
    job: Number,
    folder: Annotated[
        Path | None, typer.Option(help="Write JSON, tables and the spec sheet into this folder.")
    ] = None,
) -> None:
    """Print everything a job holds as one JSON object, or write it as tables, too."""
    from dwellwright.service.export import job_facts
    from dwellwright.service.jobs import job_history, job_view
    from dwellwright.service.tables import write_job_files

    with shop_of(context) as shop:
        if folder is None:
            print_json(job_facts(job_view(shop, job), job_history(shop, job)))
            return
        written = write_job_files(shop, job, folder)
    say(f"Wrote {len(written)} files into {folder}.")
