"""Rendering pages, and reading forms without losing what was typed."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse
from fastapi.templating import Jinja2Templates
from markupsafe import Markup

from dwellwright import __version__
from dwellwright.errors import InputFault
from dwellwright.records.shop import Shop
from dwellwright.reports.plots.look import Plot

TEMPLATES = Jinja2Templates(directory=Path(__file__).parent / "templates")
SIGHTS = ("auto", "light", "dark", "contrast")
"""How the pages look: as the device says, or light, dark, or black on white for bright sun."""


def shop_of(request: Request) -> Shop:
    """The shop this application works on."""
    shop: Shop = request.app.state.shop
    return shop


def who_of(request: Request) -> str:
    """Who the audit trail names."""
    return str(request.app.state.who)


def page(request: Request, template: str, values: Mapping[str, Any], status: int = 200) -> HTMLResponse:
    """A page; every value is escaped by the template."""
    sight = request.cookies.get("sight", "auto")
    shared = {"version": __version__, "sight": sight if sight in SIGHTS else "auto", "sights": SIGHTS, "typed": {},
              "here": request.url.path}  # fmt: skip
    return TEMPLATES.TemplateResponse(request, template, {**shared, **values}, status_code=status)


def fault_page(request: Request, fault: Exception, status: int = 422) -> HTMLResponse:
    """A page that says only what is wrong."""
    return page(request, "fault.html", {"title": "That did not work", "fault": str(fault)}, status=status)


def go_to(path: str) -> RedirectResponse:
    """Send the browser to a page after a post that was done."""
    return RedirectResponse(path, status_code=303)


async def typed_of(request: Request) -> dict[str, str]:
    """The text fields of a posted form, as typed."""
    async with request.form() as form:
        return {name: value for name, value in form.items() if isinstance(value, str)}


def number_of(typed: Mapping[str, str], name: str, label: str) -> float | None:
    """A number from a form field; None where it was left empty. A decimal comma is understood.

    Raises:
        InputFault: something was typed that is no number.
    """
    text = typed.get(name, "").strip()
    if not text:
        return None
    try:
        return float(text.replace(",", ".", 1))
    except ValueError:
        raise InputFault(
            "this is not a number", where=label, wanted="a number such as 12.5", got=repr(text)
        ) from None


def numbers_of(typed: Mapping[str, str], name: str, label: str) -> list[float]:
    """Repeats typed into one field, apart by blanks or semicolons.

    Raises:
        InputFault: something was typed that is no number.
    """
    parts = typed.get(name, "").replace(";", " ").split()
    found = [number_of({name: part}, name, label) for part in parts]
    return [value for value in found if value is not None]


def picture(plot: Plot | None) -> Markup | None:
    """A plot as an image inside the page, with its words for those who cannot see it."""
    if plot is None:
        return None
    kind = "svg+xml" if plot.format.value == "svg" else "png"
    data = base64.b64encode(plot.image).decode("ascii")
    return Markup('<img class="plot" src="data:image/{};base64,{}" alt="{}">').format(kind, data, plot.alt)
