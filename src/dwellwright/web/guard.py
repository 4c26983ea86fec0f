"""What every request passes before a page sees it: which host was asked, whose form it is, how large it is."""

from __future__ import annotations

import socket
from ipaddress import ip_address
from urllib.parse import urlsplit

from fastapi import Request
from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from dwellwright.errors import InputFault
from dwellwright.web.rendering import POLICY, fault_page

LARGEST_BODY = 1_000_000_000
"""Bytes of one post: several recordings at once. A single recording has its own, smaller limit."""

HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), camera=(self), microphone=(self)",
}
"""Nothing is loaded from elsewhere, and no page can be put into a frame of another."""


class Guard:
    """Refuses what does not come from this workbench, before anything is read, and sets the headers of every answer."""

    def __init__(self, app: ASGIApp, largest: int = LARGEST_BODY) -> None:
        self.app, self.largest = app, largest

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        fault, status = self._fault(scope["method"], Headers(scope=scope))
        if fault is None:
            await self.app(scope, receive, sent)
            return
        await _drained(receive)
        await fault_page(Request(scope), fault, status=status)(scope, receive, sent)

    def _fault(self, method: str, headers: Headers) -> tuple[InputFault | None, int]:
        if not is_own_name(headers.get("host", "")):
            return InputFault("this is not an address of this machine", got=repr(headers.get("host", "")),
                              remedy="Open the page by the machine's number, or as localhost"), 403  # fmt: skip
        if method in ("GET", "HEAD", "OPTIONS"):
            return None, 200
        if not is_from_here(headers):
            return InputFault("this form was sent from another site", wanted="a form of this workbench",
                              got=headers.get("origin", "another site"),
                              remedy="Open the page here and try again"), 403  # fmt: skip
        size = headers.get("content-length", "0")
        if size.isdigit() and int(size) > self.largest:
            return too_large("what was sent", int(size), self.largest), 413
        return None, 200


def too_large(what: str, size: int, most: int) -> InputFault:
    """The fault of something that is larger than it may be. [bytes]"""
    return InputFault("the file is too large", where=what, wanted=f"at most {most / 1e6:.0f} MB",
                      got=f"{size / 1e6:.1f} MB",
                      remedy="Send a shorter recording, or fewer files at once")  # fmt: skip


def is_own_name(host: str) -> bool:
    """Whether a Host header names this machine: a number, localhost, or its own name.

    A name that some other server's address book made up to point here is refused, so that a page elsewhere cannot
    read this one through it.

    >>> is_own_name("127.0.0.1:8321"), is_own_name("localhost"), is_own_name("elsewhere.example")
    (True, True, False)
    """
    try:
        name = urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return False
    own = socket.gethostname().lower()
    if name in {"localhost", own, f"{own.split('.')[0]}.local"} or name.endswith(".localhost"):
        return True
    try:
        ip_address(name.split("%")[0])
    except ValueError:
        return False
    return True


def is_from_here(headers: Headers) -> bool:
    """Whether a post comes from a page of this workbench, or from a program that is no browser."""
    origin = headers.get("origin") or headers.get("referer")
    if origin:
        return urlsplit(origin).netloc == headers.get("host", "")
    return headers.get("sec-fetch-site", "same-origin") in ("same-origin", "none")


async def _drained(receive: Receive) -> None:
    """Read what is still being sent and throw it away: a browser shows an answer only once it has sent everything."""
    while True:
        message = await receive()
        if message["type"] == "http.disconnect" or not message.get("more_body", False):
            return
