"""`dwellwright evidence ...`: tests with a response, and a closer look at what was measured."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dwellwright.cli.choices import Place, Polarity, Rows
from dwellwright.cli.context import known_shop_of, person, shop_of
from dwellwright.cli.render import print_json, print_table, say
from dwellwright.errors import InputFault

app = typer.Typer(
    help="Evidence: tests with a response, gas looked at closely, plots of everything measured.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
LEAST_SHOWN = 0.02
"""Probability below which a cause is not printed."""

Json = Annotated[bool, typer.Option("--json", help="Print one JSON object.")]


@app.command("tests")
def list_all(
    name: Annotated[str | None, typer.Argument(help="One test, with its steps; all otherwise.")] = None,
) -> None:
    """List the tests with a response: hazard, steps, and what each answer means."""
    from dwellwright.service.responses import offered_test, offered_tests

    if name is None:
        rows = [(one.test.name, one.test.label, one.test.regime, f"{one.item} in {one.unit}", one.expected)
                for one in offered_tests()]  # fmt: skip
        print_table("Tests with a response", ("name", "test", "at", "read", "a sound car's must"), rows)
        return
    test = offered_test(name).test
    say(test.label, style="bold")
    say(f"! {test.hazard}", style="yellow")
    for number, step in enumerate(test.steps, 1):
        say(f"  {number}. {step}")
    print_table("", ("it", "means"), [(way.value, words) for way, words in test.answers.items()])


@app.command()
def response(
    context: typer.Context,
    job: Annotated[int, typer.Argument(metavar="JOB", min=1, help="Number of the job.")],
    test: Annotated[str, typer.Argument(help="Test, as `dwellwright evidence tests` names it.")],
    before: Annotated[list[float], typer.Option(help="Reading before; repeat the option for repeats.")],
    during: Annotated[list[float], typer.Option(help="Reading while it is done; repeat for repeats.")],
    unit: Annotated[str, typer.Option(help="Unit of both; the test's usual one otherwise.")] = "",
    as_left: Annotated[
        bool, typer.Option("--as-left", help="Done after the work; otherwise as found.")
    ] = False,
    json: Json = False,
) -> None:
    """Write down what a test with a response answered."""
    from dwellwright.cli.choices import side_of
    from dwellwright.service.responses import add_response, response_facts

    with shop_of(context) as shop:
        found = add_response(shop, job, test, before, during, side_of(as_left), person(context), unit)
    facts = response_facts(found)
    if json:
        print_json(facts)
        return
    say(f"! {facts['hazard']}", style="yellow")
    say(f"{facts['before']:g} -> {facts['during']:g} {facts['unit']}: change {facts['change']:+.3g} "
        f"({facts['low']:+.3g} to {facts['high']:+.3g}); a sound car: {facts['expected']}")  # fmt: skip
    say(facts["words"], style="bold")


@app.command()
def gas(
    file: Annotated[Path, typer.Argument(help="Gas table: condition, CO, CO2, O2, HC.")],
    fuel: Annotated[
        str,
        typer.Option(
            help="What was burned: a name in the catalogue, or E10 and the like for ethanol in gasoline."
        ),
    ] = "",
    analyzer: Annotated[str, typer.Option(help="Class of the analyzer: class_0, class_1, class_2.")] = "",
    factor: Annotated[
        str, typer.Option(help="Carbon atoms for each HC counted: 6 as hexane, 12 infrared.")
    ] = "",
    regime: Annotated[Place, typer.Option(help="Where it was read, if the table does not say.")] = Place.IDLE,
) -> None:
    """Look at exhaust gas closely: lambda two ways, dilution, what it points to, and the idle limits."""
    from dwellwright.service.gas_verdict import chosen_options, gas_verdict

    found = gas_verdict(file, chosen_options(fuel, analyzer, factor), regime.regime)
    say(found.name, style="bold")
    rows = [(one.told, one.ratio, one.air_fuel, ", ".join(
        f"{cause.cause} {cause.probability:.0%}" for cause in one.causes if cause.probability >= LEAST_SHOWN))
        for one in found.lines]  # fmt: skip
    print_table("", ("at", ">lambda (95 %)", ">air to fuel", "points to"), rows)
    for one in found.lines:
        for words in one.warnings:
            say(f"  ! {one.told}: {words}", style="yellow")
    if found.idle:
        say(found.idle)
    for words in found.findings:
        say(f"  ! {words}", style="yellow")


@app.command()
def plot(
    context: typer.Context,
    file: Annotated[
        Path, typer.Argument(help="Evidence file: sound, drive recording, gas table, bench sheet, study.")
    ],
    picture: Annotated[Path, typer.Argument(help="File to write, .svg or .png; must not exist yet.")],
    polarity: Annotated[Polarity, typer.Option(help="Of a sound recording, if you know it.")] = Polarity.AUTO,
    sample_rate: Rows = None,
) -> None:
    """Draw an evidence file of whatever kind."""
    from dwellwright.service.evidence_plots import evidence_plot, write_plot

    with known_shop_of(context) as shop:
        drawn = write_plot(
            lambda form: evidence_plot(file, form, shop, polarity.polarity, sample_rate), picture
        )
    say(f"{picture}: {drawn.alt}")


@app.command()
def answers(
    context: typer.Context,
    job: Annotated[int, typer.Argument(metavar="JOB", min=1, help="Number of the job.")],
    picture: Annotated[
        Path | None,
        typer.Option("--plot", metavar="FILE", help="Draw them too; .svg or .png, must not exist yet."),
    ] = None,
) -> None:
    """List what the tests with a response answered in a job."""
    from dwellwright.service.evidence_plots import write_plot
    from dwellwright.service.jobs import job_view
    from dwellwright.service.responses import answers_plot, responses_of

    with shop_of(context) as shop:
        view = job_view(shop, job)
    found = responses_of(view)
    rows = [(one["label"], f"{one['before']:g} -> {one['during']:g} {one['unit']}", one["direction"] or "not clear",
             one["expected"], one["words"]) for _, one in found]  # fmt: skip
    print_table(f"Job {job}", ("test", ">read", "it", "expected", "means"), rows)
    if picture is not None:
        write_plot(lambda form: answers_plot(view, form), picture)
        say(f"Drawn: {picture}")


@app.command()
def columns(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(help="Drive recording whose header does not say what is what.")],
    name: Annotated[
        list[str] | None,
        typer.Option(
            "--name", metavar="CHANNEL=COLUMN:UNIT", help="Name one column, e.g. duty=Ch 3:%; repeat."
        ),
    ] = None,
) -> None:
    """Show what a recording's columns seem to be; with --name remember it for every file with this header."""
    from dwellwright.service.column_maps import header_of, keep_columns, proposed_rows

    header = header_of(file)
    rows = proposed_rows(header)
    if not name:
        print_table(f"{file.name}: {', '.join(header)[:300]}", ("channel", "column", "unit", "units it may have"),
                    [(one.channel, one.column, one.unit, ", ".join(one.units)) for one in rows])  # fmt: skip
        return
    uses = {one.channel: (one.column, one.unit) for one in rows if one.column and one.unit}
    uses |= dict(_named(one) for one in name)
    with shop_of(context) as shop:
        made = keep_columns(shop, header, uses, person(context))
    said = ", ".join(f"{one.channel} = {one.column} [{one.unit}]" for one in made.uses)
    say(f"Remembered for every recording with this header: {said}")


def _named(text: str) -> tuple[str, tuple[str, str]]:
    channel, equals, rest = text.partition("=")
    column, colon, unit = rest.rpartition(":")
    if not (equals and colon and column):
        raise InputFault(
            "a column is not named so", got=repr(text), wanted="CHANNEL=COLUMN:UNIT, e.g. duty=Ch 3:%"
        )
    return channel.strip(), (column, unit.strip())
