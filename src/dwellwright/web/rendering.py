"""Rendering pages: what all of them share, and where to go after a post."""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from secrets import token_urlsafe
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse
from fastapi.templating import Jinja2Templates
from markupsafe import Markup

from dwellwright import __version__
from dwellwright.errors import InputFault
from dwellwright.languages.catalogue import translated
from dwellwright.languages.language import HOME, LANGUAGES, spoken
from dwellwright.languages.markup import translated_page
from dwellwright.languages.scripts import script_words
from dwellwright.records.shop import Shop
from dwellwright.service.jobs import JobView, job_view
from dwellwright.service.shop_profile import shop_profile
from dwellwright.web.unit_choice import CHOICES, UnitChoice, unit_choice

if TYPE_CHECKING:
    from dwellwright.reports.plots.look import Plot

TEMPLATES = Jinja2Templates(directory=Path(__file__).parent / "templates")
TEMPLATES.env.auto_reload = False
TEMPLATES.env.filters["typed"] = lambda value: Markup('<span translate="no">{}</span>').format(value)
"""What somebody typed, or a name: it is shown as it is in every language."""

SIGHTS = {"auto": "as the device", "light": "light", "dark": "dark", "contrast": "bright sun"}
"""How the pages look: as the device says, or light, dark, or black on white for bright sun."""

PLACES = (
    ("/", "Jobs"), ("/meter", "Live meter"), ("/sheets", "Spec sheets"), ("/gauges", "Gauges"),
    ("/what-if", "What if"), ("/shop", "Shop"), ("/help", "Help"),
)  # fmt: skip
"""The workbench's pages by address, in the order of the bar at the top."""

DONE = {
    "taken": "The job is taken in.", "corrected": "Corrected. The old words stay in the history.",
    "files": "Read and added.",
    "again": "Read again; what it says now counts, what it said before stays in the history.",
    "same": "These very files were in the job already; nothing changed.",
    "reading": "Written down.", "undone": "Taken back. It stays in the history.", "gas": "Written down.",
    "weighed": "The causes are weighed.", "step": "Written down.", "handover": "The handover sheet is made.",
    "closed": "The job is ended.", "photograph": "The photograph is kept.", "sheet": "The sheet is saved.",
    "shop": "Saved.", "who": "Noted.", "listening": "Listening.", "dropped": "Thrown away.",
    "card": "The shop's gauges are brought up to date.",
    "line-back": "Taken back. It stays in the history.",
    "columns": "The columns are remembered. Add the recording now.",
    "renamed": "The columns are remembered, and the recording was read again with them.",
}  # fmt: skip
"""What a page says after a post that was done."""

MOVING = frozenset({"gas.html", "gauge_tools.html", "measuring.html", "responses.html", "bench_sheet.html"})
"""Templates with plots to move along; only these pages let the plotting library set styles, by a nonce of their own."""

POLICY = (
    "default-src 'self'; img-src 'self' data: blob:; media-src 'self' blob:; object-src 'none'; "
    "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
"""Content security policy of every answer: nothing is loaded from elsewhere, nothing is written into a page."""

YEAR = 31_536_000
"""Seconds a choice on this device is remembered."""


def policy(nonce: str = "") -> str:
    """The content security policy, letting in styles that carry the nonce where there is one."""
    return f"{POLICY}; style-src 'self' 'nonce-{nonce}'" if nonce else POLICY


def shop_of(request: Request) -> Shop:
    """The shop this application works on."""
    shop: Shop = request.app.state.shop
    return shop


def view_of(request: Request, number: int) -> JobView:
    """One job with everything that belongs to it, read once for each state of the records.

    Raises:
        InputFault: no such job.
    """
    state = request.app.state
    found: JobView = state.views.get((number, state.revision()), lambda: job_view(state.shop, number))
    return found


def who_of(request: Request) -> str:
    """Who the audit trail names: chosen on this device among the shop's people, else as the program was started."""
    chosen = request.cookies.get("who", "")
    if chosen:
        for name in _people(request):
            if quote(name) == chosen:
                return name
    return str(request.app.state.who)


def units_of(request: Request) -> UnitChoice:
    """The units that this device shows and types in."""
    return unit_choice(request.cookies.get("units", ""))


def _people(request: Request) -> tuple[str, ...]:
    """The shop's people; none where the shop's own file is damaged, which must not stop the work."""
    try:
        return shop_profile(shop_of(request)).people
    except InputFault:
        return ()


def page(request: Request, template: str, values: Mapping[str, Any], status: int = 200) -> HTMLResponse:
    """A page in the language asked for; every value is escaped by the template."""
    sight = request.cookies.get("sight", "auto")
    done = DONE.get(request.query_params.get("done", ""), "") if request.method == "GET" else ""
    shared = {
        "version": __version__, "sight": sight if sight in SIGHTS else "auto", "sights": SIGHTS, "typed": {},
        "here": request.url.path, "places": PLACES, "units_here": units_of(request), "unit_choices": CHOICES,
        "done": done, "fault": "", "language": spoken(), "languages": LANGUAGES, "words": _words(spoken()),
        "nonce": token_urlsafe(16) if template in MOVING else "",
    }  # fmt: skip
    headers = {"Content-Security-Policy": policy(str(shared["nonce"]))} if shared["nonce"] else None
    answer = TEMPLATES.TemplateResponse(
        request, template, {**shared, **values}, status_code=status, headers=headers
    )
    if spoken() == HOME:
        return answer
    spoken_page = translated_page(bytes(answer.body).decode(), translated)
    return HTMLResponse(spoken_page, status_code=status, headers=headers)


@cache
def _words(language: str) -> Markup:
    """What the scripts say in the language spoken now, as JSON that cannot end the element it stands in."""
    scripts = "".join(
        one.read_text("utf-8") for one in sorted((Path(__file__).parent / "static").glob("*.js"))
    )
    words = script_words(scripts)
    return Markup(json.dumps(words, ensure_ascii=False).replace("</", "<\\/") if words else "")  # noqa: S704


def fault_page(request: Request, fault: Exception, status: int = 422) -> HTMLResponse:
    """A page that says only what is wrong."""
    return page(request, "fault.html", {"title": "That did not work", "fault": str(fault)}, status=status)


def go_to(path: str, done: str = "", anchor: str = "") -> RedirectResponse:
    """Send the browser to a page after a post that was done, with the key of what it says there."""
    query, part = f"?done={done}" if done else "", f"#{quote(anchor)}" if anchor else ""
    return RedirectResponse(path + query + part, status_code=303)


def picture(plot: Plot | None) -> Markup | None:
    """A plot as an image inside the page, with its words for those who cannot see it."""
    if plot is None:
        return None
    kind = "svg+xml" if plot.format.value == "svg" else "png"
    data = base64.b64encode(plot.image).decode("ascii")
    return Markup('<img class="plot" translate="no" src="data:image/{};base64,{}" alt="{}">').format(
        kind, data, plot.alt
    )


def no_such_job(number: object) -> InputFault:
    """The fault of a job number that cannot be one, in the words of a number that is not one."""
    return InputFault("no such job", got=f"job {number}", remedy="The list of jobs shows those there are")
