"""`dwellwright predict`: dwell, lambda and gas of a sheet's car, and what each screw or change would do."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from dwellwright.cli.context import shop_of
from dwellwright.cli.model_commands import Sheet
from dwellwright.cli.render import print_json, print_table, say

if TYPE_CHECKING:
    from dwellwright.catalogue.sheet import SpecSheet

_COLUMNS = ("point", ">dwell", ">lambda full rich", ">lambda full lean", ">lambda held", ">air", ">fuel")
_GASES = ("point", ">lambda by barrel", ">CO", ">CO2", ">O2", ">H2", ">HC")


def predict(
    context: typer.Context,
    sheet: Sheet,
    off: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME=VALUE", help="What is off, e.g. lean_stop=+12thou, altitude=1500m."),
    ] = None,
    what_if: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME=VALUE", help="What to change beyond that, to compare with and without."),
    ] = None,
    plot: Annotated[Path | None, typer.Option(metavar="FILE", help="Draw it: a .png or .svg file.")] = None,
    point: Annotated[str, typer.Option(help="Operating point of the loop that is drawn.")] = "idle",
    json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Predict dwell, lambda and gas at idle, 3000 rpm and cruise, and what each screw or change would do."""
    from dwellwright.service.prediction import prediction_facts, prediction_of
    from dwellwright.service.sheets import named_sheet

    with shop_of(context) as shop:
        chosen = named_sheet(shop, sheet).sheet
    first = [*(off or ())]
    facts = prediction_facts(prediction_of(chosen, first, intervals=True))
    if what_if:
        facts["what_if"] = prediction_facts(prediction_of(chosen, [*first, *what_if]))
    if plot is not None:
        facts["plot"] = _draw(chosen, first, [*first, *(what_if or ())], plot, point)
    if json:
        print_json(facts)
        return
    _tell(facts)
    if what_if:
        _compare(facts, what_if)
    if plot is not None:
        say(f"Drawn: {plot}. {facts['plot']}")


def _draw(sheet: SpecSheet, before: list[str], after: list[str], path: Path, point: str) -> str:
    from dwellwright.service.prediction_plot import drawn_prediction, plot_format

    drawn = drawn_prediction(sheet, before if after != before else [], after, point, plot_format(path))
    path.write_bytes(drawn.image)
    return drawn.alt


def _tell(facts: dict[str, Any]) -> None:
    changes = facts["changes"]
    say(f"{facts['sheet']}{', with ' + ', '.join(changes) if changes else ''}", style="bold")
    points = facts["points"]
    rows = [
        (name, f"{one['dwell_deg']:.1f} deg", f"{one['lambda_released']:.3f}", f"{one['lambda_energized']:.3f}",
         f"{one['lambda_held']:.3f}", f"{one['air_g_s']:.2f} g/s", f"{one['fuel_g_s']:.3f} g/s")
        for name, one in points.items()
    ]  # fmt: skip
    print_table("Closed loop, warm (dwell on the six-cylinder scale)", _COLUMNS, rows)
    gases = [
        (name, " / ".join(f"{value:.3f}" for value in one["lambda_barrels"]),
         *(f"{one['gas'][key]:.2f} %" for key in ("co_pct", "co2_pct", "o2_pct", "h2_pct")),
         f"{one['gas']['hc_ppm']:.0f} ppm")
        for name, one in points.items()
    ]  # fmt: skip
    print_table("Dry gas before any converter (HC as hexane, infrared)", _GASES, gases)
    screws = [(one["title"], one["step"], *_steps(one)) for one in facts["screws"]]
    title = "What each screw does to dwell, with the range that the sheet's tolerances leave (90 %)"
    print_table(title, ("setting", "step", *(f">{name}" for name in points)), screws)
    _warn(points)


def _steps(screw: dict[str, Any]) -> list[str]:
    return [
        f"{change:+.1f} ({low:+.1f} to {high:+.1f})"
        for change, (low, high) in zip(screw["dwell_change_deg"].values(), screw["interval_deg"].values(), strict=True)
    ]  # fmt: skip


def _compare(facts: dict[str, Any], what_if: list[str]) -> None:
    base, moved = facts["points"], facts["what_if"]["points"]

    def change(one: dict[str, Any], two: dict[str, Any], gas: str) -> str:
        return f"{two['gas'][gas] - one['gas'][gas]:+.2f} %"

    rows = [
        (name, f"{one['dwell_deg']:.1f}", f"{two['dwell_deg']:.1f}", f"{two['dwell_deg'] - one['dwell_deg']:+.1f}",
         f"{one['lambda_held']:.3f}", f"{two['lambda_held']:.3f}",
         change(one, two, "co_pct"), change(one, two, "o2_pct"))
        for (name, one), two in zip(base.items(), moved.values(), strict=True)
    ]  # fmt: skip
    columns = ("point", ">dwell now", ">then", ">change", ">lambda now", ">then", ">CO change", ">O2 change")
    print_table(f"What if {', '.join(what_if)} (dwell in deg)", columns, rows)
    _warn(moved)


def _warn(points: dict[str, Any]) -> None:
    for one in points.values():
        for finding in one["findings"]:
            say(f"  ! {finding}", style="yellow")
