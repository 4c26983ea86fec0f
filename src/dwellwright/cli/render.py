"""Printing: tables that fit the terminal, JSON that machines read."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Sequence
from typing import Any

from dwellwright.languages.catalogue import translated

PIPE_WIDTH = 110
"""Columns assumed when nobody looks (output into a file or a pipe)."""


def console() -> Any:
    """Where results are printed."""
    from rich.console import Console

    width = None if sys.stdout.isatty() else PIPE_WIDTH
    return Console(width=width, highlight=False, soft_wrap=False)


def print_table(title: str, columns: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """A table; columns whose name begins with `>` are set to the right."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table
    from rich.text import Text

    table = Table(
        title=translated(title) or None,
        box=SIMPLE_HEAD,
        title_justify="left",
        title_style="bold",
        pad_edge=False,
    )
    for name in columns:
        table.add_column(
            translated(name.removeprefix(">")), justify="right" if name.startswith(">") else "left"
        )
    for row in rows:
        table.add_row(*(Text(translated(cell)) for cell in row))
    console().print(table)


def print_json(facts: Any) -> None:
    """One JSON document; not-a-number cannot occur in it."""
    text = json.dumps(facts, indent=1, ensure_ascii=False, allow_nan=False)
    sys.stdout.write(text + "\n")


def say(text: str, *, style: str = "") -> None:
    """A line of plain text."""
    from rich.text import Text

    console().print(Text(translated(text), style=style))
