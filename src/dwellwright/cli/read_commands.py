"""`dwellwright read`: what one file says, without a job."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dwellwright.cli.choices import Place, Polarity, Rows
from dwellwright.cli.context import known_shop_of
from dwellwright.cli.render import print_json


def read(
    context: typer.Context,
    file: Annotated[
        Path, typer.Argument(help="Sound of the wire, drive recording, gas table or bench sheet.")
    ],
    regime: Annotated[
        Place, typer.Option(help="Where a sound was recorded, or a gas table read that does not say.")
    ] = Place.IDLE,
    polarity: Annotated[Polarity, typer.Option(help="Of a sound recording, if you know it.")] = Polarity.AUTO,
    sample_rate: Rows = None,
    json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Read an evidence file of whatever kind and print what it says, with intervals."""
    from dwellwright.service.evidence import read_for_shop
    from dwellwright.service.presentation import reading_facts

    with known_shop_of(context) as shop:
        report = read_for_shop(shop, file, regime.regime, polarity.polarity, sample_rate)
    if json:
        readings = [reading_facts(one) for one in report.observations]
        print_json({"file": report.name, "kind": report.kind.value, "readings": readings, "facts": report.facts,
                    "warnings": list(report.warnings)})  # fmt: skip
        return
    from dwellwright.cli.file_page import print_report

    print_report(report)
