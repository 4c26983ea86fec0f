"""A sound of the solenoid's wire looked at closely: its mean pulse, and dwell over any stretch of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request, Response
from markupsafe import Markup

from dwellwright.service.file_kind import FileKind
from dwellwright.service.stretches import recording_of
from dwellwright.web.charts import Chart, Line, drawn
from dwellwright.web.evidence_words import file_cards
from dwellwright.web.job_pages import JobNumber
from dwellwright.web.rendering import page, shop_of, view_of
from dwellwright.web.stations import shared_values
from dwellwright.web.stretches import asked_ends, drawn_stretch

if TYPE_CHECKING:
    from dwellwright.service.sound_view import SoundStretch

router = APIRouter()


def _stretch(request: Request, number: int, identity: int) -> tuple[dict[str, Any], SoundStretch]:
    from dwellwright.service.sound_view import sound_stretch

    shop, view = shop_of(request), view_of(request, number)
    record = recording_of(view, identity, FileKind.WAVEFORM)
    found = sound_stretch(shop, record, *asked_ends(request))
    (card,) = [one for one in file_cards(view) if one.record.id == identity]
    return {**shared_values(view), "record": record, "card": card}, found


def pulse_picture(found: SoundStretch) -> Markup:
    """The mean pulse, from the moment of energizing, or from its falling edge while nobody knows which that is."""
    time, level = (1e3 * found.pulse_time).tolist(), found.pulse_level.tolist()
    edge = "energizing" if found.decided else "the falling edge"
    words = f"Mean pulse of the wire from {time[0]:.0f} to {time[-1]:.0f} ms about {edge}"
    return drawn(
        Chart(found.pulse_label, words, time, [Line("", "trace", level)], f"milliseconds from {edge}")
    )


def dwell_picture(found: SoundStretch) -> Markup:
    """Dwell over the stretch."""
    dwell = found.dwell.tolist()
    told = f"from {min(dwell):.1f} to {max(dwell):.1f} deg" if dwell else "not known"
    words = f"Sliding dwell, {found.begin:.1f} to {found.end:.1f} s: {told}"
    return drawn(Chart("dwell, deg, sliding mean", words, found.time.tolist(), [Line("", "trace", dwell)], "seconds",
                       (0.0, 60.0), x_range=(found.begin, found.end), mark=30.0))  # fmt: skip


@router.get("/jobs/{number}/sound/{identity}")
def closely(request: Request, number: JobNumber, identity: int) -> Response:
    """The sound, or a stretch of it; the ends can be typed, or moved by the page's script."""
    values, found = _stretch(request, number, identity)
    shown = {"title": f"Job {number}: {values['record'].file.name}", "station": "evidence", "stretch": found,
             "pulse": pulse_picture(found), "dwell": dwell_picture(found) if found.time.size > 1 else ""}  # fmt: skip
    return page(request, "sound.html", {**values, **shown})


@router.get("/jobs/{number}/sound/{identity}/pictures")
def stretch_pictures(request: Request, number: JobNumber, identity: int) -> Response:
    """Only the drawing of a stretch, for the page's script."""
    _, found = _stretch(request, number, identity)
    return drawn_stretch(dwell_picture(found), found)
