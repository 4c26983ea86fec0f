"""Which language a page is asked for in: chosen on this device, else what the browser prefers."""

from __future__ import annotations

from starlette.datastructures import Headers
from starlette.requests import cookie_parser
from starlette.types import ASGIApp, Receive, Scope, Send

from dwellwright.languages.language import LANGUAGES, preferred, speaking


def language_of(headers: Headers) -> str:
    """Code of the language a request asks for; empty where it asks for none that is known."""
    chosen = cookie_parser(headers.get("cookie", "")).get("language", "")
    return chosen if chosen in LANGUAGES else preferred(headers.get("accept-language", ""))


class Speaking:
    """Speaks the language that a request asks for while it is answered."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        with speaking(language_of(Headers(scope=scope))):
            await self.app(scope, receive, send)
