"""Sentences that a catalogue lacks: `python tools/sentences.py es [tests/web ...]` prints them as entries to fill in.

Runs tests with every page, paper and plot also looked up in the catalogue, so that what only shows on rare occasions
is found too (with it, some of what the tests type); then the texts of the data files and scripts.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
SOURCE = ROOT / "src" / "dwellwright"
FOLDERS = ("tests/web", "tests/reports", "tests/service")
TOLD = frozenset({"title", "name", "meaning", "remedy", "why", "how", "words", "label", "note", "text", "gauge",
                  "hazard", "needs", "does", "sentence", "says", "caution"})  # fmt: skip
"""Keys of the data files whose texts people read."""


def listen(language: str) -> set[str]:
    """From now on, look up whatever leaves the program but say it in English; returns the growing set of misses."""
    from dwellwright.languages import catalogue
    from dwellwright.languages.language import settle

    class Listener(catalogue.Catalogue):
        def translated(self, text: str) -> str:
            super().translated(text)
            return text

    listener = Listener(catalogue.catalogue(language).exact)
    listener.unlisted = set()
    catalogue.catalogue = lambda _: listener  # type: ignore[assignment]
    settle(language)
    return listener.unlisted


def data_texts() -> Iterator[str]:
    """Texts of the data files."""

    def told(value: Any, key: str = "") -> Iterator[str]:
        if isinstance(value, str) and key in TOLD:
            yield value
        elif isinstance(value, dict):
            for name, part in value.items():
                yield from told(part, name)
        elif isinstance(value, list):
            for part in value:
                yield from told(part, key)

    for file in sorted((SOURCE / "catalogue" / "data").rglob("*.toml")):
        if file.parent.name != "sheets" and file.name != "trace_columns.toml":
            yield from told(tomllib.loads(file.read_text("utf-8")))


def pytest_configure(config: Any) -> None:
    """As a plugin of the tests: listen."""
    config.sentences = listen(os.environ["SENTENCES_LANGUAGE"])


def pytest_sessionfinish(session: Any) -> None:
    """Write down what was missing."""
    Path(os.environ["SENTENCES_FILE"]).write_text(json.dumps(sorted(session.config.sentences)), "utf-8")


def main(language: str, folders: list[str]) -> int:
    """Run the tests, then the data; print what is missing."""
    from dwellwright.languages.catalogue import catalogue
    from dwellwright.languages.scripts import script_sentences
    from dwellwright.languages.sentence import numbered

    file = ROOT / ".cache" / "sentences.json"
    file.parent.mkdir(exist_ok=True)
    surroundings = {**os.environ, "SENTENCES_LANGUAGE": language, "SENTENCES_FILE": str(file),
                    "PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}"}  # fmt: skip
    tests = [sys.executable, "-m", "pytest", "-q", "-p", "tools.sentences", "-n", "0", *(folders or FOLDERS)]
    subprocess.run(tests, cwd=ROOT, env=surroundings, check=False, stdout=sys.stderr)
    book = catalogue(language)
    book.unlisted = missing = set(json.loads(file.read_text("utf-8")))
    for text in data_texts():
        book.translated(text)
    said = {one for script in SOURCE.rglob("*.js") for one in script_sentences(script.read_text("utf-8"))}
    plain = {numbered(" ".join(one.split()))[0] for one in missing if one.isprintable()}
    keys = sorted(plain | (said - book.exact.keys()))
    for key in keys:
        print(f'msgid {json.dumps(key, ensure_ascii=False)}\nmsgstr ""\n')
    print(f"{len(keys)} sentences are missing in {language}", file=sys.stderr)
    return 1 if keys else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1] if len(sys.argv) > 1 else "es", sys.argv[2:]))
