"""Plots of evidence as files, each kind of evidence in its own way."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from dwellwright.errors import InputFault
from dwellwright.records.shop import Shop
from dwellwright.service.calibrations import corrections
from dwellwright.service.column_maps import columns_for

if TYPE_CHECKING:
    from dwellwright.evidence.trace import ColumnMap
    from dwellwright.evidence.waveform.types import Polarity
    from dwellwright.reports.plots.look import Format, Plot

ENDINGS = ("svg", "png")


def write_plot(draw: Callable[[Format], Plot], path: Path) -> Plot:
    """Draw into a new file; the ending of its name says the form.

    Raises:
        InputFault: another ending, the file is there already, or it cannot be written.
    """
    from dwellwright.reports.plots.look import Format

    ending = path.suffix.lower().removeprefix(".")
    if ending not in ENDINGS:
        raise InputFault("no such form of a plot", where=path.name, got=repr(ending),
                         wanted=" or ".join(f".{one}" for one in ENDINGS))  # fmt: skip
    drawn = draw(Format(ending))
    try:
        with open(path, "xb") as file:
            file.write(drawn.image)
    except OSError as fault:
        raise InputFault(
            "the plot cannot be written", where=str(path), got=fault.strerror or str(fault)
        ) from None
    return drawn


def evidence_plot(
    path: Path,
    form: Format,
    shop: Shop | None = None,
    polarity: Polarity | None = None,
    sample_rate: float | None = None,
) -> Plot:
    """An evidence file drawn, whatever its kind: sound, drive recording, gas table, bench sheet, gauge study.

    Args:
        path: of the file; its content decides what it is.
        form: of the picture.
        shop: whose remembered columns and calibrations count; None for none.
        polarity: of a sound recording; None to see it from the signal.
        sample_rate: rows in a second of volts without time. [Hz]

    Raises:
        InputFault: the file cannot be used, or holds nothing to draw.
    """
    from dwellwright.service.file_kind import FileKind, file_kind

    if _is_study(path):
        from dwellwright.service.gauge_checks import gauge_study

        return gauge_study(path).plot(form)
    kind = file_kind(path)
    if kind is FileKind.WAVEFORM:
        return _sound(path, form, polarity, sample_rate)
    if kind is FileKind.TRACE:
        return _drive(path, form, columns_for(shop, path) if shop else None)
    if kind is FileKind.GAS:
        return _gas(path, form)
    from dwellwright.service.measuring_plots import bench_plot

    return bench_plot(path, form, corrections(shop) if shop else {})


def _is_study(path: Path) -> bool:
    """Whether a table names parts and hands in its first line."""
    try:
        with open(path, encoding="utf-8-sig", errors="replace") as file:
            words = {word.strip().lower() for word in file.readline(2000).replace(";", ",").split(",")}
    except OSError:
        return False
    return {"part", "hand", "unit"} <= words


def _sound(path: Path, form: Format, polarity: Polarity | None, sample_rate: float | None) -> Plot:
    from dwellwright.evidence.waveform import Polarity, read_waveform
    from dwellwright.reports.plots.pulses import pulse_plot
    from dwellwright.units import dwell_degrees

    read = read_waveform(path, polarity=polarity or Polarity.AUTO, sample_rate=sample_rate)
    duty = read.duty
    said = f"dwell {dwell_degrees(duty.value):.1f} deg" if duty else "polarity not decided"
    said += f", {read.pulse_rate.value:.2f} pulses a second, {read.pattern.value}"
    sliding = read.sliding_time, dwell_degrees(1.0) * read.sliding_duty
    return pulse_plot((read.shape.x, read.shape.y), sliding, said, form)


def _drive(path: Path, form: Format, columns: ColumnMap | None) -> Plot:
    from dwellwright.evidence.trace.probe import make_ready

    make_ready(path)
    from dwellwright.evidence.trace import Channel, read_trace, summarize
    from dwellwright.reports.plots.recordings import Span, drive_trace
    from dwellwright.service.presentation import REGIME_LABELS
    from dwellwright.units import dwell_degrees

    trace = read_trace(path, columns=columns)
    spans = [Span(one.begin, one.end, REGIME_LABELS[one.regime]) for one in summarize(trace).segments]
    tracks = [trace.values(one) if trace.has(one) else trace.time * float("nan")
               for one in (Channel.DUTY, Channel.SENSOR_VOLTAGE, Channel.ENGINE_SPEED)]  # fmt: skip
    return drive_trace(trace.time, dwell_degrees(1.0) * tracks[0], tracks[1], tracks[2], spans, form)


def _gas(path: Path, form: Format) -> Plot:
    from dwellwright.service.gas_verdict import chosen_options, gas_verdict

    verdict = gas_verdict(path, chosen_options())
    return verdict.over_time(form) or verdict.plot(form)
