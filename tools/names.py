"""Names and places that the tree must not hold; `python tools/names.py` prints one line per finding.

Three rules: no path of somebody's machine; no host but the few listed here (so no package registry, no
content network, no telemetry); no unit suffix on a name inside the physics, the carburetor and the loop.
"""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent

HOSTS = {
    "www.apache.org": "the licence's own address, in its text",
    "json-schema.org": "the identifier of a JSON Schema dialect; nothing is fetched from it",
    "www.w3.org": "XML name spaces of SVG; nothing is fetched from it",
    "localhost": "this machine",
    "127.0.0.1": "this machine",
    "0.0.0.0": "every address of this machine",
    "testserver": "the made-up host of in-process web tests",
}
"""Every host that may be written in an address, and why."""

RESERVED_ENDINGS = (".example", ".invalid", ".test", "example.com", "example.org")
"""Names that RFC 2606 keeps free for documentation and tests."""

ADDRESS = re.compile(r"\b(?:https?|wss?|ftp)://([A-Za-z0-9.-]+)")
HOME = re.compile(
    r"(?<![\w.~/-])/(?:work|tmp|home|root|opt|Users|mnt)/[\w.-]+|\b[A-Za-z]:\\(?:Users|Windows|Program)"
)
INDEX_OPTION = re.compile(r"(?:^|\s)--(?:extra-)?index-url\b|(?:^|\s)--find-links\b")

SUFFIXES = frozenset({
    "mm", "um", "thou", "inch", "in2", "mm2", "cc", "kpa", "pa", "psi", "bar", "inhg", "degc", "degf",
    "kelvin", "deg", "rad", "mv", "rpm", "hz", "khz", "ms", "us", "sec", "gps", "lbh", "kgh", "pct",
    "percent", "ppm",
})  # fmt: skip
"""Last words of a name that are units. A bare name is SI (docs/architecture.md)."""

INSIDE = ("physics", "carburetor", "loop")


def listed_files(root: Path) -> list[Path]:
    """The files git knows or would add."""
    command = ["git", "-C", str(root), "ls-files", "-co", "--exclude-standard", "-z"]
    names = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split("\0")
    return [root / name for name in names if name and (root / name).is_file()]


def text_findings(name: str, text: str) -> Iterator[str]:
    """Machine paths, unlisted hosts and index options in one file."""
    for number, line in enumerate(text.splitlines(), start=1):
        for host in ADDRESS.findall(line):
            if host.lower() not in HOSTS and not host.lower().endswith(RESERVED_ENDINGS):
                yield f"{name}:{number}: host {host} is not on the list in tools/names.py"
        for match in HOME.finditer(line):
            yield f"{name}:{number}: {match.group()} is a path of one machine"
        if name.startswith("requirements/") and INDEX_OPTION.search(line):
            yield f"{name}:{number}: a requirements list names no index"


def suffix_findings(name: str, text: str) -> Iterator[str]:
    """Names with a unit suffix that one Python file binds: functions, arguments, variables, attributes."""
    for node in ast.walk(ast.parse(text)):
        for bound in _bound_names(node):
            suffix = bound.rpartition("_")[2].lower() if "_" in bound.strip("_") else ""
            if suffix in SUFFIXES:
                line = getattr(node, "lineno", 0)
                yield f"{name}:{line}: {bound} ends in a unit; inside, a bare name is SI"


def _bound_names(node: ast.AST) -> Iterator[str]:
    if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
        yield node.name
    elif isinstance(node, ast.arg):
        yield node.arg
    elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
        yield node.id
    elif isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store):
        yield node.attr


def findings(root: Path) -> list[str]:
    """Everything wrong in a checkout."""
    lines: list[str] = []
    for path in listed_files(root):
        name = path.relative_to(root).as_posix()
        try:
            text = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
        lines += text_findings(name, text)
        parts = name.split("/")
        if parts[:2] == ["src", "dwellwright"] and parts[2] in INSIDE and name.endswith(".py"):
            lines += suffix_findings(name, text)
    return lines


def main() -> int:
    """Check the checkout."""
    lines = findings(ROOT)
    print("\n".join(lines) or "no machine paths, unlisted hosts or unit suffixes")
    return 1 if lines else 0


if __name__ == "__main__":
    sys.exit(main())
