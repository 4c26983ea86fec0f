"""Pages in the units that a device chose: the numbers between the tags are converted as an answer passes."""

from __future__ import annotations

import re

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from dwellwright.web.unit_choice import UnitChoice, unit_choice

_TAG = re.compile(r"(<[^>]*>)")
_NAME = re.compile(r"</?\s*([a-z0-9]+)", re.IGNORECASE)
LEFT = frozenset({"script", "style", "textarea", "select", "svg", "q", "title", "head"})
"""Elements whose words stay as written; so does every marked element."""

MARKS = ('translate="no"', "data-as-written")
"""Marks of what stays as written: in every language, or in every unit only."""

VOID = frozenset({"img", "input", "br", "hr", "meta", "link"})


def converted(page: str, choice: UnitChoice) -> str:
    """A page with its numbers in the chosen units."""
    out: list[str] = []
    inside, depth = "", 0
    for part in _TAG.split(page):
        if not part.startswith("<"):
            out.append(part if inside else choice.applied(part))
            continue
        out.append(part)
        found = _NAME.match(part)
        name = found[1].lower() if found else ""
        if not inside:
            if (
                not part.startswith("</")
                and name not in VOID
                and (name in LEFT or any(mark in part for mark in MARKS))
            ):
                inside, depth = name, 1
        elif name == inside:
            depth += -1 if part.startswith("</") else 1
            inside = inside if depth else ""
    return "".join(out)


class UnitLayer:
    """Rewrites HTML on its way out where the device chose units; anything else passes untouched."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        chosen = unit_choice("")
        if scope["type"] == "http":
            chosen = unit_choice(cookie_parser(Headers(scope=scope).get("cookie", "")).get("units", ""))
        await self.app(scope, receive, self._rewriting(send, chosen) if chosen.chosen else send)

    def _rewriting(self, send: Send, choice: UnitChoice) -> Send:
        start: list[Message] = []
        parts: list[bytes] = []

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start":
                if Headers(raw=message["headers"]).get("content-type", "").startswith("text/html"):
                    start.append(message)
                else:
                    await send(message)
                return
            if not start:
                await send(message)
                return
            parts.append(message.get("body", b""))
            if message.get("more_body", False):
                return
            body = converted(b"".join(parts).decode(), choice).encode()
            headers = MutableHeaders(raw=start[0]["headers"])
            headers["content-length"] = str(len(body))
            await send({**start[0], "headers": headers.raw})
            await send({"type": "http.response.body", "body": body})

        return sent
