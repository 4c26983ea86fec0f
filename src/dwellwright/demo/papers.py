"""The demonstration's papers: gas tables, bench sheet, and what the technician did, read with a technician's hands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from dwellwright.carburetor.prediction import predicted, sensitivities
from dwellwright.carburetor.state import CarState
from dwellwright.catalogue.fuels import fuel_named
from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.loop.simulation import LoopStatistics
from dwellwright.physics.combustion import gas_composition
from dwellwright.procedure.hand import hand_turn
from dwellwright.units import dwell_degrees, from_si, step_from_si, step_to_si

UNBURNED = 0.010
"""Share of the charge that leaves unburned on a healthy idle, assumed: some 150 to 250 ppm of hydrocarbons."""
MIXING = 0.045
"""Spread of fuel between charges, assumed: puts CO and O2 side by side as a real engine does."""
THOU_DOUBT = 0.25
"""How well the technician reads the dial indicator. [thou]"""
TURN_DOUBT = 1 / 64
"""How well the technician stops at a mark. [turns]"""


@dataclass(frozen=True)
class Entry:
    """One line of the work: what `dwellwright job step` would be given."""

    phase: str
    key: str
    minutes: float
    note: str = ""
    unit: str = ""
    instrument: str = ""
    as_found: tuple[float, ...] = ()
    as_left: tuple[float, ...] = ()
    turns: float | None = None
    passed: bool | None = None


def write_gas(path: Path, conditions: Sequence[tuple[str, LoopStatistics]], seed: int) -> None:
    """A gas table from the mean mixture that was burned at each condition, read by an analyzer."""
    rng = np.random.default_rng(seed)
    lines = ["condition,co_pct,co2_pct,o2_pct,hc_ppm"]
    for name, seen in conditions:
        gas = gas_composition(seen.air_ratio_mean, fuel_named("gasoline"), UNBURNED, mixing_spread=MIXING)
        co, co2, o2 = (
            100 * value * (1 + rng.normal(0, 0.01))
            for value in (gas.carbon_monoxide, gas.carbon_dioxide, gas.oxygen)
        )
        hc = 1e6 * gas.hydrocarbon * (1 + rng.normal(0, 0.02))
        lines.append(f"{name},{co:.2f},{co2:.1f},{o2:.2f},{hc:.0f}")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def write_bench(path: Path, sheet: SpecSheet, seed: int) -> None:
    """What can be read under the hood before anything is taken off."""
    rng = np.random.default_rng(seed)
    engine = sheet.engine
    lines = [
        "item,unit,spec,reading_1,reading_2,reading_3",
        f"engine,,,{engine.layout},,",
        f"cylinders,,,{engine.cylinders},,",
        f"displacement,l,,{from_si(engine.displacement.si, 'l'):.1f},,",
        f"idle_speed,rpm,{from_si(engine.idle_speed.si, 'rpm'):.0f},,,",
        "trouble_codes,,,none,,",
    ]
    readings = (
        ("barometer", "kPa", "101.3", 101.3, 0.1, 1),
        ("idle_vacuum", "kPa", "", 67.5, 0.4, 1),
        ("coolant_thermometer", "degC", "", 89.0, 0.8, 0),
        ("fuel_pressure", "kPa", "35", 35.4, 0.4, 1),
        ("tps_closed", "V", "0.52", 0.52, 0.008, 2),
        ("o2_forced_rich", "mV", "870", 868.0, 12.0, 0),
        ("o2_forced_lean", "mV", "60", 55.0, 12.0, 0),
        ("fuel_ethanol_test", "vol_pct", "0", 0.0, 0.0, 1),
    )
    for item, unit, spec, value, spread, digits in readings:
        read = ",".join(f"{value + rng.normal(0, spread):.{digits}f}" for _ in range(3))
        lines.append(f"{item},{unit},{spec},{read}")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def bench_work(sheet: SpecSheet, state: CarState, seed: int) -> tuple[list[Entry], CarState]:
    """The bench sequence as done: stops set by their turns, the needles to their starting point, the rest in."""
    rng = np.random.default_rng(seed)
    entries: list[Entry] = []
    stop, state = _stop_set(
        sheet, state, "lean_stop", "the screw's seal was broken; it had been set by eye", 9, rng
    )
    entries.append(stop)
    entries.append(_stop_read(sheet, state, "rich_stop", rng))
    entries.append(Entry("bench", "travel", 4, "clicks at both ends", "thou", "dial_indicator",
                         _reads(sheet, state, "rod_travel", rng)))  # fmt: skip
    entries.append(Entry("bench", "float_level", 6, "both pontoons alike", "mm", "caliper",
                         tuple(round(9.5 + rng.normal(0, 0.05), 2) for _ in range(3))))  # fmt: skip
    entries.append(Entry("bench", "idle_bleed", 4, "", "turns", "", (2.0, 2.0, 2.05)))
    out = sheet.settings["idle_needle"].wanted.si
    found = tuple(round(out + state.needle_left + rng.normal(0, 0.03), 2) for _ in range(3))
    turn = hand_turn(state.needle_left, 0.25)
    state = replace(
        state, needle_left=state.needle_left - turn.turns, needle_right=state.needle_right - turn.turns
    )
    left = tuple(round(out + state.needle_left + rng.normal(0, 0.03), 2) for _ in range(3))
    entries.append(Entry("bench", "idle_needle", 5, "both needles alike, no ring on the tapers", "turns", "",
                         found, left, turn.turns))  # fmt: skip
    for key, minutes, note in (("choke", 5, "falls open by itself"), ("pull_off", 5, "holds vacuum for a minute"),
                               ("fast_idle", 4, "drops clear")):  # fmt: skip
        entries.append(Entry("bench", key, minutes, note, passed=True))
    entries.append(Entry("bench", "throttle_sensor", 4, "", "V", "", (0.52, 0.53, 0.52)))
    entries.append(Entry("bench", "solenoid_resistance", 2, "", "ohm", "", (22.4, 22.5, 22.4)))
    entries.append(Entry("bench", "leak_check", 8, "dry after five minutes", passed=True))
    return entries, state


def _height(sheet: SpecSheet, state: CarState, key: str) -> float:
    """Where a stop really stands. [m]"""
    wanted = sheet.settings
    if key == "rod_travel":
        return _height(sheet, state, "rich_stop") - _height(sheet, state, "lean_stop")
    return float(wanted[key].wanted.si + getattr(state, key))


def _reads(sheet: SpecSheet, state: CarState, key: str, rng: np.random.Generator) -> tuple[float, ...]:
    true = step_from_si(_height(sheet, state, key), "thou")
    return tuple(round(true + rng.normal(0, THOU_DOUBT), 1) for _ in range(3))


def _stop_set(
    sheet: SpecSheet, state: CarState, key: str, note: str, minutes: float, rng: np.random.Generator
) -> tuple[Entry, CarState]:
    setting = sheet.settings[key]
    pitch = setting.thread.travel_per_turn if setting.thread else 1e-3
    found = _reads(sheet, state, key, rng)
    out = step_to_si(float(np.mean(found)), "thou") - setting.wanted.si
    turn = hand_turn(out / pitch, setting.wanted.si_tolerance / pitch)
    moved = (turn.turns + rng.normal(0, TURN_DOUBT)) * pitch
    after = replace(state, **{key: getattr(state, key) - moved})
    left = _reads(sheet, after, key, rng)
    return Entry("bench", key, minutes, note, "thou", "dial_indicator", found, left, turn.turns), after


def _stop_read(sheet: SpecSheet, state: CarState, key: str, rng: np.random.Generator) -> Entry:
    return Entry(
        "bench", key, 5, "found right, left alone", "thou", "dial_indicator", _reads(sheet, state, key, rng)
    )


def car_work(sheet: SpecSheet, state: CarState, seed: int) -> tuple[list[Entry], CarState]:
    """The sequence on the car as done: the needles moved by dwell until it stands in the middle."""
    rng = np.random.default_rng(seed)
    entries = [
        Entry("car", "safe", 10, "two hardened hoses renewed, exhaust tight", passed=True),
        Entry("car", "warm_up", 15, "", "degC", "", (89.0, 88.0, 89.0)),
        Entry("car", "meter", 3, "", "Hz", "", (10.0,)),
        Entry("car", "idle_speed", 3, "", "rpm", "", (700.0, 705.0)),
    ]
    wanted = dwell_degrees(0.5)
    for _ in range(4):
        read = dwell_degrees(predicted(sheet, state)[0].duty) + rng.normal(0, 0.4)
        if abs(read - wanted) < 1.5:
            break
        slope = dwell_degrees(sensitivities(sheet, state)["idle_needle"]["idle"])
        turn = hand_turn((read - wanted) / slope, 1.0 / 8)
        state = replace(
            state, needle_left=state.needle_left - turn.turns, needle_right=state.needle_right - turn.turns
        )
        after = dwell_degrees(predicted(sheet, state)[0].duty) + rng.normal(0, 0.4)
        entries.append(Entry("car", "idle_dwell", 6, "both needles alike", "deg", "", (round(read, 1),),
                             (round(after, 1),), turn.turns))  # fmt: skip
    else:
        read = dwell_degrees(predicted(sheet, state)[0].duty) + rng.normal(0, 0.4)
    if not any(one.key == "idle_dwell" for one in entries):
        entries.append(Entry("car", "idle_dwell", 6, "stands in the middle, needles left alone", "deg", "",
                             (), (round(read, 1),)))  # fmt: skip
    entries.append(Entry("car", "throttle_sensor_recheck", 3, "", "V", "", (), (0.53, 0.52)))
    entries.append(Entry("car", "codes", 4, "lamp proves itself and goes out", passed=True))
    return entries, state
