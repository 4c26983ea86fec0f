"""What the files of a job said, as cards; and what a reading can be typed in for, in groups."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from dwellwright.evidence.observation import Regime
from dwellwright.records.evidence import EvidenceRecord
from dwellwright.service.jobs import JobView
from dwellwright.service.photographs import KIND
from dwellwright.service.presentation import REGIME_LABELS
from dwellwright.service.typed_items import TypedItem, typed_items

KINDS = {
    "waveform": "sound of the drive",
    "trace": "drive recording",
    "gas": "exhaust gas",
    "gauges": "bench sheet",
    "response": "test with a response",
}


@dataclass(frozen=True)
class FileCard:
    """One file of a job: what it is, what it said in short lines, what to be wary of; `table` has a heading row."""

    record: EvidenceRecord
    kind: str
    facts: tuple[tuple[str, str], ...]
    table: tuple[tuple[str, ...], ...]
    warnings: tuple[str, ...]


def item_groups() -> dict[str, list[TypedItem]]:
    """Everything that can be typed in, by where it is read."""
    groups: dict[str, list[TypedItem]] = {}
    for one in typed_items():
        groups.setdefault(one.group, []).append(one)
    return groups


def file_cards(view: JobView) -> list[FileCard]:
    """A card for every file of a job that holds readings, newest last."""
    return [_card(one) for one in view.evidence if one.kind != KIND]


def _card(record: EvidenceRecord) -> FileCard:
    facts: Mapping[str, Any] = record.summary.get("facts", {})
    warnings = tuple(str(one) for one in record.summary.get("warnings", ()))
    lines, table = _READERS.get(record.kind, _plain)(facts)
    return FileCard(record, KINDS.get(record.kind, record.kind), tuple(lines), tuple(table), warnings)


Told = tuple[Sequence[tuple[str, str]], Sequence[tuple[str, ...]]]


def _waveform(facts: Mapping[str, Any]) -> Told:
    dwell = _span(facts.get("dwell_deg"), "deg", 2)
    if not dwell:
        pair = (facts.get("dwell_if_normal_deg"), facts.get("dwell_if_reversed_deg"))
        dwell = f"polarity not decided: {_span(pair[0], 'deg', 1)} if normal, {_span(pair[1], 'deg', 1)} if reversed"
    odd = f"{facts.get('missing_pulses', 0)} missing, {facts.get('double_pulses', 0)} doubled"
    return [
        ("dwell, six-cylinder scale", dwell),
        ("pulse rate", f"{facts.get('pulse_rate_hz', 0.0):.2f} Hz"),
        ("pulses", f"{facts.get('pulses', 0)} in {facts.get('duration_s', 0.0):.0f} s; {odd}"),
        (
            "polarity",
            f"{facts.get('polarity', '')}, {100 * facts.get('polarity_confidence', 0.0):.0f} % sure",
        ),
        ("command", f"{facts.get('pattern', '')}{_spread(facts)}"),
        *_armature(facts),
    ], []


def _spread(facts: Mapping[str, Any]) -> str:
    """How the dwell of single pulses is spread, and how even the beat is; empty where that was not kept."""
    spread = facts.get("dwell_spread_deg")
    if not spread:
        return ""
    return f", single pulses {spread['p5']:.1f} to {spread['p95']:.1f} deg, beat within {facts['jitter_ms']:.2g} ms"


def _armature(facts: Mapping[str, Any]) -> list[tuple[str, str]]:
    """When the armature was seen to move; nothing where it was not."""
    moves = (("pull_in_ms", "pulls in"), ("drop_out_ms", "drops out"))
    seen = [f"{words} after {facts[key]:.1f} ms" for key, words in moves if facts.get(key) is not None]
    return [("armature", ", ".join(seen))] if seen else []


_TRACE_COLUMNS = (
    "where",
    "from",
    "dwell, deg",
    "nine tenths",
    "reserve to rich, lean",
    "sensor",
    "crosses",
    "closed",
)


def _trace(facts: Mapping[str, Any]) -> Told:
    rows: list[tuple[str, ...]] = [_TRACE_COLUMNS]
    for key, seen in facts.get("regimes", {}).items():
        sensor = seen.get("sensor_mv")
        share = seen.get("closed_loop_share")
        spread, left = seen.get("dwell_spread_deg"), seen.get("reserve_deg")
        rows.append((
            _place(key), f"{seen['from_s']:.0f} to {seen['to_s']:.0f} s", _plus_minus(seen.get("dwell_deg")),
            f"{spread['p5']:.1f} to {spread['p95']:.1f}" if spread else "",
            f"{left['rich']:.1f}, {left['lean']:.1f}" if left else "",
            f"{sensor['low']} to {sensor['high']} mV" if sensor else "",
            f"{seen['sensor_crossings_hz']:.2f} Hz" if "sensor_crossings_hz" in seen else "",
            f"{100 * share:.0f} %" if share is not None else "",
        ))  # fmt: skip
    first = facts.get("first_closed_loop_s")
    lines = [("first closed loop", f"{first:.0f} s after the start")] if first is not None else []
    return [*lines, ("full-load enrichment", "seen" if facts.get("enrichment_seen") else "not seen")], rows


def _gas(facts: Mapping[str, Any]) -> Told:
    rows = [("where", "CO", "CO2", "O2", "HC")]
    rows += [(_gas_place(one), f"{one['co_pct']:.2f} %", f"{one['co2_pct']:.1f} %", f"{one['o2_pct']:.2f} %",
              f"{one['hc_ppm']:.0f} ppm") for one in facts.get("readings", ())]  # fmt: skip
    return [], rows


def _gas_place(one: Mapping[str, Any]) -> str:
    """Where a line of gas was read, and of how many readings it is the mean."""
    place = str(one["condition"]) + (" rpm" if str(one["condition"]).isdigit() else "")
    return f"{place}, mean of {one['readings']}" if one.get("readings", 1) > 1 else place


def _gauges(facts: Mapping[str, Any]) -> Told:
    lines = []
    for key, label, form in (("engine", "engine", "{}"), ("cylinders", "cylinders", "{}"),
                             ("displacement_l", "displacement", "{:.2f} l"),
                             ("idle_speed_rpm", "idle speed", "{:.0f} rpm")):  # fmt: skip
        if facts.get(key) is not None:
            lines.append((label, form.format(facts[key])))
    if facts.get("codes"):
        lines.append(("stored codes", ", ".join(str(one) for one in facts["codes"])))
    return lines, []


def _response(facts: Mapping[str, Any]) -> Told:
    unit = facts.get("unit", "")
    change = f"{facts.get('change', 0.0):+.3g} {unit} ({facts.get('low', 0.0):+.3g} to {facts.get('high', 0.0):+.3g})"
    return [
        ("test", str(facts.get("label", ""))),
        ("change", change),
        ("means", str(facts.get("words", ""))),
    ], []


def _plain(facts: Mapping[str, Any]) -> Told:
    return [], []


_READERS = {"waveform": _waveform, "trace": _trace, "gas": _gas, "gauges": _gauges, "response": _response}


def _place(key: str) -> str:
    return REGIME_LABELS[Regime(key)] if key in {one.value for one in Regime} else key


def _span(found: Mapping[str, float] | None, unit: str, decimals: int) -> str:
    """A value with its interval; empty where there is none."""
    if not found:
        return ""
    value, low, high = (f"{found[key]:.{decimals}f}" for key in ("value", "low", "high"))
    return f"{value} {unit} ({low} to {high})"


def _plus_minus(found: Mapping[str, float] | None) -> str:
    """A value with half its interval; empty where there is none."""
    if not found:
        return ""
    return f"{found['value']:.1f} ± {(found['high'] - found['low']) / 2:.1f}"
