"""The house style that a linter does not know; `python tools/style.py` prints one line per finding.

Body of a function 40 lines at most (docstring not counted), module 300 lines; no `assert`, no bare `except`,
no `except Exception`; a docstring on everything public.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BODY_LIMIT = 40
MODULE_LIMIT = 300
EXCEPTIONS: dict[str, str] = {}
"""`file:function` or `file` -> why the size limit does not hold there; one not needed is a finding."""

Function = ast.FunctionDef | ast.AsyncFunctionDef
Definition = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef


def body_lines(node: Function) -> int:
    """Lines of a function below its signature and docstring."""
    body = node.body[1:] if ast.get_docstring(node) is not None else node.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


def size_findings(name: str, text: str) -> Iterator[tuple[str, str]]:
    """(what, message) for each thing over its limit."""
    lines = len(text.splitlines())
    if lines > MODULE_LIMIT:
        yield name, f"{name}: {lines} lines, the limit is {MODULE_LIMIT}"
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, Function) and (length := body_lines(node)) > BODY_LIMIT:
            what = f"{name}:{node.name}"
            yield (
                what,
                f"{name}:{node.lineno}: {node.name} has {length} body lines, the limit is {BODY_LIMIT}",
            )


def ban_findings(name: str, text: str) -> Iterator[str]:
    """Asserts and catch-alls."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Assert):
            yield f"{name}:{node.lineno}: assert; raise ValueError or InputFault instead"
        elif isinstance(node, ast.ExceptHandler) and _catches_all(node.type) and not _raises_again(node):
            yield f"{name}:{node.lineno}: catches every exception; name the ones that are expected"


def _catches_all(caught: ast.expr | None) -> bool:
    kinds = caught.elts if isinstance(caught, ast.Tuple) else [caught]
    return any(kind is None or getattr(kind, "id", "") in ("Exception", "BaseException") for kind in kinds)


def _raises_again(node: ast.ExceptHandler) -> bool:
    """Whether a handler only tidies up: it ends in a bare `raise`."""
    last = node.body[-1]
    return isinstance(last, ast.Raise) and last.exc is None


def docstring_findings(name: str, text: str) -> Iterator[str]:
    """Public modules, classes and functions without a docstring."""
    tree = ast.parse(text)
    if text.strip() and ast.get_docstring(tree) is None:
        yield f"{name}:1: the module has no docstring"
    for node in _public(tree.body):
        if ast.get_docstring(node) is None:
            yield f"{name}:{node.lineno}: {node.name} is public and has no docstring"


def _public(body: list[ast.stmt]) -> Iterator[Definition]:
    """Public definitions, those inside public classes too; an override says so by its decorator."""
    for node in body:
        if isinstance(node, Definition) and not node.name.startswith("_") and not _is_override(node):
            yield node
            if isinstance(node, ast.ClassDef):
                yield from _public(node.body)


def _is_override(node: Definition) -> bool:
    names = {getattr(mark, "id", getattr(mark, "attr", "")) for mark in node.decorator_list}
    return bool(names & {"override", "overload", "setter"})


def findings(source: Path, exceptions: dict[str, str] = EXCEPTIONS) -> list[str]:
    """Everything wrong under a folder, and exceptions that no longer except anything."""
    lines: list[str] = []
    unused = dict(exceptions)
    for path in sorted(source.rglob("*.py")):
        name, text = path.relative_to(source).as_posix(), path.read_text(encoding="utf-8")
        for what, message in size_findings(name, text):
            if unused.pop(what, exceptions.get(what)) is None:
                lines.append(message)
        lines += ban_findings(name, text)
        lines += docstring_findings(name, text)
    return lines + [f"{what}: listed as an exception but within the limit" for what in unused]


def main() -> int:
    """Check the checkout."""
    lines = findings(ROOT / "src" / "dwellwright")
    print("\n".join(lines) or "the style holds")
    return 1 if lines else 0


if __name__ == "__main__":
    sys.exit(main())
