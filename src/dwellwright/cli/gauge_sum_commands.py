"""`dwellwright gauge choke`, `float`, `screw`, `vacuum`, `convert`: sums at the bench."""

from __future__ import annotations

from typing import Annotated

import typer

from dwellwright.cli.render import say
from dwellwright.errors import InputFault

Unit = Annotated[str, typer.Argument(help="Unit of every length here: mm, thou, in.")]


def choke(
    unit: Unit,
    bore: Annotated[float, typer.Argument(help="Bore of the air horn.")],
    plug: Annotated[float | None, typer.Option(help="Plug that just passes; its angle is told.")] = None,
    angle: Annotated[float | None, typer.Option(help="Angle from shut, deg; its plug is told.")] = None,
    shut: Annotated[float, typer.Option(help="Angle of the shut plate from square across, deg.")] = 0.0,
    offset: Annotated[
        float, typer.Option(help="Of the shaft from the middle, away from the measured wall.")
    ] = 0.0,
    thickness: Annotated[float, typer.Option(help="Of the plate at its edge; 0 for a beveled one.")] = 0.0,
) -> None:
    """Turn a choke plug into the plate's angle from shut, or an angle into its plug."""
    from dwellwright.service.gauge_sums import angle_of_plug, choke_plate, plug_of_angle

    plate = choke_plate((bore, unit), shut, (offset, unit), (thickness, unit))
    if (plug is None) == (angle is None):
        raise InputFault("one of the two must be given", where="choke", wanted="--plug or --angle")
    if plug is not None:
        say(
            f"A plug of {plug:g} {unit} opens the choke by {angle_of_plug((plug, unit), plate):.2f} deg from shut."
        )
    elif angle is not None:
        say(
            f"At {angle:g} deg from shut a plug of {plug_of_angle(angle, plate, unit):.4g} {unit} just passes."
        )


def float_(
    unit: Unit,
    float_arm: Annotated[float, typer.Argument(help="From the hinge to the middle of the float.")],
    gauge_arm: Annotated[float, typer.Argument(help="From the hinge to where the height is gauged.")],
    height: Annotated[
        float | None, typer.Option(help="Change of the gauged height; the fuel's is told.")
    ] = None,
    level: Annotated[
        float | None, typer.Option(help="Rise of the fuel wanted; the height's change is told.")
    ] = None,
    angle: Annotated[float, typer.Option(help="Of the arm below level when the needle shuts, deg.")] = 0.0,
    higher_is_richer: Annotated[
        bool,
        typer.Option(
            "--higher-is-richer", help="A larger gauged height raises the fuel; otherwise it lowers it."
        ),
    ] = False,
) -> None:
    """Turn a change of float height into a change of fuel level, or the other way."""
    from dwellwright.service.gauge_sums import float_lever, height_of_level, level_of_height

    lever = float_lever((float_arm, unit), (gauge_arm, unit), angle, higher_is_richer=higher_is_richer)
    if (height is None) == (level is None):
        raise InputFault("one of the two must be given", where="float", wanted="--height or --level")
    if height is not None:
        rise = level_of_height((height, unit), lever)
        way = "rises, richer" if rise > 0 else "falls, leaner" if rise < 0 else "stays"
        say(f"With {height:+g} {unit} of gauged height the fuel {way}: {rise:+.4g} {unit}.")
    elif level is not None:
        say(f"To move the fuel by {level:+g} {unit} change the gauged height by "
            f"{height_of_level((level, unit), lever):+.4g} {unit}.")  # fmt: skip


def screw(
    thread: Annotated[str, typer.Argument(help="Thread: 10-32, 1/4-28, M5x0.8.")],
    value: Annotated[float, typer.Argument(help="Turns, or a travel.")],
    unit: Annotated[str, typer.Argument(help="turns, or the unit of the travel: mm, thou, in.")],
) -> None:
    """Turn the turns of a screw into its travel, or a travel into turns."""
    from dwellwright.service.gauge_sums import travel_of, turns_of_travel

    if unit == "turns":
        travels = ", ".join(f"{travel_of(value, thread, one):.4g} {one}" for one in ("mm", "thou"))
        say(f"{value:g} turns of {thread} are {travels}.")
        return
    say(f"{value:g} {unit} are {turns_of_travel((value, unit), thread):.3f} turns of {thread}.")


def vacuum(
    value: Annotated[float, typer.Argument(help="Vacuum, below the atmosphere.")],
    unit: Annotated[str, typer.Argument(help="Its unit: inHg, kPa, psi.")],
    barometer: Annotated[float, typer.Option(help="Barometer, not corrected to sea level.")] = 101.325,
    barometer_unit: Annotated[str, typer.Option(help="Its unit.")] = "kPa",
) -> None:
    """Turn manifold vacuum into absolute pressure."""
    from dwellwright.service.gauge_sums import absolute_of_vacuum, converted

    found = absolute_of_vacuum(value, unit, barometer, barometer_unit)
    say(f"{value:g} {unit} of vacuum at {barometer:g} {barometer_unit}: {found:.4g} {unit} absolute "
        f"({converted(found, unit, 'kPa'):.4g} kPa).")  # fmt: skip


def convert(
    value: Annotated[float, typer.Argument(help="Number.")],
    unit: Annotated[str, typer.Argument(help="Its unit.")],
    other: Annotated[str, typer.Argument(help="Unit wanted.")],
) -> None:
    """Turn a number into another unit of the same kind."""
    from dwellwright.service.gauge_sums import converted

    say(f"{value:g} {unit} = {converted(value, unit, other):.7g} {other}")
