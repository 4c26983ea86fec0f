"""The address under which another device of the shop opens a job, and its QR code."""

from __future__ import annotations

import socket
from ipaddress import ip_address
from urllib.parse import urlsplit

from dwellwright.errors import InputFault
from dwellwright.reports.code import qr_svg

LONGEST = 300


def is_loopback(host: str) -> bool:
    """Whether a name or number means the machine that asks, so that no other device gets anywhere with it.

    >>> is_loopback("127.0.0.1"), is_loopback("localhost"), is_loopback("192.168.1.5")
    (True, True, False)
    """
    try:
        return ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host == "localhost" or host.endswith(".localhost")


def own_number() -> str:
    """This machine's number on the network it is in; empty where it is in none. Nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as line:
        try:
            line.connect(("192.0.2.1", 9))
        except OSError:
            return ""
        number = str(line.getsockname()[0])
    return "" if is_loopback(number) or number == "0.0.0.0" else number  # noqa: S104


def job_link(number: int, base: str) -> str:
    """Address of a job for another device; empty where this machine is in no network.

    Args:
        number: of the job.
        base: address the workbench was opened under.
    """
    parts = urlsplit(base)
    host = parts.hostname or ""
    if is_loopback(host):
        host = own_number()
    if not host:
        return ""
    shown = f"[{host}]" if ":" in host else host
    return f"{parts.scheme}://{shown}{f':{parts.port}' if parts.port else ''}/jobs/{number}"


def checked_link(text: str) -> str:
    """A link as typed, for the code; empty for none.

    Raises:
        InputFault: no address of a page, or too long.
    """
    link = text.strip()
    if not link:
        return ""
    try:
        parts = urlsplit(link)
    except ValueError:
        parts = urlsplit("")
    if parts.scheme not in ("http", "https") or not parts.netloc or len(link) > LONGEST or " " in link:
        raise InputFault("this is no address of a page", where="link", got=repr(link[:80]),
                         wanted=f"one that begins with http://, at most {LONGEST} characters")  # fmt: skip
    return link


def link_code(link: str) -> bytes:
    """The QR code of a link, as SVG."""
    return qr_svg(link)
