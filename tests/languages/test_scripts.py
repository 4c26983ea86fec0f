"""What the scripts say is found, also where it holds values."""

from __future__ import annotations

from dwellwright.languages.language import speaking
from dwellwright.languages.scripts import script_sentences, script_words


def test_values_become_slots() -> None:
    script = "a = say`${n.map((x) => ({ x }))} of ${m}`; b(say`Stop.`); say `not this`; saying`nor this`"
    assert script_sentences(script) == ("{0} of {1}", "Stop.")


def test_words_are_those_of_the_language() -> None:
    assert script_words("say`Hold`") == {}
    with speaking("es"):
        assert script_words("say`Hold`; say`never listed anywhere`") == {"Hold": "Retener"}
