"""Which column of a recording is what, where its header does not say: made once, remembered by the header."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from dwellwright.errors import InputFault
from dwellwright.records.audit import record_change
from dwellwright.records.engine import writing
from dwellwright.records.shop import Shop

if TYPE_CHECKING:
    from dwellwright.evidence.trace import ColumnMap, ColumnUse

FOLDER = "columns"
TIME_FORMS = ("s", "ms", "min", "clock", "iso", "epoch")
MOST_COLUMNS = 1000


@dataclass(frozen=True)
class HeaderRow:
    """One channel a recording may hold: units it may be in, and the column that seems to be it with its unit."""

    channel: str
    units: tuple[str, ...]
    column: str
    unit: str


def header_of(path: Path) -> tuple[str, ...]:
    """Names of the columns of a recording in text, Parquet or MDF.

    Raises:
        InputFault: the file has no header that can be read.
    """
    import polars as pl

    from dwellwright.evidence.trace.columnar import mdf_header
    from dwellwright.evidence.trace.layout import text_layout
    from dwellwright.evidence.trace.probe import PARQUET

    try:
        with open(path, "rb") as file:
            start = file.read(8)
        if start.startswith(b"PAR1"):
            PARQUET.refuse_fatal(path)
            return tuple(pl.scan_parquet(path).collect_schema().names())
        if start.startswith((b"MDF", b"UnFinMF")):
            return mdf_header(path)
        return text_layout(path).header
    except OSError as fault:
        raise InputFault(
            "the file cannot be read", where=path.name, got=fault.strerror or str(fault)
        ) from None
    except (pl.exceptions.PolarsError, pl.exceptions.PanicException) as fault:
        raise InputFault("the Parquet file is damaged", where=path.name, got=str(fault)[:160]) from None


def proposed_rows(header: Sequence[str]) -> list[HeaderRow]:
    """Every channel with what the header seems to say of it."""
    from dwellwright.evidence.trace.columns import Channel
    from dwellwright.evidence.trace.names import channel_units, proposed_columns

    seen = proposed_columns(header)
    found = {use.channel: use for use in (*seen.uses, *seen.unit_asked)}
    rows = []
    for channel in Channel:
        use = found.get(channel)
        units = TIME_FORMS if channel is Channel.TIME else channel_units(channel)
        rows.append(HeaderRow(channel.value, units, use.column if use else "", use.unit if use else ""))
    return rows


def keep_columns(
    shop: Shop, header: Sequence[str], uses: Mapping[str, tuple[str, str]], who: str
) -> ColumnMap:
    """Remember which column is what, for every recording with this header.

    Args:
        shop: where.
        header: of the recording.
        uses: by channel, its column and unit.
        who: who says so.

    Raises:
        InputFault: no such channel, column or unit, no time, or nothing beside it.
    """
    from dwellwright.evidence.trace.columns import ColumnMap, header_fingerprint, save_column_map

    if len(header) > MOST_COLUMNS:
        raise InputFault(
            "the header has too many columns", wanted=f"at most {MOST_COLUMNS}", got=str(len(header))
        )
    chosen = [_use(header, name, column, unit) for name, (column, unit) in uses.items()]
    made = ColumnMap(tuple(chosen), header_fingerprint(header))
    if len(chosen) < 2:
        raise InputFault(
            "no column beside the time is named", where="column map", wanted="one of the engine at least"
        )
    try:
        save_column_map(made, shop.folder / FOLDER)
    except OSError as fault:
        raise InputFault(
            "the shop folder cannot be written", where=str(shop.folder), got=str(fault)
        ) from None
    with writing(shop.engine) as connection:
        record_change(
            connection, who, "columns named", after={"header": made.fingerprint, "columns": len(chosen)}
        )
    return made


def _use(header: Sequence[str], name: str, column: str, unit: str) -> ColumnUse:
    from dwellwright.evidence.trace.columns import Channel, ColumnUse
    from dwellwright.evidence.trace.names import channel_units

    if name not in {one.value for one in Channel}:
        raise InputFault("no such channel", got=repr(name), wanted=", ".join(Channel))
    units = TIME_FORMS if name == Channel.TIME else channel_units(Channel(name))
    if column not in header:
        raise InputFault(
            "the recording has no such column", where=name, got=repr(column), wanted=", ".join(header)
        )
    if unit not in units:
        raise InputFault(
            "the unit does not measure this", where=name, got=repr(unit), wanted=", ".join(units)
        )
    return ColumnUse(Channel(name), column, unit)


def columns_for(shop: Shop, path: Path) -> ColumnMap | None:
    """The map remembered for exactly this recording's header; None where there is none or the file has no header.

    Raises:
        InputFault: the kept map is damaged.
    """
    from dwellwright.evidence.trace.columns import remembered_columns

    if not any((shop.folder / FOLDER).glob("*.json")):
        return None
    try:
        header = header_of(path)
    except InputFault:
        return None
    return remembered_columns(header, shop.folder / FOLDER)
