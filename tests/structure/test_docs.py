"""The pages say what the program does: links, commands, units, glossary and examples are held against it."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from tools.pages import ROOT, anchors, commands, dead_links, examples, pages

from dwellwright.catalogue.quantity import Quantity
from dwellwright.units import UNITS, Dimension, dwell_degrees

DOCS = ROOT / "docs"
PAGES = pages()
NAMES = [page.relative_to(ROOT).as_posix() for page in PAGES]


def rows(text: str) -> list[list[str]]:
    """Cells of every table row of a page, headings and rulers included."""
    lines = [line for line in text.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1]] for line in lines]


# ------------------------------------------------------------------------------------------------- links


@pytest.mark.parametrize("page", PAGES, ids=NAMES)
def test_links_lead_somewhere(page: Path) -> None:
    assert dead_links(page) == []


@pytest.mark.parametrize("index", ["index.md", "how-to/index.md"])
def test_an_index_leads_to_every_page_of_its_kind(index: str) -> None:
    """The front page leads to all reference, physics and top pages, the how-to index to all how-to pages."""
    page = DOCS / index
    text = page.read_text(encoding="utf-8")
    below = page.parent.glob("*.md") if index != "index.md" else DOCS.rglob("*.md")
    wanted = {one.relative_to(page.parent).as_posix() for one in below if one != page}
    listed = {name for name in wanted if f"({name}" in text}
    beyond = {name for name in wanted if name.startswith("how-to/") and name != "how-to/index.md"}
    assert wanted - listed == (beyond if index == "index.md" else set())


def test_a_dead_link_is_found(tmp_path: Path) -> None:
    (tmp_path / "b.md").write_text("# Second part, really\n", encoding="utf-8")
    page = tmp_path / "a.md"
    page.write_text(
        "[x](gone.md) [y](b.md) [z](b.md#second-part-really) [u](b.md#other) ![p](no.png) [h](#here)\n",
        encoding="utf-8",
    )
    assert dead_links(page) == ["gone.md", "b.md#other", "no.png", "#here"]


def test_anchors_leave_code_out() -> None:
    assert anchors("# A: b\n```\n# not a heading\n```\n## C-d e\n") == {"a-b", "c-d-e"}


# ---------------------------------------------------------------------------------------------- commands


def known_command(words: list[str]) -> bool:
    """Whether what a page tells to type exists."""
    if words[0] == "dwellwright":
        return known_subcommand(words[1:])
    if words[1] == "dev.py":
        help_text = subprocess.run(
            [sys.executable, "dev.py", *words[2:3], "--help"], cwd=ROOT, capture_output=True
        )
        return help_text.returncode == 0
    if words[1] == "-m":
        return (ROOT / "src" / words[2].replace(".", "/")).with_suffix(".py").is_file()
    return (ROOT / words[1]).is_file()


def known_subcommand(words: list[str]) -> bool:
    """Whether the words name a command, with options that it has."""
    import typer

    from dwellwright.cli.app import app

    command: Any = typer.main.get_command(app)
    for place, word in enumerate(words):
        options = {name for parameter in command.params for name in parameter.opts} | {"--help"}
        if word.startswith("--"):
            if word.partition("=")[0] not in options:
                return False
        elif word in getattr(command, "commands", {}):
            command = command.commands[word]
        elif hasattr(command, "commands"):
            return word == "..." or (place > 0 and words[place - 1].startswith("--"))
    return True


@pytest.mark.parametrize("page", PAGES, ids=NAMES)
def test_commands_on_the_pages_exist(page: Path) -> None:
    if page.name in ("CHANGELOG.md", "commands.md"):
        pytest.skip("tells what was, or is written from the program itself")
    assert [" ".join(words) for words in commands(page) if not known_command(words)] == []


def test_the_readme_tells_the_two_commands() -> None:
    told = [" ".join(words) for words in commands(ROOT / "README.md")]
    assert "python3 dev.py run" in told
    assert "python3 dev.py test" in told


@pytest.mark.parametrize(
    "words",
    [
        "python3 dev.py fly",
        "python tools/gone.py",
        "python -m dwellwright.gone",
        "dwellwright fly",
        "dwellwright sheet check --fly",
    ],
)
def test_a_command_that_is_not_there_is_found(words: str) -> None:
    assert not known_command(words.split())


def test_the_command_page_is_current() -> None:
    from tools.command_page import PAGE, page

    assert PAGE.read_text(encoding="utf-8") == page().rstrip() + "\n", "run python tools/command_page.py"


# ------------------------------------------------------------------------------------------------- units


def test_the_units_page_is_the_program() -> None:
    table = {row[0]: row for row in rows((DOCS / "reference/units.md").read_text(encoding="utf-8"))}
    for dimension in Dimension:
        listed = re.findall(r"`(.+?)`", table[dimension.value][1])
        assert listed == [name for name, unit in UNITS.items() if unit.dimension is dimension]
        inside = UNITS[table[dimension.value][2].strip("`")]
        assert (inside.factor, inside.offset) == (1.0, 0.0)


def test_the_dwell_table_is_the_program() -> None:
    table = rows((DOCS / "reference/units.md").read_text(encoding="utf-8"))
    scales = [row for row in table if re.fullmatch(r"\d+ cylinders", row[0])]
    assert len(scales) == 3
    for row in scales:
        full, half = (float(cell.removesuffix(" deg")) for cell in row[1:])
        assert (dwell_degrees(1.0, int(row[0].split()[0])), full / 2) == (full, half)


# ---------------------------------------------------------------------------------------------- glossary


def glossary() -> list[list[str]]:
    """Rows of the glossary's tables: word, symbol, inside, edges, meaning, name."""
    table = rows((DOCS / "glossary.md").read_text(encoding="utf-8"))
    return [row for row in table if row[0] != "word" and not set(row[0]) <= {"-"}]


def names_in_source() -> set[str]:
    """Every name that the source binds or takes, and the text of its enumerations."""
    found: set[str] = set()
    for path in (ROOT / "src").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.ClassDef):
                found.add(node.name)
            elif isinstance(node, ast.arg):
                found.add(node.arg)
            elif isinstance(node, ast.Name):
                found.add(node.id)
            elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                found.add(node.value)
    return found


def test_the_names_of_the_glossary_are_used() -> None:
    told = {name for row in glossary() for name in re.findall(r"`(\w+)`", row[5])}
    assert len(told) > 40
    assert told - names_in_source() == set()


def test_a_word_and_a_symbol_stand_for_one_thing() -> None:
    words = Counter(row[0] for row in glossary())
    symbols = Counter(row[1] for row in glossary() if row[1])
    assert [word for word, count in (words + symbols).items() if count > 1] == []


def test_every_row_of_the_glossary_says_what_it_is() -> None:
    assert [row for row in glossary() if len(row) != 6 or len(row[4]) < 8] == []


# ---------------------------------------------------------------------------------------------- examples


def test_the_examples_of_a_sheets_number_are_accepted() -> None:
    shown = examples(DOCS / "reference/spec-sheets.md", "toml")
    assert shown
    for text in shown:
        for entry in tomllib.loads(text).values():
            assert Quantity.model_validate(entry).si > 0


def test_the_example_of_a_gas_file_is_read(tmp_path: Path) -> None:
    from dwellwright.evidence.gas.reading import read_gas

    (text,) = [
        one for one in examples(DOCS / "reference/recordings.md", "csv") if one.startswith("condition")
    ]
    file = tmp_path / "gas.csv"
    file.write_text(text, encoding="utf-8")
    assert len(read_gas(file)) == 2


def test_the_page_of_cautions_covers_what_can_hurt() -> None:
    text = (DOCS / "safety.md").read_text(encoding="utf-8").lower()
    wanted = [
        "gasoline vapor",
        "carbon monoxide",
        "indoors",
        "fan",
        "burn",
        "wiring",
        "local codes",
        "emissions law",
    ]
    assert [word for word in [*wanted, "licensed practice", "chocked"] if word not in text] == []


# ------------------------------------------------------------------------------------------------- build

LOADED = re.compile(
    r"<(?:script|img|link|iframe|source)\b[^>]*?\b(?:src|href)=\"?((?:https?:)?//[^\"\s>]+)", re.I
)


def test_the_built_pages_load_nothing_from_a_network(tmp_path: Path) -> None:
    build = [sys.executable, "-m", "mkdocs", "build", "--strict", "--quiet", "--site-dir", str(tmp_path)]
    done = subprocess.run(build, cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    built = sorted(tmp_path.rglob("*.html"))
    assert len(built) > len([page for page in PAGES if page.is_relative_to(DOCS)]) - 1
    loaded = {(page.name, url) for page in built for url in LOADED.findall(page.read_text(encoding="utf-8"))}
    assert loaded == set()
    sheets = [sheet.read_text(encoding="utf-8") for sheet in tmp_path.rglob("*.css")]
    assert not [url for text in sheets for url in re.findall(r"url\(['\"]?((?:https?:)?//[^)]+)\)", text)]


def test_loading_from_a_network_would_be_seen() -> None:
    slashes = "/" * 2
    assert LOADED.findall(f'<script defer src="https:{slashes}cdn.invalid/x.js"></script>') != []
    assert LOADED.findall(f'<link rel=stylesheet href="{slashes}cdn.invalid/x.css">') != []
    assert LOADED.findall('<script src="js/base.js"></script><a href="https://shop.invalid">x</a>') == []
