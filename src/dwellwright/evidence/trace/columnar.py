"""Columns out of Parquet and out of ASAM MDF (the latter with the optional asammdf)."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from dwellwright.errors import InputFault
from dwellwright.evidence.trace.clock import (
    Clock,
    clock_from_moments,
    clock_from_numbers,
    clock_from_text,
    time_form,
)
from dwellwright.evidence.trace.columns import Channel, ColumnMap, ColumnUse
from dwellwright.evidence.trace.names import guess_columns, proposed_columns
from dwellwright.evidence.trace.probe import MDF, PARQUET
from dwellwright.evidence.trace.raw import RawTable, checked_columns, rival_columns
from dwellwright.evidence.trace.si import WRITTEN_TIME, SiColumns, derived


def parquet_columns(path: Path, columns: ColumnMap | None, si: SiColumns) -> RawTable:
    """The columns of a Parquet recording; only those used are read.

    Raises:
        InputFault: damaged, empty, or a used column is not numbers.
    """
    PARQUET.refuse_fatal(path)
    try:
        lazy = pl.scan_parquet(path)
        schema = lazy.collect_schema()
        header = tuple(schema.names())
        chosen = checked_columns(columns or guess_columns(header, where=path.name), header, path.name)
        _refuse_text(schema, chosen, path.name)
        used = [use.column for use in chosen.uses if use.channel is not Channel.TIME]
        floats = [pl.col(name).cast(pl.Float64) for name in used if schema[name] != pl.Float64]
        lazy = lazy.with_columns(floats).select(si.converted(chosen)).with_columns(derived(chosen))
        frame = lazy.collect(engine="streaming")
    except (pl.exceptions.PolarsError, pl.exceptions.PanicException) as fault:
        raise InputFault(
            "the Parquet file is damaged", where=path.name, got=str(fault).splitlines()[0][:160]
        ) from None
    if frame.height == 0:
        raise InputFault("the file has columns but no rows", where=f"{path.name}, row 1")
    clock = _clock(frame[WRITTEN_TIME], chosen.by_channel[Channel.TIME], path.name)
    rivals = () if columns else tuple(rival_columns(header, 0))
    return RawTable(frame.drop(WRITTEN_TIME), chosen, clock, 1, rivals, path.name)


def _refuse_text(schema: pl.Schema, columns: ColumnMap, source: str) -> None:
    for use in columns.uses:
        kind = schema[use.column]
        if use.channel is not Channel.TIME and not (kind.is_numeric() or kind == pl.Boolean):
            raise InputFault(
                "the column is not numbers", where=f"{source}, row 1, column '{use.column}'", got=str(kind)
            )


def _clock(column: pl.Series, time: ColumnUse, source: str) -> Clock:
    if column.dtype == pl.Datetime:
        return clock_from_moments(column)
    if column.dtype == pl.Duration:
        return Clock(column.dt.total_nanoseconds().cast(pl.Float64).to_numpy().astype(np.float64) * 1e-9)
    if column.dtype == pl.String:
        form = time_form(time.unit, [str(cell) for cell in column.head(50).drop_nulls()])
        if form in ("iso", "clock"):
            return clock_from_text(column, form)
    if not column.dtype.is_numeric():
        raise InputFault(
            "the time column is not time",
            where=f"{source}, row 1, column '{time.column}'",
            got=str(column.dtype),
        )
    numbers = column.cast(pl.Float64).to_numpy()
    unit = "" if time.unit in ("iso", "clock") else time.unit
    return clock_from_numbers(numbers, unit, where=f"{source}, row 1, column '{time.column}'")


@dataclass(frozen=True)
class _Signal:
    """A channel of a recording with a clock of its own, both of shape (n,)."""

    time: NDArray[np.float64]
    samples: NDArray[Any]


MDF_TIME = "time (s)"
"""What the clock of an MDF recording is called; its channels have names, it has none."""


def mdf_header(path: Path) -> tuple[str, ...]:
    """The clock and the channels of numbers of an ASAM MDF recording, each with its unit in brackets.

    Raises:
        InputFault: asammdf is not installed, or the file is damaged.
    """
    return (MDF_TIME, *_mdf_signals(path))


def mdf_columns(path: Path, columns: ColumnMap | None, si: SiColumns) -> RawTable:
    """The columns of an ASAM MDF recording, all on the clock of its busiest channel.

    Raises:
        InputFault: asammdf is not installed, or the file is damaged or has no usable channel.
    """
    signals = _mdf_signals(path)
    if not signals:
        raise InputFault("the MDF file has no channel of numbers", where=path.name)
    header = (MDF_TIME, *signals)
    chosen = checked_columns(columns or _guessed(header, path.name), header, path.name)
    if chosen.by_channel[Channel.TIME].column != MDF_TIME:
        raise InputFault("an MDF recording has a clock of its own", where=path.name, wanted=repr(MDF_TIME),
                         got=repr(chosen.by_channel[Channel.TIME].column))  # fmt: skip
    used = [use for use in chosen.uses if use.channel is not Channel.TIME]
    clock = max((signals[use.column].time for use in used), key=len)
    if len(clock) < 2:
        raise InputFault("the file has channels but no rows", where=path.name)
    data = {use.column: _on_clock(signals[use.column], clock) for use in used}
    written = pl.DataFrame({MDF_TIME: clock, **data})
    frame = written.select(si.converted(chosen)).with_columns(derived(chosen)).drop(WRITTEN_TIME)
    rivals = () if columns else tuple(rival_columns(header, 0))
    return RawTable(frame, chosen, Clock(np.asarray(clock, np.float64)), 1, rivals, path.name)


def _guessed(header: tuple[str, ...], source: str) -> ColumnMap:
    """The map that names speak of; a channel that is called a time is not the clock."""
    others = [
        name for name in header[1:] if Channel.TIME not in {u.channel for u in proposed_columns([name]).uses}
    ]
    return guess_columns((MDF_TIME, *others), where=source)


def _mdf_signals(path: Path) -> dict[str, _Signal]:
    """The channels of numbers by name and unit, unpacked by a process of its own."""
    if find_spec("asammdf") is None:
        raise InputFault(
            "MDF recordings need the optional asammdf",
            where=path.name,
            remedy="Install dwellwright[mdf], or export the recording as CSV.",
        )
    with TemporaryDirectory() as folder:
        unpacked = Path(folder) / "channels.npz"
        if fault := MDF.refuse_fatal(path, unpacked):
            raise InputFault("the MDF file is damaged", where=path.name, got=fault)
        with np.load(unpacked) as held:
            return {
                (f"{name} ({unit})" if unit else str(name)): _Signal(held[f"time{i}"], held[f"value{i}"])
                for i, (name, unit) in enumerate(held["told"])
            }


def _on_clock(signal: _Signal, clock: NDArray[np.float64]) -> NDArray[np.float64]:
    """Samples held at the clock's instants; NaN before the first."""
    index = np.searchsorted(signal.time, clock, side="right") - 1
    if not len(signal.samples):
        return np.full(len(clock), np.nan)
    held = signal.samples.astype(np.float64)[np.maximum(index, 0)]
    return np.asarray(np.where(index >= 0, held, np.nan), dtype=np.float64)
