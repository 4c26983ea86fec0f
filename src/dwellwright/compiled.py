"""Where compiled kernels are kept, so that they are compiled once, and again whenever any source changes.

Numba's own cache looks only at the file a kernel stands in; a kernel here calls laws from other files, so the
folder carries a digest of all of them. Import this module before decorating a kernel with `njit(cache=True)`.
"""

from __future__ import annotations

import os
import shutil
from hashlib import sha256
from pathlib import Path

import numba
from numba import njit, prange
from numba.extending import register_jitable

__all__ = ["kernel_folder", "njit", "prange", "register_jitable"]

PACKAGE = Path(__file__).parent
KERNEL_PARTS = ("physics", "carburetor", "loop", "evidence", "diagnosis")
"""Parts of the package whose sources end up in kernels."""


def source_digest() -> str:
    """Digest of every source that a kernel may hold."""
    digest = sha256(numba.__version__.encode())
    for part in KERNEL_PARTS:
        for file in sorted((PACKAGE / part).rglob("*.py")):
            digest.update(file.read_bytes())
    return digest.hexdigest()[:16]


def kernel_folder() -> Path:
    """Folder for this source's kernels: beside the package where that can be written, else the user's cache."""
    home = PACKAGE / "__pycache__"
    if not os.access(PACKAGE, os.W_OK):
        from platformdirs import user_cache_path

        home = user_cache_path("dwellwright")
    return home / f"kernels-{source_digest()}"


def use_kernel_folder() -> None:
    """Point Numba at the folder, and drop what older sources left there."""
    folder = kernel_folder()
    if not folder.exists():
        for old in folder.parent.glob("kernels-*"):
            shutil.rmtree(old, ignore_errors=True)
        folder.mkdir(parents=True, exist_ok=True)
    numba.config.CACHE_DIR = str(folder)  # type: ignore[attr-defined]


use_kernel_folder()
