"""A page keeps its elements, what was typed and its code; HTMLParser of the standard library is the reference."""

from __future__ import annotations

from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dwellwright.languages.markup import translated_page, translated_text

PAGE = """<!doctype html><html lang="en"><head><title>Jobs &amp; more</title><script>if (a < b) say("Idle")</script>
<style>p::before { content: "Idle" }</style></head><body><!-- Idle <p> --><p title="Idle">Idle <b>at 3 &lt; 4</b></p>
<p translate="no" title="typed">typed <p>inner</p> typed</p><textarea>typed</textarea><input value="typed"
 placeholder="Idle">
<select><option translate="no">typed</option><option>Idle</option></select><code>typed</code><img alt="Idle" src="a>b">
<svg viewBox="0 0 1 1"><path d="M0 0"/><text>Idle</text></svg></body></html>"""


class Parsed(HTMLParser):
    """Tags with the attributes that are not spoken, and texts, in their order."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[object] = []
        self.texts: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, [one for one in attrs if one[0] not in ("title", "alt", "placeholder")]))

    def handle_endtag(self, tag: str) -> None:
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        if data.strip():
            self.texts.append(data.strip())


def test_elements_stay_and_texts_are_said() -> None:
    said = translated_page(PAGE, lambda text: text.replace("Idle", "Ralentí <&>"))
    before, after = Parsed(PAGE), Parsed(said)
    assert before.tags == after.tags
    changed = [(a, b) for a, b in zip(before.texts, after.texts, strict=True) if a != b]
    assert changed == [("Idle", "Ralentí <&>")] * 3
    assert said.count('"Ralentí &lt;&amp;&gt;"') == 3


def test_what_was_typed_is_never_said() -> None:
    heard: list[str] = []
    translated_page(PAGE, lambda text: heard.append(text) or text)  # type: ignore[func-returns-value]
    assert not any("typed" in one or "inner" in one for one in heard)
    assert "Jobs & more" in heard


def test_a_page_that_says_the_same_is_the_same() -> None:
    assert translated_page(PAGE, str) == PAGE


@pytest.mark.parametrize(
    "broken", ["<", "<p", "</", "<p title='a>b", "<!--", "<b>x</p></b>", '<p translate="no">x']
)
def test_broken_markup_passes(broken: str) -> None:
    assert isinstance(translated_page(broken, str), str)


@given(st.text(max_size=100))
def test_a_text_cannot_become_markup(text: str) -> None:
    assert "<" not in translated_text("Idle", lambda _: text)
