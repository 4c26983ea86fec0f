"""Pages that were rendered already: as long as nothing in the records changed, the same page is the same answer."""

from __future__ import annotations

import re
from asyncio import Event
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass

from starlette.datastructures import Headers
from starlette.requests import cookie_parser
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from dwellwright.languages.language import spoken

MOST, LARGEST = 96, 1_500_000
"""Pages kept, and bytes of the largest that is."""

KEPT = re.compile(
    r"/|/jobs/\d+/(arrival|evidence|causes|bench|car|proof|handover|photographs|costs|case(\.html)?|measuring(/\w+(\.svg|/figures))?|gauges|responses|gas"
    r"|columns|(trace|sound|bench-sheet)/\d+(/pictures)?)"
    r"|/sheets(/[\w.-]+)?|/what-if(/shown)?"
)
"""Addresses of pages that depend on the records, the query, the look, the language and the host's name, and on
nothing else: not on the day."""


@dataclass(frozen=True)
class _Page:
    headers: list[tuple[bytes, bytes]]
    body: bytes


class KeptPages:
    """Answers a page that was asked for before from memory; who asks while it is being rendered waits for it.

    Args:
        app: that answers otherwise.
        revision: moves with every change of the records; quick, since every page asks it.
    """

    def __init__(self, app: ASGIApp, revision: Callable[[], Hashable]) -> None:
        self.app, self.revision = app, revision
        self._pages: OrderedDict[Hashable, _Page] = OrderedDict()
        self._coming: dict[Hashable, Event] = {}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http" or scope["method"] != "GET" or not KEPT.fullmatch(scope["path"]):
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        cookies = cookie_parser(headers.get("cookie", ""))
        look = (
            cookies.get("sight", ""),
            cookies.get("units", ""),
            cookies.get("who", ""),
            headers.get("host", ""),
            spoken(),
        )
        key = (scope["path"], scope["query_string"], look, self.revision())
        if key in self._coming:
            await self._coming[key].wait()
        if kept := self._pages.get(key):
            self._pages.move_to_end(key)
            await send({"type": "http.response.start", "status": 200, "headers": list(kept.headers)})
            await send({"type": "http.response.body", "body": kept.body})
            return
        coming = self._coming.setdefault(key, Event())
        try:
            await self.app(scope, receive, self._watched(key, send))
        finally:
            self._coming.pop(key, None)
            coming.set()

    def _watched(self, key: Hashable, send: Send) -> Send:
        """The same `send`, keeping a whole page as it passes."""
        start: list[Message] = []
        parts: list[bytes] = []

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start":
                start.append(message)
            elif start and start[0]["status"] == 200:
                parts.append(message.get("body", b""))
                if not message.get("more_body", False) and sum(map(len, parts)) <= LARGEST:
                    self._pages[key] = _Page(list(start[0]["headers"]), b"".join(parts))
                    while len(self._pages) > MOST:
                        self._pages.popitem(last=False)
            await send(message)

        return sent
