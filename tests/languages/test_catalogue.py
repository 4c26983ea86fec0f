"""How a text finds its sentence, and that the catalogues of the package are whole."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from collections.abc import Iterator
from importlib.resources import files

import pytest
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po
from hypothesis import given
from hypothesis import strategies as st

from dwellwright.languages.catalogue import Catalogue, catalogue
from dwellwright.languages.language import HOME, LANGUAGES
from dwellwright.languages.sentence import SLOT, filled, numbered

OTHERS = sorted(set(LANGUAGES) - {HOME})
BOOK = Catalogue({
    "{0} of {1} turns": "de {1} vueltas, {0}", "clean it": "límpielo", "Idle": "Ralentí", "lean stop": "tope de pobre",
    "Chance of {what}": "Probabilidad de {what}", "{own} was here": "aquí estuvo {own}", "at {0} rpm the {what} rises":
    "a {0} rpm sube {what}",
})  # fmt: skip


@pytest.mark.parametrize(
    ("english", "spanish"),
    [
        ("2.5 of 3 turns", "de 3 vueltas, 2.5"),
        ("  Idle: ", "  Ralentí: "),
        ("idle", "ralentí"),
        ("Clean it. Idle", "Límpielo. Ralentí"),
        ("(lean stop)", "(tope de pobre)"),
        ("lean stop, idle", "tope de pobre, ralentí"),
        ("Chance of lean stop", "Probabilidad de tope de pobre"),
        ("Idle was here", "aquí estuvo Idle"),
        ("at -3 rpm the lean stop rises", "a -3 rpm sube tope de pobre"),
        ("28.8°", "28.8°"),
        ("log.csv", "log.csv"),
    ],
)
def test_a_text_is_found(english: str, spanish: str) -> None:
    assert BOOK.translated(english) == spanish


def test_what_is_not_listed_stays_and_is_told() -> None:
    book = Catalogue({"Idle": "Ralentí"})
    book.unlisted = set()
    assert book.translated("Idle. Never seen: 3 of them!") == "Ralentí. Never seen: 3 of them!"
    assert book.unlisted == {"Never seen", "3 of them"}
    assert book.translated("Chance of something") == "Chance of something"


@given(st.text(max_size=200))
def test_any_text_passes(text: str) -> None:
    assert isinstance(BOOK.translated(text), str)
    key, numbers = numbered(text)
    if "{" not in text:
        assert filled(key, {str(place): one for place, one in enumerate(numbers)}) == text


def _messages(language: str) -> Catalog:
    with files("dwellwright.languages").joinpath("data", f"{language}.po").open("rb") as file:
        return read_po(file, abort_invalid=True)


@pytest.mark.parametrize("language", OTHERS)
def test_every_entry_is_translated_and_keeps_its_slots(language: str) -> None:
    """The file itself is read by Babel, the reference for gettext's format."""
    for one in _messages(language):
        if not one.id:
            continue
        assert one.string, one.id
        assert not one.fuzzy, one.id
        assert sorted(set(SLOT.findall(str(one.id)))) == sorted(set(SLOT.findall(str(one.string)))), one.id
        assert re.findall(r"`[^`]*`", str(one.id)) == re.findall(r"`[^`]*`", str(one.string)), one.id


@pytest.mark.parametrize("language", OTHERS)
def test_catalogue_is_not_the_english_one(language: str) -> None:
    book = catalogue(language)
    sentences = [one for one in book.exact if len(re.findall(r"[a-z]{3,}", SLOT.sub("", one))) >= 4]
    same = [one for one in sentences if book.exact[one] == one]
    assert len(sentences) > 500
    assert same == []


@pytest.mark.parametrize("language", OTHERS)
def test_no_entry_is_a_list_of_phrases(language: str) -> None:
    """A list is looked up part by part; as one entry it is tried at every place of a text for every part of it."""
    named = [
        one for one in catalogue(language).exact if any(not name.isdigit() for name in SLOT.findall(one))
    ]
    assert [one for one in named if max(Counter(_between(one)).values(), default=0) > 2] == []


def _between(sentence: str) -> list[str]:
    return [part for part in SLOT.split(sentence)[::2] if part.strip()]


def test_a_list_is_translated_part_by_part() -> None:
    said = catalogue("es").translated("repeats 1.3 thou, calibration 0.96 thou, resolution 0.16 thou")
    assert said == "repeticiones 1.3 mil., calibración 0.96 mil., resolución 0.16 mil."


SHOWN = {"title", "titles", "positive", "negative", "remedy", "parts", "hazard", "result", "larger", "read", "steps",
         "label", "ask", "why", "caution", "cautions", "text", "how", "do", "watch", "note"}  # fmt: skip
"""Entries of the data files whose words a person reads."""


def words_of(tree: object, key: str = "") -> Iterator[str]:
    if isinstance(tree, dict):
        for name, entry in tree.items():
            yield from words_of(entry, name)
    elif isinstance(tree, list):
        for entry in tree:
            yield from words_of(entry, key)
    elif isinstance(tree, str) and key in SHOWN:
        yield tree


@pytest.mark.parametrize("code", OTHERS)
def test_every_word_of_the_data_files_that_people_read_is_listed(code: str) -> None:
    folder, book = files("dwellwright.catalogue").joinpath("data"), catalogue(code)
    tables = [one for place in (folder, folder.joinpath("steps")) for one in place.iterdir()
              if one.name.endswith(".toml")]  # fmt: skip
    words = {word for one in tables for word in words_of(tomllib.loads(one.read_text(encoding="utf-8")))}
    assert len(words) > 200
    book.unlisted = set()
    try:
        for word in words:
            book.translated(word)
        assert book.unlisted == set()
    finally:
        book.unlisted = None
