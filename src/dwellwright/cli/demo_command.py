"""`dwellwright demo`: one invented job from arrival to handover."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dwellwright.cli.context import asked


def demo(
    context: typer.Context,
    folder: Annotated[
        Path | None, typer.Option(help="Folder for the handover sheet; else the shop's.")
    ] = None,
) -> None:
    """Run an invented job from arrival to handover, out of real files, and print the path of its handover sheet.

    With `--shop` the job is added to that shop; otherwise it lives in a fresh folder of its own.
    """
    from tempfile import mkdtemp

    from dwellwright.cli.demo_story import Storyteller
    from dwellwright.service.demo import run_demo
    from dwellwright.service.shop import open_shop

    wanted = asked(context)
    place = wanted.shop or Path(mkdtemp(prefix="dwellwright-demo-"))
    shop = open_shop(place, wanted.database)
    try:
        made = run_demo(shop, folder or place, Storyteller().tell)
    finally:
        shop.close()
    typer.echo(str(made.path))
