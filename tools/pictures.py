"""Make the pictures of README and docs with the tool itself: pages in Chromium, the handover sheet as PNG.

Usage: python tools/pictures.py   (needs the test requirements and a Chromium on the path)
"""

from __future__ import annotations

import io
import shutil
import tempfile
from pathlib import Path

import pymupdf
from PIL import Image
from playwright.sync_api import sync_playwright

from dwellwright.service.demo import run_demo
from dwellwright.service.shop import open_shop
from workbench import served

PICTURES = Path(__file__).resolve().parent.parent / "docs" / "pictures"
DESKTOP, TABLET = (1280, 900), (800, 1280)
PAGES = {
    "jobs": "/", "evidence": "/jobs/1/evidence", "causes": "/jobs/1/causes", "bench": "/jobs/1/bench",
    "car": "/jobs/1/car", "proof": "/jobs/1/proof", "handover": "/jobs/1/handover", "sheets": "/sheets",
    "sheet": "/sheets/two-barrel-v6", "edit": "/sheets/new", "what-if": "/what-if?sheet=two-barrel-v6&lean_stop=38",
    "help": "/help", "arrival": "/jobs/1/arrival",
}  # fmt: skip
KEPT = {"causes-desktop", "bench-tablet", "what-if-desktop", "proof-tablet"}
"""Pictures that pages of the docs show; the others are only made when a folder is named."""


def saved(png: bytes, path: Path) -> None:
    """A picture with few colors, which is enough for pages and makes it small."""
    Image.open(io.BytesIO(png)).convert("RGB").quantize(96).save(path, optimize=True)


def main(everything: Path | None = None) -> None:
    """Make the pictures; with a folder, every page in both sizes goes there."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary) / "shop"
        shop = open_shop(folder)
        run_demo(shop, folder, lambda *_: None)
        shop.close()
        with pymupdf.open(next(folder.glob("handover*.pdf"))) as pdf:  # type: ignore[no-untyped-call]
            for number in (0, 1):
                saved(pdf[number].get_pixmap(dpi=80).tobytes("png"), PICTURES / f"handover-{number + 1}.png")
        with served(folder) as address, sync_playwright() as playwright:
            path = shutil.which("chromium") or shutil.which("chromium-browser")
            browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox", "--disable-gpu"])
            for size, (width, height) in (("desktop", DESKTOP), ("tablet", TABLET)):
                page = browser.new_page(viewport={"width": width, "height": height})
                for name, where in PAGES.items():
                    page.goto(address + where)
                    key = f"{name}-{size}"
                    if key in KEPT:
                        saved(page.screenshot(), PICTURES / f"{key}.png")
                    if everything:
                        page.screenshot(
                            path=everything / f"{key}.png", full_page=name not in ("edit", "evidence")
                        )
            browser.close()


if __name__ == "__main__":
    import sys

    main(Path(sys.argv[1]) if len(sys.argv) > 1 else None)
