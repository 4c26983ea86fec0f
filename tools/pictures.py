"""Make the pictures of README and docs with the tool itself: pages in Chromium, the handover sheet as PNG.

Usage: python tools/pictures.py [FOLDER]   (needs the test requirements and a Chromium on the path)
"""

from __future__ import annotations

import io
import re
import shutil
import tempfile
from pathlib import Path

import pymupdf
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from dwellwright.web.app import build_app
from workbench import SHEET, STATES, addresses, furnish, served

PICTURES = Path(__file__).resolve().parent.parent / "docs" / "pictures"
SIZES = {"desktop": (1440, 900), "tablet": (800, 1280)}
KEPT = {
    "causes-desktop": "/jobs/1/causes", "bench-tablet": "/jobs/1/bench", "proof-tablet": "/jobs/1/proof",
    "what-if-desktop": f"/what-if?sheet={SHEET}&lean_stop=38", "meter-tablet": "/meter?job=2",
    "measuring-tablet": "/jobs/1/measuring",
}  # fmt: skip
"""Pictures that pages of the docs show, with the address of each."""


def saved(png: bytes, path: Path) -> None:
    """A picture with few colors, which is enough for pages and makes it small."""
    Image.open(io.BytesIO(png)).convert("RGB").quantize(96).save(path, optimize=True)


def main(everything: Path | None = None) -> None:
    """Make the pictures; with a folder, every page of the workbench in both sizes goes there."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary) / "shop"
        furnish(folder)
        with pymupdf.open(next(folder.glob("handover*.pdf"))) as pdf:  # type: ignore[no-untyped-call]
            for number in (0, 1):
                saved(pdf[number].get_pixmap(dpi=80).tobytes("png"), PICTURES / f"handover-{number + 1}.png")
        with served(folder) as address, sync_playwright() as playwright:
            path = shutil.which("chromium") or shutil.which("chromium-browser")
            browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox", "--disable-gpu"])
            pages = {size: _page(browser, *ends) for size, ends in SIZES.items()}
            for name, where in KEPT.items():
                page = pages[name.rpartition("-")[2]]
                page.goto(address + where, wait_until="networkidle")  # plots that move come after the page
                saved(page.screenshot(), PICTURES / f"{name}.png")
            if everything:
                _all(pages, address, folder, everything)
            browser.close()


def _page(browser: Browser, width: int, height: int) -> Page:
    return browser.new_page(viewport={"width": width, "height": height})


def _all(pages: dict[str, Page], address: str, folder: Path, place: Path) -> None:
    app = build_app(folder)
    known = (*addresses(app), *STATES)
    app.state.shop.close()
    for path in known:
        answer = pages["tablet"].request.get(address + path)
        if "<nav" not in (answer.text() if "text/html" in answer.headers.get("content-type", "") else ""):
            continue
        for size, page in pages.items():
            page.goto(address + path)
            page.screenshot(path=place / f"{re.sub('[^a-z0-9]+', '-', path).strip('-') or 'jobs'}-{size}.png")


if __name__ == "__main__":
    import sys

    main(Path(sys.argv[1]) if len(sys.argv) > 1 else None)
