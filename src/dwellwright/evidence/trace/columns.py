"""Which column of a recording is which channel, in which unit: made once, remembered by the header."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from dwellwright.errors import InputFault


class Channel(StrEnum):
    """What a column of a recording holds; the value is its SI column name in a `Trace`."""

    TIME = "time"
    ENGINE_SPEED = "engine_speed"
    MANIFOLD_PRESSURE = "manifold_pressure"
    MANIFOLD_VACUUM = "manifold_vacuum"
    BAROMETER = "barometer"
    THROTTLE_VOLTAGE = "throttle_voltage"
    THROTTLE_OPENING = "throttle_opening"
    COOLANT_TEMPERATURE = "coolant_temperature"
    SENSOR_VOLTAGE = "sensor_voltage"
    DUTY = "duty"
    ROAD_SPEED = "road_speed"


@dataclass(frozen=True)
class ColumnUse:
    """One column put to use.

    Args:
        channel: what it holds.
        column: its name in the header, as written there.
        unit: its unit, as spelled in `dwellwright.units` or the table of trace columns; a time column may
            say `clock` (hh:mm:ss), `iso` (date and time) or `epoch` (since 1970); empty means "see the data".
    """

    channel: Channel
    column: str
    unit: str


@dataclass(frozen=True)
class ColumnMap:
    """The columns of one kind of recording, each channel at most once.

    Args:
        uses: channel, column and unit of each.
        fingerprint: of the header it was made for, see `header_fingerprint`.

    Raises:
        InputFault: no time column, or a channel or column twice.
    """

    uses: tuple[ColumnUse, ...]
    fingerprint: str = ""

    def __post_init__(self) -> None:
        channels = [use.channel for use in self.uses]
        if Channel.TIME not in channels:
            raise InputFault(
                "no column is the time",
                where="column map",
                wanted="a column of seconds, hh:mm:ss, date and time, or epoch",
                got=", ".join(use.column for use in self.uses) or "no column",
                remedy="Name one column 'time (s)' or say in the column map which it is.",
            )
        for kind, names in (
            ("channel", [str(c) for c in channels]),
            ("column", [u.column for u in self.uses]),
        ):
            twice = sorted({name for name in names if names.count(name) > 1})
            if twice:
                raise InputFault(f"a {kind} is used twice", where="column map", got=", ".join(twice))

    @property
    def by_channel(self) -> dict[Channel, ColumnUse]:
        """The use of each channel present."""
        return {use.channel: use for use in self.uses}

    def to_json(self) -> str:
        """The map as JSON text, the same for the same map."""
        rows = [{"channel": str(u.channel), "column": u.column, "unit": u.unit} for u in self.uses]
        return json.dumps({"fingerprint": self.fingerprint, "columns": rows}, ensure_ascii=False, indent=1)

    @classmethod
    def from_json(cls, text: str, *, where: str = "column map") -> ColumnMap:
        """The map that `to_json` wrote.

        Raises:
            InputFault: not JSON, or not such a map.
        """
        try:
            data = json.loads(text)
            uses = tuple(
                ColumnUse(Channel(r["channel"]), str(r["column"]), str(r["unit"])) for r in data["columns"]
            )
            return cls(uses, str(data.get("fingerprint", "")))
        except InputFault:
            raise
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as fault:
            raise InputFault(
                "the column map cannot be read",
                where=where,
                wanted='{"columns": [{"channel": "time", "column": "time_s", "unit": "s"}, ...]}',
                got=f"{type(fault).__name__}: {fault}",
            ) from None


def header_fingerprint(header: Sequence[str]) -> str:
    """A short name for a header: the same for the same columns in the same order.

    >>> header_fingerprint(["time_s", "rpm"]) == header_fingerprint([" Time_s ", "RPM"])
    True
    """
    text = "\x1f".join(" ".join(name.split()).casefold() for name in header)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:16]


def save_column_map(columns: ColumnMap, folder: Path) -> Path:
    """Keep a map in a folder under its header's fingerprint; the file written."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{columns.fingerprint or 'unnamed'}.json"
    path.write_text(columns.to_json(), encoding="utf-8")
    return path


def remembered_columns(header: Sequence[str], folder: Path) -> ColumnMap | None:
    """The map kept in a folder for exactly this header, if there is one.

    Raises:
        InputFault: the kept file is damaged.
    """
    path = folder / f"{header_fingerprint(header)}.json"
    if not path.is_file():
        return None
    return ColumnMap.from_json(path.read_text(encoding="utf-8"), where=path.name)
