"""Reading the written pages: links, commands and examples, so that tests can hold them to the program."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
LINK = re.compile(r"(?<!!)\[[^\]]*\]\(([^)\s]+)\)|!\[[^\]]*\]\(([^)\s]+)\)")
FENCE = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
INLINE = re.compile(r"`([^`\n]+)`")
HEADING = re.compile(r"^#+ +(.+?) *$", re.MULTILINE)


def pages(root: Path = ROOT) -> list[Path]:
    """Every Markdown page of the checkout that git knows or would add."""
    command = ["git", "-C", str(root), "ls-files", "-co", "--exclude-standard", "-z", "*.md"]
    names = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split("\0")
    return [root / name for name in sorted(names) if name and (root / name).is_file()]


def anchors(text: str) -> set[str]:
    """The anchors that headings make."""
    plain = FENCE.sub("", text)
    words = (re.sub(r"[^\w\s-]", "", title.lower()).strip() for title in HEADING.findall(plain))
    return {re.sub(r"[\s-]+", "-", word) for word in words}


def dead_links(page: Path) -> list[str]:
    """Targets of a page's links that are not there; links to other hosts are not followed."""
    dead = []
    for pair in LINK.findall(FENCE.sub("", page.read_text(encoding="utf-8"))):
        target = pair[0] or pair[1]
        if "://" in target or target.startswith("mailto:"):
            continue
        name, _, anchor = target.partition("#")
        file = (page.parent / name).resolve() if name else page
        missing = not file.exists() or (
            anchor and file.suffix == ".md" and anchor not in anchors(file.read_text(encoding="utf-8"))
        )
        dead += [target] if missing else []
    return dead


def examples(page: Path, language: str) -> list[str]:
    """The fenced examples of one language on a page."""
    return [text for kind, text in FENCE.findall(page.read_text(encoding="utf-8")) if kind == language]


def commands(page: Path) -> Iterator[list[str]]:
    """Commands of this project that a page tells to type, in fences without a language and in inline code."""
    text = page.read_text(encoding="utf-8")
    lines = [line for kind, block in FENCE.findall(text) if kind == "" for line in block.splitlines()]
    for line in [*lines, *INLINE.findall(FENCE.sub("", text))]:
        words = line.removeprefix("$ ").split("#")[0].split()
        if len(words) > 1 and (words[0] == "dwellwright" or words[0] in ("python", "python3")):
            yield words
