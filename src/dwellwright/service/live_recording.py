"""Recording an instrument while it speaks: written down line by line, so that nothing is lost when the power goes."""

from __future__ import annotations

import csv
import time
from collections import deque
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from threading import Event, Lock, Thread

from dwellwright.errors import InputFault
from dwellwright.evidence.instrument.description import GASES, Column, Description
from dwellwright.evidence.instrument.lines import decoded, seconds
from dwellwright.evidence.instrument.wire import opened, text_lines
from dwellwright.evidence.trace.columns import Channel
from dwellwright.evidence.trace.names import column_unit
from dwellwright.units import from_si

LONGEST, MOST_ROWS = 8 * 3600.0, 5_000_000
"""Seconds and rows of one recording; then it ends by itself."""

KEPT_SECONDS = 60.0
"""What can be shown and taken as a reading. [s]"""

SHOWN = {
    "time": ("time_s", "s", 2), "engine_speed": ("rpm", "rpm", 0), "manifold_pressure": ("map_kpa", "kPa", 1),
    "manifold_vacuum": ("vacuum_kpa", "kPa", 1), "barometer": ("baro_kpa", "kPa", 1),
    "throttle_voltage": ("tps_v", "V", 2), "throttle_opening": ("throttle_pct", "%", 1),
    "coolant_temperature": ("coolant_c", "degC", 0), "sensor_voltage": ("o2_mv", "mV", 0),
    "duty": ("dwell_deg", "deg", 1), "road_speed": ("speed_kmh", "km/h", 0),
    "co": ("co_pct", "%", 2), "co2": ("co2_pct", "%", 1), "o2": ("o2_pct", "%", 2), "hc": ("hc_ppm", "ppm", 0),
}  # fmt: skip
"""Header, unit and decimals of every channel as it is written down and shown; a test reads each header again."""


@dataclass(frozen=True)
class Progress:
    """How a recording stands: seconds and rows so far, the newest value of each channel, lines passed over, faults."""

    running: bool
    rows: int
    seconds: float
    values: Mapping[str, float]
    passed: int
    odd: int
    last_line: str
    fault: str


def written_value(column: Column, value: float) -> float:
    """A value as sent, in the unit it is written down in."""
    if column.channel in GASES:
        return value
    if column.channel == Channel.DUTY and column.unit == "deg":
        return value * column.cylinders / 6.0
    unit = column_unit(column.unit)
    si = value * unit.factor + unit.offset
    if column.channel == Channel.DUTY:
        return 60.0 * si
    return from_si(si, SHOWN[column.channel][1])


class Recorder:
    """One recording: a thread that listens until it is stopped, and the file it writes."""

    def __init__(self, description: Description, address: str, path: Path) -> None:
        self.description, self.address, self.path = description, address, path
        self._columns = {one.channel: one for one in description.column}
        self._names = [name for name in SHOWN if name in self._columns or name == Channel.TIME]
        self._stop, self._lock, self._ready = Event(), Lock(), Event()
        self._recent: deque[tuple[float, dict[str, float]]] = deque()
        self._rows, self._passed, self._odd, self._last, self._fault = 0, 0, 0, "", ""
        self._begun, self._first, self._at = time.monotonic(), 0.0, 0.0
        self._thread = Thread(target=self._run, name="recorder", daemon=True)

    def start(self, patience: float = 8.0) -> None:
        """Begin, and come back once the instrument took the call.

        Raises:
            InputFault: it cannot be reached.
        """
        self._thread.start()
        self._ready.wait(patience)
        if self._fault and not self._rows:
            self._thread.join(patience)
            raise InputFault(self._fault)

    def stop(self) -> None:
        """End, and wait until everything is written."""
        self._stop.set()
        self._thread.join(10.0)

    def wait(self, longest: float) -> None:
        """Wait until the recording ends by itself, or so many seconds passed. [s]"""
        self._thread.join(longest)

    def progress(self) -> Progress:
        """How it stands now."""
        with self._lock:
            values = dict(self._recent[-1][1]) if self._recent else {}
            return Progress(self._thread.is_alive(), self._rows, self._at, values, self._passed, self._odd,
                            self._last, self._fault)  # fmt: skip

    def recent(self, length: float) -> dict[str, list[tuple[float, float]]]:
        """Time and value of every channel over the last so many seconds. [s; units as written]"""
        with self._lock:
            rows = [row for row in self._recent if row[0] >= self._at - length]
        return {
            name: [(at, values[name]) for at, values in rows if name in values] for name in self._names[1:]
        }

    def _run(self) -> None:
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            with self.path.open("w", encoding="utf-8", newline="") as file:
                table = csv.writer(file)
                table.writerow([SHOWN[name][0] for name in self._names])
                with opened(self.description.connection, self.address) as line:
                    self._ready.set()
                    for text in text_lines(line, self.description.connection):
                        row = None if text is None else self._taken(text)
                        if row is not None:
                            table.writerow(row)
                        if text is None:
                            file.flush()
                        if self._stop.is_set() or self._rows >= MOST_ROWS or self._at >= LONGEST:
                            return
        except InputFault as fault:
            self._fault = str(fault)
        except OSError as fault:
            self._fault = f"the recording cannot be written: {fault.strerror or fault}"
        finally:
            self._ready.set()

    def _taken(self, text: str) -> list[str] | None:
        found = decoded(self.description, text)
        now = time.monotonic() - self._begun
        with self._lock:
            self._last = text[:120]
            if found.passed or not found.values:
                self._passed += found.passed
                self._odd += not found.passed
                return None
            self._odd += bool(found.fault)
            own = self._columns.get(Channel.TIME)
            sent = found.values.get(Channel.TIME)
            at = now if own is None or sent is None else seconds(own, sent)
            if not self._rows:
                self._first = at
            at -= self._first
            values = {name: written_value(self._columns[name], value)
                      for name, value in found.values.items() if name != Channel.TIME}  # fmt: skip
            self._at, self._rows = max(at, 0.0), self._rows + 1
            self._recent.append((self._at, values))
            while self._recent and self._recent[0][0] < self._at - KEPT_SECONDS:
                self._recent.popleft()
        return [f"{at:.4f}", *(f"{values[name]:.9g}" if name in values else "" for name in self._names[1:])]


def thrown_away(path: Path) -> None:
    """Remove a draft."""
    with suppress(OSError):
        path.unlink()
