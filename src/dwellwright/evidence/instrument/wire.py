"""Opening the line to an instrument and reading its text, whatever it is made of."""

from __future__ import annotations

import re
import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from ipaddress import ip_address
from typing import Any, Protocol

from dwellwright.errors import InputFault
from dwellwright.evidence.instrument.description import Connection, Wire
from dwellwright.evidence.instrument.lines import LONGEST_LINE

PATIENCE = 0.25
"""Longest wait for bytes before somebody may say stop. [s]"""

ANSWER = 5.0
"""Longest wait for a network instrument to take the call. [s]"""

_PORT = re.compile(r"/dev/(tty|cu\.|pts/|serial/)[A-Za-z0-9._:/-]*|COM\d{1,3}", re.IGNORECASE)


class Bytes(Protocol):
    """Whatever bytes come from."""

    def receive(self) -> bytes:
        """Bytes that have come, none where the wait was too long.

        Raises:
            InputFault: the line broke.
        """

    def send(self, data: bytes) -> None:
        """Ask for something.

        Raises:
            InputFault: the line broke.
        """

    def close(self) -> None:
        """Let go of the line."""


class _Serial:
    def __init__(self, port: Any) -> None:
        self._port = port

    def receive(self) -> bytes:
        try:
            return bytes(self._port.read(max(1, self._port.in_waiting)))
        except OSError as fault:
            raise InputFault("the instrument's line broke", got=str(fault)) from None

    def send(self, data: bytes) -> None:
        try:
            self._port.write(data)
        except OSError as fault:
            raise InputFault("the instrument's line broke", got=str(fault)) from None

    def close(self) -> None:
        self._port.close()


class _Network:
    def __init__(self, line: socket.socket) -> None:
        self._line = line

    def receive(self) -> bytes:
        try:
            data = self._line.recv(1 << 16)
        except TimeoutError:
            return b""
        except OSError as fault:
            raise InputFault("the instrument's line broke", got=str(fault)) from None
        if not data:
            raise InputFault("the instrument hung up", remedy="Switch it on and begin anew")
        return data

    def send(self, data: bytes) -> None:
        try:
            self._line.sendall(data)
        except OSError as fault:
            raise InputFault("the instrument's line broke", got=str(fault)) from None

    def close(self) -> None:
        self._line.close()


def known_address(kind: Wire, address: str) -> str:
    """An address that an instrument can have: a serial port, or number and port of a machine of this network.

    Raises:
        InputFault: anything else; a file, a name of the wide network, a number outside this one.

    >>> known_address(Wire.NETWORK, "192.168.1.20:5025")
    '192.168.1.20:5025'
    """
    plain = address.strip()
    if kind is Wire.SERIAL:
        if _PORT.fullmatch(plain) and ".." not in plain:
            return plain
        raise InputFault(
            "this is no serial port", got=repr(plain[:80]), wanted="a port such as /dev/ttyUSB0 or COM3"
        )
    host, _, port = plain.rpartition(":")
    number = int(port) if port.isascii() and port.isdigit() and len(port) < 6 else 0
    bare = host.strip("[]")
    try:
        own = bare == "localhost" or ip_address(bare).is_private
    except ValueError:
        own = False
    if not own or not 0 < number < 65536:
        raise InputFault("this is no address of an instrument on this network", got=repr(plain[:80]),
                         wanted="number and port, such as 192.168.1.20:5025")  # fmt: skip
    return plain


def _serial(connection: Connection, address: str) -> Bytes:
    try:
        serial = import_module("serial")
    except ModuleNotFoundError:
        raise InputFault("serial instruments need the package pyserial", remedy="Install it beside this program: "
                         "pip install pyserial") from None  # fmt: skip
    try:
        port = serial.Serial(address, connection.baud, bytesize=connection.bits, parity=connection.parity[0].upper(),
                             stopbits=connection.stop_bits, timeout=PATIENCE, write_timeout=ANSWER)  # fmt: skip
    except (OSError, ValueError) as fault:
        raise InputFault("the serial port cannot be opened", where=address, got=str(fault),
                         remedy="Check the cable, and that nothing else uses the port") from None  # fmt: skip
    return _Serial(port)


def _network(address: str) -> Bytes:
    host, _, port = address.rpartition(":")
    try:
        line = socket.create_connection((host.strip("[]"), int(port)), timeout=ANSWER)
    except OSError as fault:
        raise InputFault("the instrument does not answer", where=address, got=fault.strerror or str(fault),
                         remedy="Check that it is on and on this network") from None  # fmt: skip
    line.settimeout(PATIENCE)
    return _Network(line)


@contextmanager
def opened(connection: Connection, address: str) -> Iterator[Bytes]:
    """The line to an instrument, closed at the end.

    Raises:
        InputFault: it cannot be opened.
    """
    place = known_address(connection.kind, address)
    line = _serial(connection, place) if connection.kind is Wire.SERIAL else _network(place)
    try:
        yield line
    finally:
        line.close()


def text_lines(line: Bytes, connection: Connection) -> Iterator[str | None]:
    """Whole lines as they come; None whenever the wait was long enough to look whether to stop.

    Raises:
        InputFault: the line broke, or no line ends.
    """
    waiting, asked = b"", 0.0
    question = connection.ask.encode()
    while True:
        if question and time.monotonic() - asked >= connection.ask_every:
            line.send(question)
            asked = time.monotonic()
        data = line.receive()
        if not data:
            yield None
            continue
        waiting += data
        *whole, waiting = re.split(rb"\r\n|\n|\r", waiting) if b"\n" not in waiting else waiting.split(b"\n")
        for one in whole:
            yield one.decode("utf-8", "replace")
        if len(waiting) > LONGEST_LINE:
            raise InputFault("the instrument sends no line ends", wanted=f"one within {LONGEST_LINE} bytes",
                             remedy="Check speed, bits and parity")  # fmt: skip
