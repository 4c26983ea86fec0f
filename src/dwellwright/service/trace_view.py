"""A drive recording to look at closely: any stretch of it in so many columns, each with its exact least and largest."""

from __future__ import annotations

import json
import os
import tempfile
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from dwellwright.errors import InputFault
from dwellwright.records.evidence import EvidenceRecord
from dwellwright.records.shop import Shop, file_place
from dwellwright.service.column_maps import columns_for
from dwellwright.service.stretches import Stretch, stretch_within
from dwellwright.units import dwell_degrees

if TYPE_CHECKING:
    from dwellwright.evidence.trace import ColumnMap

CACHE = "unpacked"
"""Folder of the shop that holds recordings as plain columns; it can be thrown away at any time."""

MOST_OPEN = 8
FEWEST, MOST = 50, 2000
"""Columns a picture may have."""

Floats = NDArray[np.float64]
_OPEN: OrderedDict[str, tuple[list[str], Floats]] = OrderedDict()
_LOCK = Lock()


@dataclass(frozen=True)
class Shown:
    """How a channel of a recording is shown: its label with the unit, factor and offset from SI."""

    label: str
    factor: float
    offset: float = 0.0


CHANNELS = {
    "duty": Shown("dwell, deg", dwell_degrees(1.0)),
    "sensor_voltage": Shown("exhaust sensor, mV", 1e3),
    "engine_speed": Shown("engine, rpm", 60.0),
    "manifold_pressure": Shown("manifold, kPa", 1e-3),
    "throttle_voltage": Shown("throttle sensor, V", 1.0),
    "coolant_temperature": Shown("coolant, °C", 1.0, -273.15),
    "road_speed": Shown("road speed, km/h", 3.6),
}
"""Channels that are shown, in this order."""


@dataclass(frozen=True)
class Column:
    """One channel over the stretch: least and largest of every column of the picture, NaN where there is no reading."""

    name: str
    label: str
    low: Floats
    high: Floats


@dataclass(frozen=True)
class TraceStretch(Stretch):
    """A stretch of a drive recording: the middle of every column of its picture [s], and the channels."""

    time: Floats
    channels: tuple[Column, ...]


def stretch_of(
    shop: Shop, record: EvidenceRecord, begin: float | None, end: float | None, columns: int
) -> TraceStretch:
    """A stretch of a recording, at most so many columns wide.

    Args:
        shop: where.
        record: of the recording.
        begin: of the stretch; its start where None. [s]
        end: of the stretch; its end where None. [s]
        columns: of the picture.

    Raises:
        InputFault: the recording can no longer be read.
    """
    names, table = unpacked(shop, record)
    time = table[0]
    cut, rows = stretch_within(time, begin, end)
    marks = _marks(rows.start, rows.stop, min(max(columns, FEWEST), MOST))
    middle = 0.5 * (time[marks] + time[np.minimum(np.append(marks[1:], rows.stop), time.size - 1)])
    found = [_column(name, row[: rows.stop], marks) for name, row in zip(names[1:], table[1:], strict=True)]
    return TraceStretch(**vars(cut), time=np.asarray(middle), channels=tuple(found))


def _marks(start: int, stop: int, columns: int) -> NDArray[np.int64]:
    """First row of every column; never two columns on one row."""
    return np.unique(np.linspace(start, stop, columns, endpoint=False).astype(np.int64))


def _column(name: str, row: Floats, marks: NDArray[np.int64]) -> Column:
    shown = CHANNELS[name]
    low, high = np.fmin.reduceat(row, marks), np.fmax.reduceat(row, marks)
    return Column(name, shown.label, shown.factor * low + shown.offset, shown.factor * high + shown.offset)


def unpacked(shop: Shop, record: EvidenceRecord) -> tuple[list[str], Floats]:
    """Names and rows of a recording, time first, mapped from the disk: read once, then only looked at.

    Raises:
        InputFault: the recording can no longer be read.
    """
    source = file_place(shop, record.file.sha256)
    columns = columns_for(shop, source)
    name = record.file.sha256 + (f"-{sha256(repr(columns).encode()).hexdigest()[:12]}" if columns else "")
    key = f"{shop.folder}:{name}"
    with _LOCK:
        if key in _OPEN:
            _OPEN.move_to_end(key)
            return _OPEN[key]
        place = shop.folder / CACHE / name
        found = _mapped(place)
        if found is None:
            _unpack(source, columns, place)
            found = _mapped(place)
        if found is None:
            raise InputFault(
                "the recording cannot be unpacked", where=str(place), remedy="Check the shop folder"
            )
        _OPEN[key] = found
        while len(_OPEN) > MOST_OPEN:
            _OPEN.popitem(last=False)
        return found


def _mapped(place: Path) -> tuple[list[str], Floats] | None:
    try:
        names: list[str] = json.loads(place.with_suffix(".json").read_text(encoding="utf-8"))
        table = np.load(place.with_suffix(".npy"), mmap_mode="r", allow_pickle=False)
    except (OSError, ValueError):
        return None
    return (names, table) if table.ndim == 2 and table.shape[0] == len(names) and table.shape[1] > 1 else None


def _unpack(source: Path, columns: ColumnMap | None, place: Path) -> None:
    from dwellwright.evidence.trace import Channel, read_trace

    trace = read_trace(source, columns=columns)
    names = [one for one in CHANNELS if trace.has(Channel(one))]
    rows = [trace.time, *(trace.values(Channel(one)) for one in names)]
    try:
        place.parent.mkdir(exist_ok=True)
        _written(place.with_suffix(".npy"), rows)
        place.with_suffix(".json").write_text(json.dumps(["time", *names]), encoding="utf-8")
    except OSError as fault:
        raise InputFault("the recording cannot be unpacked", where=str(place),
                         got=fault.strerror or str(fault)) from None  # fmt: skip


def _written(path: Path, rows: Sequence[Any]) -> None:
    handle, draft = tempfile.mkstemp(dir=path.parent, prefix=".unpacking-")
    with os.fdopen(handle, "wb") as file:
        np.save(file, np.vstack(rows))
    os.replace(draft, path)
