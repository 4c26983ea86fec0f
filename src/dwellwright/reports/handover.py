"""The handover sheet: two pages an owner understands and an appendix for the next mechanic, as a tagged PDF."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import asdict, replace
from importlib.resources import files
from typing import Any

from dwellwright.errors import InputFault
from dwellwright.languages.catalogue import translated
from dwellwright.languages.language import spoken
from dwellwright.languages.tree import translated_tree
from dwellwright.reports.code import qr_svg
from dwellwright.reports.facts import Finding, HandoverFacts, Pair, Photo
from dwellwright.reports.plots.look import Plot
from dwellwright.reports.printable import clipped, limited_tree
from dwellwright.reports.typeset import Document, typeset

LONGEST_COMPLAINT, LONGEST_SUMMARY = 700, 900
"""Characters on the owner's pages; a longer complaint is printed in full in the appendix."""

LIMITS = {
    "job": 24, "name": 56, "lines": 40, "label": 26, "value": 120, "title": 80, "magnitude": 60, "words": 240,
    "missing": 120, "minutes": 10, "cost": 14, "wanted": 40, "read": 24, "interval": 36, "as_found": 24,
    "as_left": 24, "turned": 36, "when": 18, "what": 60, "where": 30, "amount": 36, "note": 90, "source": 90,
    "caption": 200, "alt": 900, "cautions": 260, "not_tested": 160, "sources": 300, "total_minutes": 10,
    "total_cost": 14, "program": 40, "reason": 120,
}  # fmt: skip
"""Characters of each fact that the layout has room for; what is longer is cut, the cut shown."""

PICTURES = {b"\x89PNG\r\n\x1a\n": "png", b"\xff\xd8\xff": "jpg"}


OWN = frozenset({
    "job", "shop", "owner", "complaint", "complaint_full", "headline", "value", "verdict", "standing", "paper",
    "language", "program", "link", "file", "note",
})  # fmt: skip
"""Facts that somebody typed, or that choose something: they are the same in every language."""


def words() -> dict[str, Any]:
    """The labels of the sheets in the language spoken now."""
    text = files("dwellwright.reports").joinpath("templates", "words.toml").read_text("utf-8")
    labels: dict[str, Any] = translated_tree(tomllib.loads(text))
    return labels


def handover_sheet(facts: HandoverFacts, labels: Mapping[str, Any] | None = None) -> Document:
    """The handover sheet as PDF.

    Args:
        facts: all it says.
        labels: translated labels; the package's own if not given.

    Raises:
        InputFault: a photograph that is neither PNG nor JPEG, or a link too long for a QR code.
    """
    images: dict[str, bytes] = {}
    tree = _tree(facts, dict(labels or words()), images)
    return typeset("handover", tree, images, facts.printed)


def _tree(facts: HandoverFacts, labels: dict[str, Any], images: dict[str, bytes]) -> dict[str, Any]:
    """The facts as JSON values; images are put aside under their file names."""
    plain = asdict(replace(facts, before_after=None, plots=(), photos=()))
    long_complaint = len(facts.complaint) > LONGEST_COMPLAINT
    tree = {
        **plain,
        "printed": f"{facts.printed:%Y-%m-%d %H:%M}",
        "headline": clipped(", ".join(pair.value for pair in facts.vehicle[:2] if pair.value), 90),
        "head": [asdict(pair) for pair in _head(facts, labels)],
        "complaint": clipped(facts.complaint, LONGEST_COMPLAINT),
        "complaint_full": facts.complaint if long_complaint else "",
        "summary": clipped(facts.summary, LONGEST_SUMMARY),
        "found": [_finding(one) for one in facts.found],
        "costed": any(one.minutes or one.cost for one in facts.done),
        "before_after": _image(facts.before_after, images) if facts.before_after else None,
        "plots": [{**_image(one.plot, images), "caption": one.caption} for one in facts.plots],
        "photos": [_photo(one, number, images) for number, one in enumerate(facts.photos, start=1)],
        "qr": _qr(facts.link, labels["qr"], images) if facts.link else None,
        "arrived": str(facts.arrived or ""),
        "finished": str(facts.finished or ""),
    }
    told = translated_tree({**tree, "language": spoken()}, OWN)
    return {**limited_tree(told, LIMITS), "words": labels}


def _head(facts: HandoverFacts, labels: Mapping[str, Any]) -> list[Pair]:
    days = [("arrived", facts.arrived), ("finished", facts.finished)]
    return [
        Pair(labels["owner"], ", ".join((facts.owner.name, *facts.owner.lines)) or "–"),
        *(Pair(labels[key], str(day)) for key, day in days if day),
        *facts.vehicle,
    ]


def _finding(one: Finding) -> dict[str, str]:
    likely = "" if one.probability is None else f"{100 * one.probability:.0f} %"
    return {"title": one.title, "probability": likely, "magnitude": one.magnitude, "words": one.words}


def _image(plot: Plot, images: dict[str, bytes]) -> dict[str, str]:
    name = f"plot-{len(images) + 1}.{plot.format.value}"
    images[name] = plot.image
    return {"file": name, "alt": plot.alt}


def _photo(photo: Photo, number: int, images: dict[str, bytes]) -> dict[str, str]:
    ending = next((end for magic, end in PICTURES.items() if photo.image.startswith(magic)), None)
    if ending is None:
        raise InputFault(
            "the photograph cannot be printed", where=f"photograph {number}", wanted="PNG or JPEG"
        )
    name = f"photo-{number}.{ending}"
    images[name] = photo.image
    return {
        "file": name,
        "alt": photo.caption or translated(f"photograph {number}"),
        "caption": photo.caption,
    }


def _qr(link: str, label: str, images: dict[str, bytes]) -> dict[str, str]:
    images["qr.svg"] = qr_svg(link)
    return {"file": "qr.svg", "alt": f"{label} {link}"}
