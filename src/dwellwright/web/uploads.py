"""Files that were sent: copied to disk under a plain name, none larger than its kind may be."""

from __future__ import annotations

import re
import unicodedata
from pathlib import Path

from starlette.datastructures import UploadFile

from dwellwright.service.file_kind import FileKind, file_kind
from dwellwright.web.guard import too_large

LARGEST_RECORDING = 200_000_000
"""Bytes of a sound or drive recording."""

LARGEST_TABLE = 5_000_000
"""Bytes of a gas table, a bench sheet or a spec sheet."""

LARGEST_PHOTOGRAPH = 40_000_000
"""Bytes of a photograph as the camera made it."""

LONGEST_NAME = 120
COPY = 1 << 20
"""Bytes copied at a time."""


def plain_name(claimed: str | None) -> str:
    r"""A file's own name, whatever path or odd characters it was sent with.

    >>> plain_name("../../etc/pass wd"), plain_name("C:\\logs\\drive 1.wav"), plain_name("..")
    ('pass wd', 'drive 1.wav', 'file')
    """
    last = (claimed or "").replace("\\", "/").rstrip("/").rsplit("/", 1)[-1]
    shown = "".join(one for one in unicodedata.normalize("NFC", last) if unicodedata.category(one)[0] != "C")
    cleaned = re.sub(r'[:*?"<>|]', "_", shown).strip().lstrip(".")
    if len(cleaned) <= LONGEST_NAME:
        return cleaned or "file"
    stem, suffix = Path(cleaned).stem, Path(cleaned).suffix[:10]
    return stem[: LONGEST_NAME - len(suffix)] + suffix


def copied(upload: UploadFile, folder: Path, most: int) -> Path:
    """An upload as a file of its plain name in a folder.

    Raises:
        InputFault: it is larger than `most`. [bytes]
    """
    name = plain_name(upload.filename)
    path, size = folder / name, 0
    with path.open("wb") as out:
        while block := upload.file.read(COPY):
            size += len(block)
            if size > most:
                raise too_large(name, upload.size or size, most)
            out.write(block)
    return path


def evidence_copied(upload: UploadFile, folder: Path) -> Path:
    """An evidence file on disk.

    Raises:
        InputFault: it is larger than its kind may be, or of no kind that is evidence.
    """
    path = copied(upload, folder, LARGEST_RECORDING)
    size = path.stat().st_size
    if size > LARGEST_TABLE and file_kind(path) in (FileKind.GAS, FileKind.GAUGES):
        raise too_large(path.name, size, LARGEST_TABLE)
    return path
