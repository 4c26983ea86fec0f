"""`dwellwright serve`: the workbench as pages."""

from __future__ import annotations

from typing import Annotated

import typer

from dwellwright.cli.context import asked
from dwellwright.cli.render import say


def serve(
    context: typer.Context,
    port: Annotated[int, typer.Option(min=1, max=65535, help="Port to listen on.")] = 8321,
    lan: Annotated[bool, typer.Option("--lan", help="Let other machines of your network in.")] = False,
) -> None:
    """Serve the workbench's pages on this machine."""
    from dwellwright.web.serving import run

    wanted = asked(context)
    if lan:
        say("Anyone on this network can read and change the jobs while this runs.", style="yellow")
    say(f"The workbench: http://127.0.0.1:{port}/ (stop with Ctrl-C)")
    run(wanted.shop, wanted.database, wanted.who, port=port, lan=lan)
