"""`dwellwright adjust`: the advisor on the car, one screw at a time."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from dwellwright.cli.context import person, shop_of
from dwellwright.cli.render import print_table, say

if TYPE_CHECKING:
    from dwellwright.service.car_advisor import AdviceLine, ScrewAdvice


def adjust(
    context: typer.Context,
    job: Annotated[int, typer.Argument(metavar="JOB", min=1, help="Number of the job.")],
    values: Annotated[
        list[float] | None,
        typer.Argument(
            metavar="[VALUE]...", help="Reading now, every repeat: deg on the six-cylinder scale, or V."
        ),
    ] = None,
    screw: Annotated[
        str, typer.Option(help="Which: idle_needle, idle_bleed or throttle_sensor.")
    ] = "idle_needle",
    turned: Annotated[
        list[float] | None,
        typer.Option(
            help="Turns made since the reading before, clockwise positive; twice where two needles differ."
        ),
    ] = None,
    feels: Annotated[
        float | None,
        typer.Option(min=0, max=3, help="How the idle feels: 0 smooth, 1 uneven, 2 rough, 3 shaking."),
    ] = None,
    minutes: Annotated[float | None, typer.Option(help="Time it took.")] = None,
) -> None:
    """Set a screw on the running engine: write down a reading and the turns before it, and say what to turn next."""
    from dwellwright.service.car_advisor import screw_advice
    from dwellwright.service.car_moves import CarMove, record_move
    from dwellwright.service.jobs import job_view

    with shop_of(context) as shop:
        if values or turned:
            record_move(
                shop, job, screw, CarMove(values or (), tuple(turned or ()), feels, minutes), person(context)
            )
        _print(screw_advice(shop, job_view(shop, job), screw))


def _print(one: ScrewAdvice) -> None:
    unit, form = one.screw.unit, f".{one.screw.decimals}f"
    rows = [(str(number), _turned(line), f"{line.value:{form}} ± {2 * line.doubt:{form}} {unit}",
             "" if line.roughness is None else f"{line.roughness:.0f}")
            for number, line in enumerate(one.lines, start=1)]  # fmt: skip
    if rows:
        print_table(one.screw.title, (">reading", "turned before it", ">read", ">feels"), rows)
    say(f"{one.words[:1].upper()}{one.words[1:]}.", style="bold")
    wanted = f"{one.target:{form}} ± {one.tolerance:{form}} {unit}"
    say(f"{one.advice.why[:1].upper()}{one.advice.why[1:]}. Wanted: {wanted}.")
    if one.points_to:
        say(f"{one.points_to[:1].upper()}{one.points_to[1:]}.", style="yellow")
        if one.suspects:
            say(f"Look first at: {', '.join(one.suspects)}.")
    elif rows:
        low, middle, high = one.expected
        say(f"Expect {middle:{form}} {unit} next, {low:{form}} to {high:{form}} nine times in ten; "
            f"{min(one.advice.confidence, 0.99):.0%} sure that it is in now. A turn out moves this car by "
            f"{one.sensitivity[0]:+{form}} ± {one.sensitivity[1]:{form}} {unit}.")  # fmt: skip


def _turned(line: AdviceLine) -> str:
    way = {True: "clockwise", False: "counterclockwise"}
    told = [f"{abs(one):g} {way[one > 0]}" if one else "0" for one in line.turned]
    return (told[0] if len(set(told)) == 1 else "; ".join(told)) if told else "nothing"
