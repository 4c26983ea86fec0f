"""Plots that a page lets one move along: the still picture first, the figure for the script beside it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from fastapi import APIRouter, Response
from markupsafe import Markup

if TYPE_CHECKING:
    from dwellwright.reports.plots.moving import Moving

router = APIRouter()
ADDRESS = "/static/plots/bokeh.js"
"""Where the plotting library's own script is served from; it arrives inside the library's package."""

_BUTTONS = (("left", "Left"), ("right", "Right"), ("in", "Closer"), ("out", "Wider"), ("all", "All"))


@cache
def library() -> bytes:
    """The plotting library's script."""
    return files("bokeh").joinpath("server", "static", "js", "bokeh.min.js").read_bytes()


@router.get(ADDRESS)
def script() -> Response:
    """The plotting library's script, kept by the browser."""
    return Response(
        library(), media_type="text/javascript", headers={"Cache-Control": "private, max-age=86400"}
    )


def figures_of(figures: Sequence[Moving]) -> Markup:
    """The figures for the page's script: those to move along with their buttons, then the others."""
    movable = [one for one in figures if not one.fixed]
    buttons = Markup("").join(
        Markup('<button type="button" data-go="{}">{}</button>').format(go, words) for go, words in _BUTTONS
    )
    go = Markup('<p class="links moving-go">{}</p>').format(buttons) if movable else Markup("")
    return Markup("").join([*map(_place, movable), go, *(_place(one) for one in figures if one.fixed)])


def _place(one: Moving) -> Markup:
    return Markup(
        '<div class="moving-figure" translate="no" role="group" aria-label="{}" data-figure="{}"{}></div>'
    ).format(one.alt, one.figure, Markup(" data-fixed") if one.fixed else "")


def moving(still: Markup | None, figures: Sequence[Moving]) -> Markup:
    """A still picture and its figures; without the script, or where the figures fail, the picture stays.

    Args:
        still: shown until the figures stand.
        figures: one below the other; none leaves only the picture.
    """
    if not figures:
        return still or Markup("")
    return Markup(
        '<div class="moving" data-moving><div data-still>{}</div><div data-figures hidden>{}</div></div>'
    ).format(still or "", figures_of(figures))


def moving_later(still: str, figures: str, alt: str) -> Markup:
    """The same for a page with many plots: each is drawn only when it comes near the screen.

    Args:
        still: address of the picture.
        figures: address of its figures.
        alt: the picture in words.
    """
    return Markup(
        '<div class="moving" data-moving data-source="{}"><div data-still>'
        '<img class="plot" translate="no" loading="lazy" src="{}" alt="{}"></div><div data-figures hidden></div></div>'
    ).format(figures, still, alt)
