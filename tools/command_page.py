"""Write docs/reference/commands.md from the program's own help: `python tools/command_page.py`.

With `--check` nothing is written and the exit code is 1 if the page is out of date; a test does the same.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

PAGE = Path(__file__).resolve().parent.parent / "docs" / "reference" / "commands.md"
HEAD = """# Commands

Written by `tools/command_page.py` from the program's own help; do not edit by hand.

Options before the command hold for every command. Bad input ends a command with exit code 2 and one message.
"""


def commands(command: Any, words: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Any]]:
    """A command and all below it, by their full words, in the order of the help."""
    yield words, command
    for name, below in getattr(command, "commands", {}).items():
        if not below.hidden:
            yield from commands(below, (*words, name))


def section(words: tuple[str, ...], command: Any) -> str:
    """One command: usage, what it does, arguments and options."""
    import typer

    context = typer.Context(command, info_name=" ".join(words))
    usage = " ".join([*words, *command.collect_usage_pieces(context)])
    lines = ["#" * min(len(words) + 1, 4) + f" {' '.join(words)}", "", (command.help or "").strip(), ""]
    lines += ["```", usage, "```", ""]
    rows = [found for parameter in command.params if (found := _row(parameter, context))]
    if rows:
        lines += ["| option | what it is |", "|---|---|", *rows, ""]
    return "\n".join(lines)


def _row(parameter: Any, context: Any) -> str | None:
    if parameter.name == "help" or getattr(parameter, "hidden", False):
        return None
    record = parameter.get_help_record(context)
    if record is None:
        return None
    name, text = (part.replace("|", "\\|").strip() for part in record)
    return f"| `{name}` | {text} |"


def page() -> str:
    """The whole page."""
    import typer

    from dwellwright.cli.app import app

    root = typer.main.get_command(app)
    return HEAD + "\n" + "\n".join(section(words, one) for words, one in commands(root, ("dwellwright",)))


def main() -> int:
    """Write the page, or with --check say whether it is current."""
    text = page().rstrip() + "\n"
    current = PAGE.exists() and PAGE.read_text(encoding="utf-8") == text
    if "--check" in sys.argv[1:]:
        print("the command page is current" if current else "run python tools/command_page.py")
        return 0 if current else 1
    PAGE.write_text(text, encoding="utf-8", newline="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
