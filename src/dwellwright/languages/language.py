"""Which language is spoken now: per request, per command, per thread of either."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar

from dwellwright.errors import InputFault

HOME = "en"
"""The language the sentences are written in."""

LANGUAGES: Mapping[str, str] = {HOME: "English", "es": "Español"}
"""Languages by their code (ISO 639-1), in their own words."""

_SPOKEN: ContextVar[str | None] = ContextVar("language", default=None)
_settled = HOME


def settle(language: str) -> None:
    """Speak a language wherever none was asked for, in all of this process.

    Raises:
        InputFault: a language that is not known.
    """
    global _settled
    if language not in LANGUAGES:
        known = ", ".join(f"{code} ({name})" for code, name in LANGUAGES.items())
        raise InputFault("this language is not known", wanted=known, got=language)
    _settled = language


def spoken() -> str:
    """Code of the language spoken now."""
    return _SPOKEN.get() or _settled


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Speak a language inside the block; where it is not known or empty, the one settled on."""
    before = _SPOKEN.set(language if language in LANGUAGES else None)
    try:
        yield
    finally:
        _SPOKEN.reset(before)


def preferred(accepted: str) -> str:
    """The first known language of an Accept-Language header (RFC 9110, 12.5.4), the weightiest first; else empty.

    >>> preferred("es-MX,es;q=0.9,en;q=0.8"), preferred("fr, en;q=0.5, es;q=0.7"), preferred("")
    ('es', 'es', '')
    """
    wishes: list[tuple[float, str]] = []
    for wish in accepted[:1000].split(","):
        name, _, weight = wish.partition(";q=")
        try:
            wishes.append((float(weight or 1), name.strip().lower().partition("-")[0]))
        except ValueError:
            continue
    wanted = [name for weight, name in sorted(wishes, key=lambda one: -one[0]) if weight > 0]
    return next((name for name in wanted if name in LANGUAGES), "")
