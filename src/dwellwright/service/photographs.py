"""Photographs of a job: turned upright, made smaller, stripped of where and with what they were taken."""

from __future__ import annotations

import tempfile
import warnings
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from dwellwright.errors import InputFault
from dwellwright.records import evidence, jobs
from dwellwright.records.engine import reading, writing
from dwellwright.records.shop import Shop, file_place, kept_file
from dwellwright.records.stages import Side
from dwellwright.service.jobs import JobView

KIND = "photograph"
LONGEST_SIDE, THUMBNAIL_SIDE = 2000, 480
"""Pixels of the longer side as kept and in the list: a letter page at 200 dots per inch, and a thumb's width."""

MOST_PIXELS = 120_000_000
"""A picture that unpacks to more is refused before it is unpacked."""

FORMATS = ("JPEG", "PNG", "WEBP")
LONGEST_WORDS = 300


@dataclass(frozen=True)
class Photograph:
    """One photograph of a job; `step` is empty where it belongs to none."""

    id: int
    side: Side
    words: str
    step: str
    sha256: str
    thumbnail: str
    width: int
    height: int
    added: datetime


def add_photograph(
    shop: Shop, number: int, path: Path, side: Side, who: str, words: str = "", step: str = ""
) -> Photograph:
    """Keep a photograph with a job. Nothing but the picture itself is kept: no place, no time, no camera.

    Args:
        shop: where.
        number: of the job.
        path: of the picture as it came.
        side: before or after the work.
        who: who took it.
        words: what it shows.
        step: key of the step it was taken at.

    Raises:
        InputFault: no such job, not a photograph, or one that is damaged or too large.
    """
    with reading(shop.engine) as connection:
        jobs.job_record(connection, number)
    if len(words) > LONGEST_WORDS:
        raise InputFault("the words are too long", where="what it shows", got=str(len(words)),
                         wanted=f"at most {LONGEST_WORDS} characters")  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        full, small = Path(folder) / "full.jpg", Path(folder) / "small.jpg"
        width, height = _redrawn(path, full, small)
        kept = kept_file(shop, full, f"{path.stem or 'photograph'}.jpg")
        thumbnail = kept_file(shop, small).sha256
    facts = {"words": " ".join(words.split()), "step": step[:60], "thumbnail": thumbnail, "width": width,
             "height": height}  # fmt: skip
    with writing(shop.engine) as connection:
        earlier = evidence.same_evidence(connection, number, kept.sha256, side)
        if earlier is None:
            evidence.store_evidence(
                connection, number, kept, KIND, side, {"facts": facts, "warnings": []}, who
            )
        found = evidence.same_evidence(connection, number, kept.sha256, side)
    if found is None:
        raise ValueError("a photograph just stored is not there")
    return _photograph(found)


def _redrawn(path: Path, full: Path, small: Path) -> tuple[int, int]:
    """Draw the picture anew, so that only its points are kept, and return its size."""
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(path, formats=FORMATS) as opened:
                if opened.width * opened.height > MOST_PIXELS:
                    raise InputFault("the photograph is too large", where=path.name,
                                     got=f"{opened.width} by {opened.height} points",
                                     wanted=f"at most {MOST_PIXELS / 1e6:.0f} million points")  # fmt: skip
                opened.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
                upright = ImageOps.exif_transpose(opened).convert("RGB")
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, Image.DecompressionBombError) as fault:
        if isinstance(fault, InputFault):
            raise
        raise InputFault("this is not a photograph that can be read", where=path.name, wanted="JPEG, PNG or WebP",
                         remedy="Set the camera to JPEG") from None  # fmt: skip
    for target, side, quality in ((full, LONGEST_SIDE, 85), (small, THUMBNAIL_SIDE, 78)):
        drawn = Image.new("RGB", upright.size)
        drawn.paste(upright)
        drawn.thumbnail((side, side))
        drawn.save(target, "JPEG", quality=quality, optimize=True)
        if target is full:
            size = drawn.size
    return size


def step_titles() -> dict[str, str]:
    """Titles of every step on the bench and on the car, by key: where a photograph can belong."""
    from dwellwright.catalogue.steps import Sequence, step_plans

    return {one.key: one.title for sequence in Sequence for one in step_plans(sequence)}


def photographs(view: JobView) -> list[Photograph]:
    """The photographs of a job, in the order they came."""
    return [_photograph(one) for one in view.evidence if one.kind == KIND]


def _photograph(record: evidence.EvidenceRecord) -> Photograph:
    facts = record.summary["facts"]
    return Photograph(record.id, record.side, facts["words"], facts["step"], record.file.sha256, facts["thumbnail"],
                      facts["width"], facts["height"], record.added)  # fmt: skip


def photograph_file(shop: Shop, view: JobView, identity: int, *, small: bool = False) -> Path:
    """Where a photograph of the job lies, as kept or as its thumbnail.

    Raises:
        InputFault: the job has no such photograph.
    """
    for one in photographs(view):
        if one.id == identity:
            return file_place(shop, one.thumbnail if small else one.sha256)
    raise InputFault("no such file", where=f"job {view.job.number}", got=f"photograph {identity}")
