"""The page of a case: HTML with its style, its plots and its animation inside."""

from __future__ import annotations

import base64
import json
from functools import cache
from importlib.resources import files

from jinja2 import Environment, PackageLoader
from markupsafe import Markup

from dwellwright.languages.catalogue import translated
from dwellwright.languages.language import HOME, spoken
from dwellwright.languages.markup import translated_page
from dwellwright.languages.scripts import script_words
from dwellwright.reports.case.facts import CaseFacts, LoopPiece
from dwellwright.reports.facts import Photo
from dwellwright.reports.plots.look import Plot


@cache
def _environment() -> Environment:
    made = Environment(
        loader=PackageLoader("dwellwright.reports", "templates"), autoescape=True, auto_reload=False
    )
    made.filters["image"] = _image
    made.filters["photograph"] = _photograph
    return made


def case_page(facts: CaseFacts) -> str:
    """The page as HTML. It loads nothing from anywhere."""
    place = files("dwellwright.reports").joinpath("templates")
    style, script = (place.joinpath(name).read_text("utf-8") for name in ("case.css", "case.js"))
    inside = {"style": Markup(style), "script": Markup(script), "language": spoken(),  # noqa: S704 - our own files
              "data": _json([_piece(one) for one in facts.loops]), "words": _json(script_words(script))}  # fmt: skip
    page = _environment().get_template("case.html").render(f=facts, **inside)
    return page if spoken() == HOME else translated_page(page, translated)


def _json(value: object) -> Markup:
    return Markup(json.dumps(value, ensure_ascii=False).replace("</", "<\\/"))  # noqa: S704 - cannot end the script


def _piece(one: LoopPiece) -> dict[str, object]:
    return {"side": one.side, "where": one.where, "time": [round(v, 2) for v in one.time],
            "dwell": [round(v, 1) for v in one.dwell], "sensor": [round(v) for v in one.sensor]}  # fmt: skip


def _image(plot: Plot) -> Markup:
    kind = "svg+xml" if plot.format.value == "svg" else "png"
    data = base64.b64encode(plot.image).decode("ascii")
    return Markup('<img translate="no" src="data:image/{};base64,{}" alt="{}">').format(kind, data, plot.alt)


def _photograph(photo: Photo) -> Markup:
    data = base64.b64encode(photo.image).decode("ascii")
    return Markup('<img translate="no" src="data:image/jpeg;base64,{}" alt="{}">').format(data, photo.caption)
