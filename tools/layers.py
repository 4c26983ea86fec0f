"""Which part may import which: read from the table in docs/architecture.md and held against the source.

`python tools/layers.py` prints one line per forbidden import. Imports inside functions, under
`TYPE_CHECKING` and by `import_module("...")` count like any other.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = "dwellwright"
CLASS_NAME = re.compile(r"[A-Z][A-Za-z0-9]*[a-z][A-Za-z0-9]*")


@dataclass(frozen=True)
class Allowance:
    """What one part may import: whole parts, and whether also the types that other parts define."""

    parts: frozenset[str]
    types_of_any: bool = False


@dataclass(frozen=True)
class Import:
    """One import of something inside the package."""

    file: str
    line: int
    part: str
    target: str
    name: str

    def __str__(self) -> str:
        what = self.target + (f".{self.name}" if self.name else "")
        return f"{self.file}:{self.line}: {self.part or 'the package root'} may not import {PACKAGE}.{what}"


def allowances(page: str) -> dict[str, Allowance]:
    """The table of a page: part -> what it may import.

    Raises:
        ValueError: the page has no such table, or a cell says nothing that can be enforced.
    """
    rows = re.findall(r"^\| *(`.*?) *\| *(.*?) *\|$", page, flags=re.MULTILINE)
    if not rows:
        raise ValueError("no table `| part | may import |` found on the page")
    table: dict[str, Allowance] = {}
    for left, right in rows:
        allowed = _allowance(right, above=frozenset(table))
        table |= dict.fromkeys(re.findall(r"`(\w+)`", left), allowed)
    return table


def _allowance(cell: str, above: frozenset[str]) -> Allowance:
    named = frozenset(re.findall(r"`(\w+)`", cell))
    if cell == "everything above":
        return Allowance(above)
    if not named and cell != "nothing":
        raise ValueError(
            f"cannot enforce {cell!r}: name parts in backticks, or say `nothing` or `everything above`"
        )
    return Allowance(named, types_of_any="types it returns" in cell)


def imports(source: Path) -> Iterator[Import]:
    """Every import of the package in the files under its folder."""
    for path in sorted(source.rglob("*.py")):
        parts = path.relative_to(source).with_suffix("").parts
        module = parts[:-1] if parts[-1] == "__init__" else parts
        package = parts[:-1]
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import | ast.ImportFrom | ast.Call):
                for target, name in _targets(node, package):
                    file, part = path.relative_to(source).as_posix(), module[0] if module else ""
                    yield Import(file, node.lineno, part, target, name)


def _targets(node: ast.AST, package: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """(dotted module under the package, imported name) for each thing that one node imports."""
    if isinstance(node, ast.Import):
        yield from ((inside, "") for alias in node.names if (inside := _inside(alias.name)) is not None)
    elif isinstance(node, ast.ImportFrom):
        whole = _absolute(node, package)
        if (inside := _inside(whole)) is not None:
            for alias in node.names:
                yield (inside, alias.name) if inside else (alias.name, "")
    elif isinstance(node, ast.Call) and _is_dynamic(node.func) and node.args:
        word = node.args[0]
        if isinstance(word, ast.Constant) and (inside := _inside(str(word.value))):
            yield inside, ""


def _absolute(node: ast.ImportFrom, package: tuple[str, ...]) -> str:
    if not node.level:
        return node.module or ""
    base = (PACKAGE, *package)[: len(package) + 2 - node.level]
    return ".".join((*base, node.module) if node.module else base)


def _inside(name: str) -> str | None:
    return name.removeprefix(PACKAGE).removeprefix(".") if name.split(".")[0] == PACKAGE else None


def _is_dynamic(function: ast.expr) -> bool:
    name = function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")
    return name in ("import_module", "__import__")


def allowed(found: Import, table: dict[str, Allowance]) -> bool:
    """Whether the table lets the import stand; a part that the table does not know may import nothing."""
    target = found.target.split(".")[0]
    if not target or target.startswith("__") or target == found.part:
        return True
    mine = table.get(found.part, Allowance(frozenset()))
    is_type = mine.types_of_any and CLASS_NAME.fullmatch(found.name) is not None and target in table
    return target in mine.parts or is_type


def findings(source: Path, page: str) -> list[str]:
    """Forbidden imports and parts missing from the table, one line each."""
    table = allowances(page)
    known = {*table, "__init__"}
    unknown = {path.relative_to(source).parts[0].removesuffix(".py") for path in source.rglob("*.py")} - known
    lines = [f"{part}: not in the table of docs/architecture.md" for part in sorted(unknown)]
    return lines + [str(found) for found in imports(source) if not allowed(found, table)]


def main() -> int:
    """Check the checkout."""
    lines = findings(ROOT / "src" / PACKAGE, (ROOT / "docs/architecture.md").read_text(encoding="utf-8"))
    print("\n".join(lines) or "every import goes down the table")
    return 1 if lines else 0


if __name__ == "__main__":
    sys.exit(main())
