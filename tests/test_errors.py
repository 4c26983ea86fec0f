"""The words of an `InputFault`: what, where, wanted, got, remedy, each only if given."""

from __future__ import annotations

import pickle

import pytest

from dwellwright.errors import InputFault


def raised(**parts: str) -> InputFault:
    with pytest.raises(InputFault, match="the reading is not a number") as caught:
        raise InputFault("the reading is not a number", **parts)
    return caught.value


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ({}, "the reading is not a number"),
        ({"where": "gas.csv, row 2"}, "the reading is not a number (gas.csv, row 2)"),
        ({"wanted": "a number in %"}, "the reading is not a number; wanted a number in %"),
        ({"got": "abc"}, "the reading is not a number; got abc"),
        ({"remedy": "Type it again."}, "the reading is not a number. Type it again."),
        (
            {"where": "row 2", "wanted": "a number", "got": "abc", "remedy": "Type it again."},
            "the reading is not a number (row 2); wanted a number; got abc. Type it again.",
        ),
    ],
)
def test_the_message_holds_what_was_given_and_nothing_else(parts: dict[str, str], words: str) -> None:
    fault = raised(**parts)
    assert str(fault) == words
    assert fault.message == words


def test_the_parts_stay_readable_for_the_pages() -> None:
    fault = raised(where="row 2", wanted="a number", got="abc", remedy="Type it again.")
    assert (fault.what, fault.where, fault.wanted) == ("the reading is not a number", "row 2", "a number")
    assert (fault.got, fault.remedy) == ("abc", "Type it again.")


def test_it_is_a_value_error() -> None:
    assert isinstance(raised(), ValueError)


def test_it_survives_a_trip_between_processes() -> None:
    fault = raised(where="row 2", got="abc")
    copy = pickle.loads(pickle.dumps(fault))
    assert (str(copy), copy.where, copy.got) == (str(fault), "row 2", "abc")


@pytest.mark.parametrize("got", ["a\nb", "a\r\nb", " a\t\u2028 b\n"])
def test_what_was_found_is_folded_to_one_line(got: str) -> None:
    assert str(raised(got=got)) == "the reading is not a number; got a b"


def test_what_was_found_is_cut_only_when_too_long() -> None:
    assert raised(got="x" * 200).got == "x" * 200
    assert raised(got="x" * 201).got == "x" * 199 + "…"
    assert raised(got="x" + " " * 10**6 + "y").got == "x…"


@pytest.mark.parametrize("part", ["where", "wanted", "remedy"])
def test_no_part_makes_a_message_long_or_more_than_a_line(part: str) -> None:
    text = raised(**{part: "a\n" + "x" * 10**6}).message
    assert len(text) < 800
    assert "\n" not in text


def test_a_message_that_is_long_in_every_part_is_bounded() -> None:
    parts = dict.fromkeys(("what", "where", "wanted", "got", "remedy"), "word " * 10**5)
    assert len(InputFault(parts.pop("what"), **parts).message) < 3100


def test_what_cannot_be_printed_is_shown_as_a_question_mark() -> None:
    assert raised(got="a\x1b[2Jb\ufeff\x7f").got == "a?[2Jb??"
