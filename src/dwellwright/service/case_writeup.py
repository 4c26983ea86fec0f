"""A job as a case for others to learn from: anonymous, illustrated, one page."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence

import numpy as np

from dwellwright import __version__
from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.records.shop import Shop, file_place
from dwellwright.records.stages import Phase, Side
from dwellwright.reports.case.facts import CaseFacts, LoopPiece
from dwellwright.reports.case.page import case_page
from dwellwright.reports.facts import Captioned, Photo
from dwellwright.reports.lines import criterion_lines, reading_lines, setting_lines
from dwellwright.reports.plots.look import Format
from dwellwright.service.column_maps import columns_for
from dwellwright.service.evidence import evidence_file
from dwellwright.service.handover_facts import HandoverPlots, found_lines, summary_words, turned_of
from dwellwright.service.handover_plots import handover_plots
from dwellwright.service.jobs import JobView, job_view
from dwellwright.service.photographs import photographs
from dwellwright.service.plans import plan_of, step_of
from dwellwright.service.presentation import REGIME_LABELS
from dwellwright.service.proof import proof_of
from dwellwright.service.redaction import Redactor
from dwellwright.service.shop_profile import shop_profile
from dwellwright.units import dwell_degrees

PIECE, RATE = 24.0, 10.0
"""Seconds of a recording that are shown, and points of each a second [Hz]."""

SPEAKING = (Measured.DUTY, Measured.GAS_LAMBDA, Measured.CO, Measured.O2, Measured.SENSOR_MEAN, Measured.IDLE_VACUUM,
            Measured.FUEL_PRESSURE, Measured.LEAN_STOP, Measured.RICH_STOP, Measured.FLOAT_LEVEL,
            Measured.CLOSED_LOOP_SHARE)  # fmt: skip
"""Kinds of reading that a case tells; the others are in the handover's appendix."""

CHIEF = (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE, Regime.BENCH)


def write_up(shop: Shop, number: int, photos: Sequence[int] = ()) -> str:
    """The page of a case, as HTML.

    Args:
        shop: where.
        number: of the job.
        photos: identities of the photographs to show; somebody must have looked that no plate and no face is on them.

    Raises:
        InputFault: no such job or photograph.
    """
    view = job_view(shop, number)
    return case_page(case_facts(shop, view, handover_plots(shop, view), photos))


def write_up_archive(shop: Shop, number: int, photos: Sequence[int] = ()) -> bytes:
    """The page and its plots as files of their own, SVG and PNG, in one archive.

    Raises:
        InputFault: no such job or photograph.
    """
    view = job_view(shop, number)
    drawn = handover_plots(shop, view)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("case.html", case_page(case_facts(shop, view, drawn, photos)))
        for found in (drawn, handover_plots(shop, view, Format.PNG)):
            for plot in (found.before_after, *(one.plot for one in found.appendix)):
                if plot is not None:
                    archive.writestr(f"plots/{plot.file_name}", plot.image)
    return out.getvalue()


def case_facts(shop: Shop, view: JobView, plots: HandoverPlots, photos: Sequence[int] = ()) -> CaseFacts:
    """Everything a case write-up of a job says, anonymous.

    Raises:
        InputFault: the job has no such photograph.
    """
    plain = _redactor(shop, view)
    found, verdict = proof_of(view).proof, view.as_found_verdict
    by_name = {one.plot.name: one for one in plots.appendix}
    steps = [step for phase in Phase for step in plan_of(view, phase).steps]
    notes = [
        (step_of(one.done.phase, one.done.key).title, plain(one.done.note))
        for one in view.steps
        if one.done.note
    ]
    minutes = sum(one.done.minutes or 0.0 for one in view.steps)
    causes = found_lines(verdict)
    before = (
        (Captioned(plots.before_after, "Mean dwell before and after the work"),) if plots.before_after else ()
    )
    return CaseFacts(
        title=_title(plain(view.job.car), causes[0].title if causes and causes[0].probability else ""),
        car=plain(view.job.car),
        unit=plain(view.sheet.title),
        complaint=plain(view.job.complaint),
        summary=summary_words(verdict, found, bool(view.steps)),
        readings=reading_lines(_speaking(view)),
        causes=causes,
        settings=tuple(
            one for one in setting_lines(steps, turned_of(view)) if {one.as_found, one.turned} != {"–"}
        ),
        notes=tuple(notes),
        minutes=f"{minutes:.0f} min" if minutes else "",
        verdict=found.verdict,
        criteria=criterion_lines(found),
        missing=found.missing,
        loops=tuple(piece for side in Side if (piece := loop_piece(shop, view, side))),
        energized_is_lean=view.sheet.sheet.solenoid.energized == "lean",
        symptom_plots=_chosen(by_name, "drive-as-found"),
        cause_plots=_chosen(by_name, "causes", "predicted"),
        proof_plots=(*before, *_chosen(by_name, "drive-as-left")),
        photos=_photos(shop, view, photos, plain),
        taken_out=plain.count,
        invented=view.sheet.sheet.invented,
        program=f"Dwellwright {__version__}",
    )


def _speaking(view: JobView) -> list[Observation]:
    """The last reading of each kind that a case tells, before the work."""
    seen = [
        one for one in view.observations(Side.AS_FOUND) if one.measured in SPEAKING and one.regime in CHIEF
    ]
    return list({(one.regime, one.measured): one for one in seen}.values())


def _redactor(shop: Shop, view: JobView) -> Redactor:
    profile = shop_profile(shop)
    workers = {one.who for one in view.steps} | {one.who for one in view.costs}
    return Redactor([view.job.owner, profile.name, *profile.lines, *profile.people, *workers])


def _title(car: str, cause: str) -> str:
    return f"{car[:1].upper()}{car[1:]}: {cause[:1].lower()}{cause[1:]}" if cause else f"A case: {car}"


def _chosen(by_name: dict[str, Captioned], *names: str) -> tuple[Captioned, ...]:
    return tuple(by_name[name] for name in names if name in by_name)


def _photos(shop: Shop, view: JobView, wanted: Sequence[int], plain: Redactor) -> tuple[Photo, ...]:
    known = {one.id: one for one in photographs(view)}
    found = []
    for identity in wanted:
        if identity not in known:
            raise InputFault("no such file", where=f"job {view.job.number}", got=f"photograph {identity}")
        one = known[identity]
        caption = f"{one.side.value}: {plain(one.words)}" if one.words else one.side.value
        found.append(Photo(file_place(shop, one.sha256).read_bytes(), caption))
    return tuple(found)


def loop_piece(shop: Shop, view: JobView, side: Side) -> LoopPiece | None:
    """A steady stretch of the last drive of one side; None where none has dwell and sensor."""
    from dwellwright.evidence.trace import Channel, read_trace

    records = [one for one in view.evidence if one.side is side and one.kind == "trace"]
    if not records:
        return None
    try:
        path = evidence_file(shop, records[-1])
        trace = read_trace(path, columns=columns_for(shop, path))
    except InputFault:
        return None
    time, duty, volts = trace.time, trace.values(Channel.DUTY), trace.values(Channel.SENSOR_VOLTAGE)
    begin, where = _steady(records[-1].summary["facts"].get("segments", []), float(time[0]))
    grid = np.arange(0.0, min(PIECE, float(time[-1]) - begin), 1.0 / RATE)
    known = np.isfinite(duty) & np.isfinite(volts)
    if known.sum() < 2 or grid.size < 2:
        return None
    dwell = dwell_degrees(1.0) * np.interp(begin + grid, time[known], duty[known])
    sensor = 1e3 * np.interp(begin + grid, time[known], volts[known])
    return LoopPiece(side.value, where, tuple(grid.tolist()), tuple(dwell.tolist()), tuple(sensor.tolist()))


def _steady(segments: Sequence[dict[str, object]], first: float) -> tuple[float, str]:
    """Where the longest stretch of hot idle begins, or of another steady regime: its last part, when all is warm."""
    for regime in (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE):
        own = [
            (float(str(one["from_s"])), float(str(one["to_s"])))
            for one in segments
            if one["regime"] == regime.value
        ]
        if own:
            begin, end = max(own, key=lambda ends: ends[1] - ends[0])
            return max(begin, end - PIECE - 2.0), REGIME_LABELS[regime]
    return first, "from its start"
