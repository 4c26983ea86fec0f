"""Small files of the shop beside its records: JSON, written whole or not at all."""

from __future__ import annotations

import json
import os
import tempfile
from pathlib import Path
from typing import Any

from dwellwright.errors import InputFault


def read_json(path: Path, empty: Any) -> Any:
    """What a small file holds; `empty` where there is none.

    Raises:
        InputFault: it is damaged.
    """
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return empty
    except (OSError, ValueError, RecursionError) as fault:
        raise damaged(path, str(fault)) from None


def damaged(path: Path, why: str) -> InputFault:
    """The fault of a small file that cannot be used."""
    return InputFault("a file of the shop cannot be read", where=str(path), got=why,
                      remedy="Mend it or move it away; the jobs do not depend on it")  # fmt: skip


def write_json(path: Path, facts: Any) -> None:
    """Write a small file, whole or not at all.

    Raises:
        InputFault: the folder cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, draft = tempfile.mkstemp(dir=path.parent, prefix=".writing-")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            json.dump(facts, file, ensure_ascii=False, indent=1, allow_nan=False)
            file.flush()
            os.fsync(file.fileno())
        os.replace(draft, path)
    except OSError as fault:
        raise InputFault("the shop folder cannot be written", where=str(path.parent),
                         got=fault.strerror or str(fault)) from None  # fmt: skip
