"""Imports go only where the table in docs/architecture.md lets them; the checker is shown able to fail."""

from __future__ import annotations

from pathlib import Path

import pytest
from tools.layers import ROOT, allowances, findings, imports

PAGE = (ROOT / "docs/architecture.md").read_text(encoding="utf-8")
SOURCE = ROOT / "src" / "dwellwright"
TABLE = allowances(PAGE)
PARTS = sorted(TABLE)
FORBIDDEN = [
    (part, target)
    for part in PARTS
    for target in PARTS
    if target != part and target not in TABLE[part].parts
]  # fmt: skip


def package(folder: Path, files: dict[str, str]) -> Path:
    """A made-up package tree with the given files."""
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


def test_the_source_obeys_the_table() -> None:
    assert findings(SOURCE, PAGE) == []


def test_the_source_was_really_read() -> None:
    found = {(i.file, i.part, i.target, i.name) for i in imports(SOURCE)}
    assert ("units.py", "units", "errors", "InputFault") in found


def test_the_table_names_the_parts_of_the_picture_above_it() -> None:
    picture = PAGE.split("```")[1]
    drawn = {word.strip(",") for line in picture.strip().splitlines() for word in line[:13].split()}
    folders = {path.parent.name for path in SOURCE.glob("*/__init__.py")}
    assert folders <= drawn, "the picture shows every package"
    assert drawn <= set(PARTS)


def test_the_table_has_no_cycles() -> None:
    seen: set[str] = set()
    while ready := {part for part in PARTS if part not in seen and TABLE[part].parts - {part} <= seen}:
        seen |= ready
    assert seen == set(PARTS)


@pytest.mark.parametrize(("part", "target"), FORBIDDEN)
def test_each_forbidden_import_is_refused(part: str, target: str, tmp_path: Path) -> None:
    tree = package(tmp_path, {f"{part}.py": f"from dwellwright.{target} import thing\n", f"{target}.py": ""})
    assert findings(tree, PAGE) == [f"{part}.py:1: {part} may not import dwellwright.{target}.thing"]


@pytest.mark.parametrize(
    ("part", "target"), [(part, target) for part in PARTS for target in sorted(TABLE[part].parts)]
)
def test_each_listed_import_is_accepted(part: str, target: str, tmp_path: Path) -> None:
    tree = package(tmp_path, {f"{part}.py": f"import dwellwright.{target}\n", f"{target}.py": ""})
    assert findings(tree, PAGE) == []


@pytest.mark.parametrize(
    "statement",
    [
        "import dwellwright.loop.kernel",
        "import math, dwellwright.loop as later",
        "from dwellwright import loop",
        "from dwellwright.loop import kernel",
        "from dwellwright.loop.kernel import Batch",
        "from ..loop import kernel",
        "from .. import loop",
        "def lazily():\n    from dwellwright.loop import kernel",
        "class Late:\n    def lazily(self):\n        import dwellwright.loop",
        "if TYPE_CHECKING:\n    from dwellwright.loop import Batch",
        "try:\n    from dwellwright.loop import kernel\nexcept ImportError:\n    kernel = None",
        "kernel = importlib.import_module('dwellwright.loop.kernel')",
        "kernel = __import__('dwellwright.loop')",
    ],
)
def test_every_way_of_importing_counts(statement: str, tmp_path: Path) -> None:
    files = {"evidence/__init__.py": "", "evidence/trace.py": statement + "\n", "loop/__init__.py": ""}
    lines = findings(package(tmp_path, files), PAGE)
    assert len(lines) == 1
    assert "evidence may not import dwellwright.loop" in lines[0]


@pytest.mark.parametrize(
    "statement",
    [
        "import looping",
        "from dwellwrights.loop import kernel",
        "from . import trace",
        "from .trace import loop",
        "from dwellwright import __version__",
        "text = 'import dwellwright.loop'",
    ],
)
def test_what_is_no_crossing_import_is_let_be(statement: str, tmp_path: Path) -> None:
    files = {"evidence/__init__.py": "", "evidence/waveform.py": statement + "\n"}
    assert findings(package(tmp_path, files), PAGE) == []


def test_a_part_outside_the_table_is_refused(tmp_path: Path) -> None:
    tree = package(tmp_path, {"helpers.py": "from dwellwright.errors import InputFault\n", "errors.py": ""})
    assert findings(tree, PAGE) == [
        "helpers: not in the table of docs/architecture.md",
        "helpers.py:1: helpers may not import dwellwright.errors.InputFault",
    ]


def test_the_package_root_stays_empty_of_imports(tmp_path: Path) -> None:
    tree = package(tmp_path, {"__init__.py": "from dwellwright.errors import InputFault\n", "errors.py": ""})
    assert findings(tree, PAGE) == [
        "__init__.py:1: the package root may not import dwellwright.errors.InputFault"
    ]


@pytest.mark.parametrize("edge", ["cli", "web"])
def test_the_edges_may_name_types_but_call_only_the_service(edge: str, tmp_path: Path) -> None:
    lines = [
        "from dwellwright.evidence.observation import Observation",
        "from dwellwright.evidence import mean_dwell",
    ]
    tree = package(tmp_path, {f"{edge}/__init__.py": "\n".join(lines) + "\n", "evidence/__init__.py": ""})
    assert findings(tree, PAGE) == [
        f"{edge}/__init__.py:2: {edge} may not import dwellwright.evidence.mean_dwell"
    ]


def test_a_page_without_a_table_is_refused() -> None:
    with pytest.raises(ValueError, match="no table"):
        allowances("# Nothing here\n")


def test_a_cell_that_cannot_be_enforced_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot enforce 'whatever it likes'"):
        allowances("| part | may import |\n|---|---|\n| `loop` | whatever it likes |\n")
