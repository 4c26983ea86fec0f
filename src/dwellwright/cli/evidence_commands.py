"""`dwellwright evidence ...`: tests with a response, and a closer look at what was measured."""

from __future__ import annotations

from typing import Annotated

import typer

from dwellwright.cli.context import person, shop_of
from dwellwright.cli.render import print_json, print_table, say

app = typer.Typer(
    help="Evidence: tests with a response, gas looked at closely, plots of everything measured.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
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
