"""Every cause of the catalogue moves the right reading the right way; what it does to time, by the simulator.

Signs are of the cause's positive side at idle, 3000 and cruise; "0" may be small. Where a cause has a negative side,
that goes the other way. Sources stand beside each.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dwellwright.carburetor.prediction import PointPrediction, predictions
from dwellwright.carburetor.state import CarState
from dwellwright.catalogue.causes import Cause, shipped_causes
from dwellwright.catalogue.controllers import catalogue_controllers
from dwellwright.catalogue.sheet_file import archetype
from dwellwright.loop.drive import steady_drive
from dwellwright.loop.mixture import MixtureMap
from dwellwright.loop.plant import OxygenSensor, Plant
from dwellwright.loop.simulation import LoopTrace, simulate

PRACTICE = "common practice, no source"
BERNOULLI = "closed form: more depression or more area, more fuel"
SHEET = archetype("two-barrel-v6")
DWELL: dict[str, tuple[str, str]] = {
    "lean_stop": ("0++", BERNOULLI),
    "rich_stop": ("0++", BERNOULLI),
    "idle_needle": ("+00", PRACTICE),
    "idle_bleed": ("-00", PRACTICE),
    "float_level": ("+++", "closed form: the lift falls with the level, hydrostatics"),
    "seat_leak": ("+00", PRACTICE),
    "rods_stuck_rich": ("0++", PRACTICE),
    "rods_stuck_lean": ("0--", PRACTICE),
    "power_piston": ("00+", PRACTICE),
    "main_bleed_blocked": ("0++", PRACTICE),
    "idle_bleed_blocked": ("+00", PRACTICE),
    "idle_channel_blocked": ("-00", PRACTICE),
    "main_jet": ("0++", BERNOULLI),
    "vacuum_leak": ("-00", "closed form: a constant leak goes with one over the air flow"),
    "exhaust_leak": ("-00", "false air reads lean: Brettschneider 1979 balance"),
    "injected_air": ("---", "false air reads lean: Brettschneider 1979 balance"),
    "misfire": ("---", "oxygen of cycles that do not burn reads lean: Brettschneider 1979 balance"),
    "sensor_bias": ("+++", PRACTICE),
    "purge": ("+00", PRACTICE),
    "ventilation": ("-00", PRACTICE),
    "fuel_pressure": ("+++", PRACTICE),
    "ethanol": ("---", "stoichiometric ratio: E10 13.987 against 14.574, Cantera and atomic weights"),
    "altitude": ("0++", "lambda of a main circuit goes with the root of air density: Bernoulli twice"),
}
ELSEWHERE = {"rod_travel", "solenoid_dead", "sensor_slow", "sensor_cold", "coolant_sensor", "throttle_sensor"}
"""Causes whose reading is another than mean dwell; each has a test of its own below."""


def state_with(cause: Cause, magnitude: float) -> CarState:
    """The sheet's own car with a cause of that size, in its own unit."""
    base, size = CarState(), cause.si(magnitude)
    return replace(
        base, **{field: getattr(base, field) + share * size for field, share in cause.effects.items()}
    )


def middle(cause: Cause) -> float:
    """A size well within what the cause's data believe."""
    return cause.least + 0.4 * (cause.most - cause.least)


def shifts(cause: Cause, magnitude: float) -> list[float]:
    """Change of wanted dwell at idle, 3000 and cruise. [deg]"""
    base, car = predictions(SHEET, [CarState(), state_with(cause, magnitude)])
    return [60 * (c.wanted_duty - b.wanted_duty) for b, c in zip(base, car, strict=True)]


def test_every_cause_has_its_direction() -> None:
    assert set(DWELL) | ELSEWHERE == set(shipped_causes())
    assert not set(DWELL) & ELSEWHERE


@pytest.mark.parametrize("name", DWELL)
def test_a_cause_moves_dwell_the_right_way_on_both_its_sides(name: str) -> None:
    cause, (signs, _) = shipped_causes()[name], DWELL[name]
    for side in (1, -1) if cause.two_sided else (1,):
        moved = shifts(cause, side * middle(cause))
        largest = max(map(abs, moved))
        assert largest > 0.5, "a cause of a believable size shows"
        for shift, sign in zip(moved, signs, strict=True):
            if sign != "0":
                assert shift * side * (1 if sign == "+" else -1) > 0.25 * largest


def reach(point: PointPrediction) -> float:
    """How far apart the two ends of the actuator put lambda."""
    return point.lambda_energized - point.lambda_released


def test_short_travel_and_a_dead_solenoid_take_the_reach_away() -> None:
    # the ends draw together, so that the reserve shrinks: common practice, no source
    travel, dead = (shipped_causes()[name] for name in ("rod_travel", "solenoid_dead"))
    whole, short, still = predictions(
        SHEET, [CarState(), state_with(travel, middle(travel)), state_with(dead, dead.most)]
    )
    for a, b, c in zip(whole[1:], short[1:], still[1:], strict=True):
        assert reach(b) < 0.9 * reach(a)
        assert abs(reach(c)) < 0.01
        assert c.lambda_held < 0.92, "released is rich, and stays so"


def run(plant: Plant | None = None, **conditions: float) -> LoopTrace:
    """A minute of the archetype's loop at a brisk idle, under those conditions."""
    mixture = MixtureMap(0.006, 0.006 / 14.6 * 1.16, 0.006 / 14.6 * 0.86, 14.6)
    given = {"throttle_voltage": 0.9, **conditions}
    drive = steady_drive(mixture, 60.0, engine_speed=20.0, **given)
    return simulate(plant or Plant(), drive, catalogue_controllers()["generic-pulsed"], segments=(30.0, 60.0))


def test_a_slow_sensor_makes_the_limit_cycle_long() -> None:
    # closed form: the period grows with the lag (design's limit cycle)
    cause, sensor = shipped_causes()["sensor_slow"], OxygenSensor()
    factor = 1.0 + cause.si(middle(cause))
    slow = OxygenSensor(factor * sensor.lean_to_rich_time, factor * sensor.rich_to_lean_time)
    quick, late = run().statistics[1], run(Plant(sensor=slow)).statistics[1]
    assert late.period > quick.period + sensor.lean_to_rich_time


def test_a_cold_sensor_never_closes_the_loop() -> None:
    cause = shipped_causes()["sensor_cold"]
    assert run().statistics[1].closed_share == pytest.approx(1.0, abs=0.02)
    assert run(sensor_temperature=800.0 - cause.si(cause.most)).statistics[1].closed_share < 0.02


def test_a_coolant_sensor_that_reads_cold_keeps_the_loop_open() -> None:
    cause = shipped_causes()["coolant_sensor"]
    assert run(coolant_temperature=363.15 - cause.si(cause.most)).statistics[1].closed_share < 0.02
    # and one that reads hot closes it on a cold engine
    assert run(coolant_temperature=308.15).statistics[1].closed_share < 0.02
    assert run(coolant_temperature=308.15 + cause.si(cause.most)).statistics[1].closed_share > 0.9


def test_a_throttle_sensor_that_reads_open_loses_the_idle_ramps() -> None:
    # the controller's own data: idle ramps below 0.7 V are slower, so that the dwell swings less
    cause = shipped_causes()["throttle_sensor"]
    closed = run(throttle_voltage=0.6)
    opened = run(throttle_voltage=0.6 + cause.si(cause.most))
    swings = [np.ptp(trace.duty[trace.time > 30.0]) for trace in (closed, opened)]
    assert swings[1] > 1.2 * swings[0]
