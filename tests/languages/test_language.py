"""Which language is spoken: nested, by thread, by header, and settled for a whole process."""

from __future__ import annotations

import threading

import pytest
from babel import negotiate_locale

from dwellwright.errors import InputFault
from dwellwright.languages.language import HOME, LANGUAGES, preferred, settle, speaking, spoken


def test_a_block_speaks_its_language_and_then_the_one_before() -> None:
    with speaking("es"):
        assert spoken() == "es"
        with speaking("en"):
            assert spoken() == "en"
        assert spoken() == "es"
    assert spoken() == HOME


def test_one_thread_does_not_speak_for_another() -> None:
    heard: list[str] = []
    with speaking("es"):
        other = threading.Thread(target=lambda: heard.append(spoken()))
        other.start()
        other.join()
    assert heard == [HOME]


@pytest.mark.parametrize("name", ["", "xx", "es-MX", "../es"])
def test_an_unknown_language_is_the_settled_one(name: str) -> None:
    with speaking(name):
        assert spoken() == HOME


def test_settling_refuses_what_is_not_known() -> None:
    with pytest.raises(
        InputFault, match=r"not known; wanted en \(English\), es \(Español\); got klingonisch"
    ):
        settle("klingonisch")
    assert spoken() == HOME


@pytest.mark.parametrize(
    "header",
    [
        "es",
        "es-MX,es;q=0.9,en;q=0.8",
        "en-US,en;q=0.9",
        "de-DE,de;q=0.9,es;q=0.5",
        "fr-CH, fr;q=0.9, en;q=0.8, *;q=0.5",
    ],
)
def test_the_preferred_language_is_the_one_babel_negotiates(header: str) -> None:
    """Babel's negotiate_locale on the header's languages by weight (RFC 9110, 12.5.4) is the reference."""
    wishes = [part.strip().split(";q=") for part in header.split(",")]
    ordered = [one[0] for one in sorted(wishes, key=lambda one: -float(one[1] if len(one) > 1 else 1))]
    assert preferred(header) == (negotiate_locale(ordered, list(LANGUAGES), sep="-") or "")


@pytest.mark.parametrize("header", ["", ";;;", "es;q=nix", "es;q=0", "q=1" * 10_000, "\x00", ",,,"])
def test_a_header_that_means_nothing_asks_for_nothing(header: str) -> None:
    assert preferred(header) == ""
