"""`dwellwright instrument ...`: instruments that speak in lines of text."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dwellwright.cli.choices import Place, side_of
from dwellwright.cli.context import person, shop_of
from dwellwright.cli.render import print_table, say
from dwellwright.errors import InputFault

if TYPE_CHECKING:
    from dwellwright.service.live_recording import Recorder

app = typer.Typer(
    help="Instruments on a serial line or the network.", no_args_is_help=True, rich_markup_mode=None
)
Name = Annotated[str, typer.Argument(help="Name the instrument has in the shop.")]
Address = Annotated[str, typer.Argument(help="Serial port, or number and port such as 192.168.1.20:5025.")]


def _text(file: Path) -> str:
    try:
        return file.read_bytes()[:200_000].decode("utf-8-sig")
    except OSError as fault:
        raise InputFault(
            "the description cannot be read", where=str(file), got=fault.strerror or str(fault)
        ) from None
    except UnicodeDecodeError:
        raise InputFault("the description is not UTF-8 text", where=str(file)) from None


@app.command()
def example() -> None:
    """Print a description to start from."""
    from dwellwright.service.own_instruments import example_description

    typer.echo(example_description(), nl=False)


@app.command()
def add(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(help="Description (TOML).")],
    name: Annotated[str | None, typer.Option(help="Name to keep it under; the file's own otherwise.")] = None,
) -> None:
    """Check an instrument's description and keep it in the shop."""
    from dwellwright.service.own_instruments import save_line_instrument

    chosen = name or file.stem
    with shop_of(context) as shop:
        found = save_line_instrument(shop, chosen, _text(file))
    say(f"Kept {found.title} as {chosen}.")


@app.command("list")
def list_all(context: typer.Context) -> None:
    """List the instruments described in the shop."""
    from dwellwright.service.own_instruments import line_instruments

    with shop_of(context) as shop:
        found = line_instruments(shop)
    if not found:
        say("No instrument is described yet: `dwellwright instrument example` prints one to start from.")
        return
    rows = [(one.name, one.description.title if one.description else one.fault,
             ", ".join(column.channel for column in one.description.column) if one.description else "")
            for one in found]  # fmt: skip
    print_table("Instruments", ("name", "what", "reads"), rows)


@app.command()
def record(
    context: typer.Context,
    job: Annotated[int, typer.Argument(metavar="JOB", min=1, help="Number of the job.")],
    name: Name,
    address: Address,
    seconds: Annotated[float, typer.Option(min=1, max=28800, help="How long.")] = 60.0,
    as_left: Annotated[bool, typer.Option("--as-left", help="After the work; otherwise as found.")] = False,
    regime: Annotated[Place, typer.Option(help="Where gas is read.")] = Place.IDLE,
) -> None:
    """Record what an instrument says into a job; Ctrl-C ends it early."""
    from dwellwright.service.live_into_job import new_recorder, taken_in
    from dwellwright.service.own_instruments import checked_address, line_instrument

    with shop_of(context) as shop:
        found = line_instrument(shop, name)
        recorder = new_recorder(shop, job, name, found, checked_address(found, address))
        recorder.start()
        say(f"Recording {found.title}; Ctrl-C ends it early.")
        _listened(recorder, seconds)
        recorder.stop()
        seen = recorder.progress()
        added = taken_in(shop, job, recorder.path, side_of(as_left), person(context), regime.regime)
    say(f"{seen.rows} lines in {seen.seconds:.0f} s, {seen.passed} passed over, {seen.odd} odd.")
    for one in added:
        say(f"{one.record.file.name}: added to job {job}, {one.readings} readings ({one.record.side.value}).")
    if seen.fault:
        say(f"It ended early: {seen.fault}", style="yellow")


def _listened(recorder: Recorder, seconds: float) -> None:
    """Wait, telling the newest values every few seconds."""
    from dwellwright.service.live_recording import SHOWN

    until = time.monotonic() + seconds
    try:
        while (left := until - time.monotonic()) > 0 and recorder.progress().running:
            recorder.wait(min(left, 5.0))
            values = recorder.progress().values
            if left > 5.0:
                say(", ".join(f"{name.replace('_', ' ')} {value:.{SHOWN[name][2]}f} {SHOWN[name][1]}"
                              for name, value in values.items()))  # fmt: skip
    except KeyboardInterrupt:
        say("Ended.")


@app.command()
def simulate(
    port: Annotated[int, typer.Option(min=1024, max=65535, help="Port to listen on.")] = 5025,
    speed: Annotated[float, typer.Option(min=0.1, max=100, help="Times as fast as the car.")] = 1.0,
    as_left: Annotated[bool, typer.Option("--as-left", help="The car after the work.")] = False,
    seconds: Annotated[float, typer.Option(min=1, help="How long to answer.")] = 3600.0,
) -> None:
    """Be an instrument: send the invented car's recording to whoever calls, to try all this without hardware."""
    from dwellwright.service.simulated_instrument import simulated, simulated_description

    say("Describe it so (dwellwright instrument add FILE --name simulated):")
    typer.echo(simulated_description())
    try:
        with simulated("as_left" if as_left else "as_found", speed, port) as address:
            say(f"It answers at {address} (stop with Ctrl-C).")
            time.sleep(seconds)
    except KeyboardInterrupt:
        say("Stopped.")
    except OSError as fault:
        raise InputFault("the port cannot be used", got=fault.strerror or str(fault)) from None
