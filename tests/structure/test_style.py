"""Sizes, bans and docstrings of the source; each rule is shown able to fail on a made-up module."""

from __future__ import annotations

from pathlib import Path

import pytest
from tools.style import BODY_LIMIT, EXCEPTIONS, MODULE_LIMIT, ROOT, ban_findings, docstring_findings, findings

LONG_BODY = "\n".join(f"    x = {number}" for number in range(BODY_LIMIT + 1))
FULL_BODY = "\n".join(f"    x = {number}" for number in range(BODY_LIMIT))


def source(folder: Path, text: str) -> Path:
    (folder / "made_up.py").write_text('"""A module."""\n' + text, encoding="utf-8")
    return folder


def test_the_source_keeps_the_style() -> None:
    assert findings(ROOT / "src" / "dwellwright") == []


def test_the_exceptions_are_few_and_give_a_reason() -> None:
    assert len(EXCEPTIONS) <= 5
    assert all(len(reason) > 20 for reason in EXCEPTIONS.values())


def test_a_body_over_the_limit_is_found(tmp_path: Path) -> None:
    tree = source(tmp_path, f'def f() -> None:\n    """Do."""\n{LONG_BODY}\n')
    assert findings(tree) == ["made_up.py:2: f has 41 body lines, the limit is 40"]


def test_a_nested_or_asynchronous_body_counts(tmp_path: Path) -> None:
    nested = "\n".join("    " + line for line in LONG_BODY.splitlines())
    tree = source(tmp_path, f'class A:\n    """A."""\n    async def _f(self) -> None:\n{nested}\n')
    assert findings(tree) == ["made_up.py:4: _f has 41 body lines, the limit is 40"]


def test_a_body_at_the_limit_passes_and_its_docstring_is_free(tmp_path: Path) -> None:
    tree = source(tmp_path, f'def f() -> None:\n    """Do.\n\n    At length.\n    """\n{FULL_BODY}\n')
    assert findings(tree) == []


def test_a_long_module_is_found(tmp_path: Path) -> None:
    tree = source(tmp_path, "x = 1\n" * MODULE_LIMIT)
    assert findings(tree) == ["made_up.py: 301 lines, the limit is 300"]


def test_an_exception_excepts_only_what_it_names(tmp_path: Path) -> None:
    body = f'def f() -> None:\n    """Do."""\n{LONG_BODY}\n'
    tree = source(tmp_path, body + body.replace("f()", "g()"))
    assert findings(tree, {"made_up.py:f": "a table written out as code, line by line"}) == [
        "made_up.py:45: g has 41 body lines, the limit is 40"
    ]


def test_an_exception_that_is_not_needed_is_found(tmp_path: Path) -> None:
    assert findings(source(tmp_path, "x = 1\n"), {"made_up.py:f": "was long once"}) == [
        "made_up.py:f: listed as an exception but within the limit"
    ]


@pytest.mark.parametrize(
    "handler",
    [
        "except:",
        "except Exception:",
        "except BaseException:",
        "except (ValueError, Exception):",
        "except Exception as e:",
    ],
)
def test_a_catch_all_is_found(handler: str) -> None:
    assert list(ban_findings("a.py", f"try:\n    x = 1\n{handler}\n    x = 2\n")) == [
        "a.py:3: catches every exception; name the ones that are expected"
    ]


@pytest.mark.parametrize(
    "handler", ["except (ValueError, OSError):\n    x = 2", "except BaseException:\n    x = 2\n    raise"]
)
def test_a_named_exception_or_one_raised_again_is_let_be(handler: str) -> None:
    assert list(ban_findings("a.py", f"try:\n    x = 1\n{handler}\n")) == []


def test_an_assert_is_found() -> None:
    assert list(ban_findings("a.py", "x = 1\nassert x\n")) == [
        "a.py:2: assert; raise ValueError or InputFault instead"
    ]


@pytest.mark.parametrize(
    ("code", "expected"),
    [
        ("x = 1", ["a.py:1: the module has no docstring"]),
        ('"""A."""\ndef f() -> None: ...', ["a.py:2: f is public and has no docstring"]),
        ('"""A."""\nclass A:\n    def f(self) -> None: ...', [
            "a.py:2: A is public and has no docstring", "a.py:3: f is public and has no docstring",
        ]),
        ('"""A."""\ndef _f() -> None: ...\nclass _A:\n    def f(self) -> None: ...', []),
        ('"""A."""\ndef f() -> None:\n    """Do."""\n    def inner() -> None: ...', []),
        ("", []),
    ],
)  # fmt: skip
def test_a_public_name_without_docstring_is_found(code: str, expected: list[str]) -> None:
    assert list(docstring_findings("a.py", code)) == expected
