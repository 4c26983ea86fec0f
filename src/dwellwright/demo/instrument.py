"""An instrument that is not there: the invented car's recording, sent line by line over this machine's own network."""

from __future__ import annotations

import csv
import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from importlib.resources import files
from threading import Event, Thread

DESCRIPTION = """\
format = 1
title = "simulated logger (invented)"
connection = { kind = "network" }
line = { begins = "D;", separator = ";" }
column = [
  { place = 1, channel = "time", unit = "s" },
  { place = 2, channel = "engine_speed", unit = "rpm" },
  { place = 3, channel = "manifold_pressure", unit = "kPa" },
  { place = 4, channel = "throttle_voltage", unit = "V" },
  { place = 5, channel = "coolant_temperature", unit = "degC" },
  { place = 6, channel = "sensor_voltage", unit = "mV" },
  { place = 7, channel = "duty", unit = "deg" },
  { place = 8, channel = "road_speed", unit = "km/h" },
]
"""
"""What the lines of the simulated logger mean."""


def simulated_lines(side: str = "as_found", start: float = 180.0) -> list[tuple[float, str]]:
    """Time and text of every line, from a moment of the drive on. [s]"""
    text = files("dwellwright.demo").joinpath("data", side, "log.csv").read_text(encoding="utf-8")
    rows = [row for row in csv.reader(text.splitlines()[1:]) if float(row[0]) >= start]
    return [(float(row[0]) - start, "D;" + ";".join(row) + "\r\n") for row in rows]


@contextmanager
def simulated_instrument(lines: list[tuple[float, str]], speed: float = 1.0, port: int = 0) -> Iterator[str]:
    """Address of an instrument that sends those lines to whoever calls, after a heading, so many times as fast."""
    listener = socket.create_server(("127.0.0.1", port))
    ended = Event()
    Thread(target=_answered, args=(listener, lines, speed, ended), daemon=True).start()
    try:
        yield f"127.0.0.1:{listener.getsockname()[1]}"
    finally:
        ended.set()
        with suppress(OSError):
            listener.shutdown(socket.SHUT_RDWR)
        listener.close()


def _answered(listener: socket.socket, lines: list[tuple[float, str]], speed: float, ended: Event) -> None:
    while not ended.is_set():
        with suppress(OSError), listener.accept()[0] as caller:
            _spoken(caller, lines, speed, ended)


def _spoken(caller: socket.socket, lines: list[tuple[float, str]], speed: float, ended: Event) -> None:
    caller.sendall(b"# simulated logger, invented\r\n")
    begun = time.monotonic()
    for at, text in lines:
        wait = at / speed - (time.monotonic() - begun)
        if (wait > 0 and ended.wait(wait)) or ended.is_set():
            return
        caller.sendall(text.encode())
