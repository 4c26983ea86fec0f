"""One file that holds the whole shop: its records, the files of its jobs, and what it says of itself."""

from __future__ import annotations

import zipfile
from pathlib import Path

from dwellwright.errors import InputFault
from dwellwright.records.shop import FILES, RECORDS, Shop, backup

README = """\
The whole shop. To put it back: stop the program, make a new folder, unpack this archive into it, and start with
`dwellwright --shop FOLDER serve`. Nothing else is needed.
"""


def write_backup(shop: Shop, path: Path) -> int:
    """Write the whole shop into one archive and return how many files it holds.

    The records are copied as of one moment, while they may be in use; kept files never change once they are there.

    Raises:
        InputFault: the archive cannot be written, or the records lie in a database server, which has its own backup.
    """
    if shop.engine.dialect.name != "sqlite":
        raise InputFault(
            "the records lie in a database server",
            remedy="Back them up there; the files are in the shop folder",
        )
    copy = backup(shop.folder)
    try:
        with zipfile.ZipFile(path, "w", zipfile.ZIP_STORED, allowZip64=True) as archive:
            archive.writestr("READ ME.txt", README)
            if copy is not None:
                archive.write(copy, RECORDS, zipfile.ZIP_DEFLATED)
            for kept in sorted((shop.folder / FILES).glob("??/*")):
                archive.write(kept, f"{FILES}/{kept.parent.name}/{kept.name}")
            for own in sorted(shop.folder.glob("*.json")):
                archive.write(own, own.name)
            return len(archive.namelist())
    except OSError as fault:
        raise InputFault(
            "the backup cannot be written", where=str(path), got=fault.strerror or str(fault)
        ) from None
    finally:
        if copy is not None:
            copy.unlink(missing_ok=True)
