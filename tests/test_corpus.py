"""Every file of the corpus, whole or broken, is read or refused in one plain line."""

from __future__ import annotations

import random
from importlib.util import find_spec
from pathlib import Path

import pytest
from tools.fuzz import CORPUS, READERS, finding, mutated, seeds

NEEDS = {"mdf": "asammdf"}
"""Readers that need a library which is not made for every Python."""
FILES = [(reader, path) for reader in READERS for path in seeds(reader)]
WHOLE = [
    (reader, path) for reader, path in FILES
    if not path.stem.startswith("broken") and find_spec(NEEDS.get(reader, "sys"))
]  # fmt: skip
MUTANTS = 3
"""Broken copies of each file tried here; `tools/fuzz.py` tries millions."""


@pytest.mark.parametrize(("reader", "path"), FILES, ids=[f"{one}-{path.name}" for one, path in FILES])
def test_a_file_of_the_corpus_is_met_as_it_should_be(reader: str, path: Path) -> None:
    assert finding(reader, path) == ""


@pytest.mark.parametrize(("reader", "path"), WHOLE, ids=[f"{one}-{path.name}" for one, path in WHOLE])
def test_a_whole_file_is_read_and_not_refused(reader: str, path: Path) -> None:
    READERS[reader](path)


@pytest.mark.parametrize(("reader", "path"), WHOLE, ids=[f"{one}-{path.name}" for one, path in WHOLE])
def test_a_broken_copy_is_read_or_refused(reader: str, path: Path, tmp_path: Path) -> None:
    dice, content = random.Random(7), path.read_bytes()
    for _ in range(MUTANTS):
        case = tmp_path / f"case{path.suffix}"
        case.write_bytes(mutated(content, [content], dice))
        assert finding(reader, case) == ""


def test_the_corpus_is_small_and_has_every_reader() -> None:
    assert {path.name for path in CORPUS.iterdir()} == set(READERS)
    assert sum(path.stat().st_size for _, path in FILES) < 300_000


def test_what_is_not_a_refusal_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def falls(path: Path) -> None:
        raise KeyError(path.name)

    monkeypatch.setitem(READERS, "gas", falls)
    assert finding("gas", tmp_path / "x.csv").startswith("KeyError")
