"""Facts to PDF: a template of the package, the facts beside it as JSON, never inside its source."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Literal

import typst

from dwellwright.reports.printable import font_folder, printable_tree

Standard = Literal["a-2a", "ua-1"]
STANDARDS: tuple[Standard, ...] = ("a-2a", "ua-1")
"""Archival and accessible profiles asked of the compiler, which refuses what it sees to break them."""


@dataclass(frozen=True)
class Document:
    """A finished PDF.

    Args:
        pdf: file content.
        standards: profiles under which the compiler made it; empty if it could not. No validator has been asked.
        findings: what the compiler remarked, in its words.
    """

    pdf: bytes
    standards: tuple[str, ...]
    findings: tuple[str, ...]


def typeset(
    template: str, facts: Mapping[str, Any], images: Mapping[str, bytes], printed: datetime
) -> Document:
    """The document a template makes of the facts.

    Args:
        template: name of the template, without its ending.
        facts: JSON values only; every text is made printable first.
        images: by the file name that the facts use.
        printed: stamped into the file.

    Raises:
        ValueError: an image name that is a path.
    """
    with TemporaryDirectory(prefix="sheet-") as place:
        folder = Path(place)
        for name in (template, "look"):
            source = files("dwellwright.reports").joinpath("templates", f"{name}.typ").read_text("utf-8")
            (folder / f"{name}.typ").write_text(source, encoding="utf-8")
        for name, image in images.items():
            if Path(name).name != name:
                raise ValueError(f"an image name must not be a path, got {name!r}")
            (folder / name).write_bytes(image)
        text = json.dumps(printable_tree(dict(facts)), ensure_ascii=False, allow_nan=False)
        (folder / "facts.json").write_text(text, encoding="utf-8")
        return _compiled(folder, template, printed)


def _compiled(folder: Path, template: str, printed: datetime) -> Document:
    try:
        return _attempt(folder, template, printed, STANDARDS)
    except typst.TypstError as fault:
        plain = _attempt(folder, template, printed, ())
        return Document(plain.pdf, (), (f"made without {' and '.join(STANDARDS)}: {fault}", *plain.findings))


def _attempt(folder: Path, template: str, printed: datetime, standards: tuple[Standard, ...]) -> Document:
    pdf, warnings = typst.compile_with_warnings(
        folder / f"{template}.typ",
        root=folder,
        font_paths=[font_folder()],
        ignore_system_fonts=True,
        format="pdf",
        pdf_standards=list(standards),
        timestamp=int(printed.timestamp()),
    )
    return Document(bytes(pdf), standards, tuple(str(warning) for warning in warnings))
