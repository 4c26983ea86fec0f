"""What lets a device keep the workbench when the network goes: the shell's worker and the installable app's facts."""

from __future__ import annotations

from functools import cache
from hashlib import sha256
from pathlib import Path

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from dwellwright.web.moving_plots import ADDRESS, library
from dwellwright.web.rendering import page

router = APIRouter()
STATIC = Path(__file__).parent / "static"


@cache
def shell() -> tuple[str, tuple[str, ...]]:
    """Version of the static files, by their content, and their addresses."""
    files = sorted(one for one in STATIC.iterdir() if one.is_file() and one.name != "worker.js")
    total = sha256(b"".join([*(one.read_bytes() for one in files), library()])).hexdigest()[:12]
    return total, (*(f"/static/{one.name}" for one in files), ADDRESS)


@router.get("/worker.js")
def worker() -> Response:
    """The worker, at the root so that it serves every page; it changes when any static file does."""
    version, addresses = shell()
    kept = ", ".join(f'"{one}"' for one in (*addresses, "/offline"))
    head = f'const VERSION = "{version}";\nconst SHELL = [{kept}];\n'
    text = head + (STATIC / "worker.js").read_text(encoding="utf-8")
    return Response(text, media_type="text/javascript", headers={"Cache-Control": "no-cache"})


@router.get("/manifest.webmanifest")
def manifest() -> Response:
    """What a device needs to know to keep the workbench among its apps."""
    icon = {"src": "/static/mark.svg", "sizes": "any", "type": "image/svg+xml", "purpose": "any"}
    facts = {"name": "Dwellwright", "short_name": "Dwellwright", "start_url": "/", "display": "standalone",
             "background_color": "#f7f6f2", "theme_color": "#1f6070", "icons": [icon]}  # fmt: skip
    return JSONResponse(facts, media_type="application/manifest+json")


@router.get("/offline")
def offline(request: Request) -> Response:
    """Shown where a page was never opened on this device before the network went."""
    return page(request, "offline.html", {"title": "No connection"})
