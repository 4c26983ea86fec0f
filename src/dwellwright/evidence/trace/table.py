"""Read a drive recording from a file: CSV, TSV, semicolons with decimal commas, Parquet, MDF."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
import polars as pl

from dwellwright.errors import InputFault
from dwellwright.evidence.trace.columnar import mdf_columns, parquet_columns
from dwellwright.evidence.trace.columns import Channel, ColumnMap, ColumnUse
from dwellwright.evidence.trace.cycles import typical_step
from dwellwright.evidence.trace.damage import (
    column_findings,
    column_scan,
    gap_finding,
    jitter_finding,
    refuse_mistaken_unit,
)
from dwellwright.evidence.trace.names import channel_limits
from dwellwright.evidence.trace.order import ordered_time
from dwellwright.evidence.trace.raw import RawTable
from dwellwright.evidence.trace.si import SiColumns
from dwellwright.evidence.trace.text import text_columns
from dwellwright.evidence.trace.trace import WORKERS, Damage, Finding, Polarity, Trace
from dwellwright.units import SIX_CYLINDER_SCALE

_MAGIC = ((b"PAR1", parquet_columns), (b"MDF     ", mdf_columns), (b"UnFinMF ", mdf_columns))


def read_trace(
    path: Path | str,
    *,
    columns: ColumnMap | None = None,
    dwell_cylinders: int = SIX_CYLINDER_SCALE,
    polarity: Polarity = Polarity.ENERGIZED_LEAN,
) -> Trace:
    """A drive recording in SI, with its damage listed.

    Args:
        path: CSV, TSV or semicolon text, Parquet, or ASAM MDF.
        columns: which column is what; guessed from the header when left out.
        dwell_cylinders: cylinder scale of the dwell meter that made the recording.
        polarity: what a high duty reading means.

    Raises:
        InputFault: the file cannot be used; the message says where and what to do.
    """
    file = Path(path)
    if dwell_cylinders not in range(1, 17):
        raise ValueError(f"dwell_cylinders must be 1 to 16, got {dwell_cylinders}")
    raw = _raw_table(file, columns, SiColumns(dwell_cylinders, polarity))
    frame, findings = _scanned(raw, dwell_cylinders)
    return _assembled(frame, raw, [*raw.findings, *findings], polarity)


def _raw_table(path: Path, columns: ColumnMap | None, si: SiColumns) -> RawTable:
    if not path.is_file():
        raise InputFault("there is no such file", where=str(path.name or path), wanted="a recording")
    try:
        with path.open("rb") as file:
            start = file.read(8)
        reader = next((read for magic, read in _MAGIC if start.startswith(magic)), text_columns)
        return reader(path, columns, si)
    except OSError as fault:
        raise InputFault(
            "the file cannot be read", where=path.name, got=str(fault.strerror or fault)
        ) from None


def _scanned(raw: RawTable, cylinders: int) -> tuple[pl.DataFrame, list[Finding]]:
    """The columns with impossible cells blanked, and what was wrong with them."""
    findings: list[Finding] = []
    repaired: list[pl.Expr] = []
    head = raw.clock.seconds[:20_000]
    step = typical_step(head[np.isfinite(head)])
    with ThreadPoolExecutor(WORKERS) as pool:
        columns = raw.frame.get_columns()
        bad = {f.channel: f.count for f in raw.findings if f.kind is Damage.BAD_CELL}
        scans = list(pool.map(lambda column: column_scan(_use(raw, column.name), column), columns))
    for scan in scans:
        refuse_mistaken_unit(scan, first_row=raw.first_row, source=raw.source, cylinders=cylinders)
        blank = replace(scan, nulls=max(0, scan.nulls - bad.get(scan.use.channel, 0)))
        findings += column_findings(blank, rows=raw.frame.height, first_row=raw.first_row, step=step)
        if scan.nans + scan.infinite + scan.outside:
            repaired.append(_possible(scan.use.channel))
    return raw.frame.with_columns(repaired) if repaired else raw.frame, findings


def _use(raw: RawTable, name: str) -> ColumnUse:
    """The column behind a channel; one made from others stands for itself."""
    return raw.columns.by_channel.get(Channel(name)) or ColumnUse(Channel(name), name, "Pa")


def _possible(channel: Channel) -> pl.Expr:
    column = pl.col(str(channel))
    return pl.when(column.is_between(*channel_limits(channel)) & column.is_not_nan()).then(column)


def _assembled(frame: pl.DataFrame, raw: RawTable, findings: list[Finding], polarity: Polarity) -> Trace:
    ordered = ordered_time(raw.clock.seconds, first_row=raw.first_row, source=raw.source)
    if ordered.kept is not None:
        frame = frame.filter(pl.Series(ordered.kept))
    frame = frame.insert_column(0, pl.Series(str(Channel.TIME), ordered.seconds))
    if Channel.DUTY in frame.columns:
        frame = _clipped_duty(frame)
    gap = gap_finding(ordered.seconds, first_row=raw.first_row)
    uneven = jitter_finding(ordered.seconds, first_row=raw.first_row)
    of_clock = [one for one in (gap, uneven) if one]
    all_findings = [*findings, *ordered.findings, *of_clock, *_assumptions(raw)]
    return Trace(frame, raw.columns, tuple(all_findings), raw.source, polarity, raw.clock.started)


def _clipped_duty(frame: pl.DataFrame) -> pl.DataFrame:
    duty = frame[str(Channel.DUTY)]
    low, high = duty.min(), duty.max()
    outside = isinstance(low, float) and isinstance(high, float) and (low < 0.0 or high > 1.0)
    return frame.with_columns(duty.clip(0.0, 1.0)) if outside else frame


def _assumptions(raw: RawTable) -> list[Finding]:
    uses = raw.columns.by_channel
    found = []
    if raw.clock.assumed:
        found.append(Finding(Damage.ASSUMED, Channel.TIME, 1, 1, raw.clock.assumed))
    if Channel.MANIFOLD_VACUUM in uses and not {Channel.MANIFOLD_PRESSURE, Channel.BAROMETER} & set(uses):
        text = (
            "Manifold pressure is taken from vacuum with a sea-level barometer; there is no barometer column."
        )
        found.append(Finding(Damage.ASSUMED, Channel.MANIFOLD_PRESSURE, 1, 0, text))
    return found
