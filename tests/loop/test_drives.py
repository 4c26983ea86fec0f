"""Whole drives: modes, lamp, cold and dead sensors, polarity, transport, findings, and what a logger would write."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dwellwright.catalogue.controller_rules import Condition, LampRule, OpenLoopRule, Signal
from dwellwright.catalogue.controllers import Controller, catalogue_controllers
from dwellwright.loop.columns import Parameter as Param
from dwellwright.loop.controller import lamp_events
from dwellwright.loop.drive import Drive, steady_drive
from dwellwright.loop.findings import run_findings
from dwellwright.loop.mixture import MixtureMap
from dwellwright.loop.plant import OxygenSensor, Passage, Plant
from dwellwright.loop.recording import LOGGER, Channel, Pickup, drive_waveform, pulse_duties, recorded_rows
from dwellwright.loop.schedule import car_points
from dwellwright.loop.simulation import simulate
from dwellwright.loop.solenoid import Solenoid
from dwellwright.physics.switching import switching_curve
from dwellwright.physics.transport import cycle_delay, passage_delay
from dwellwright.physics.zirconia import element_resistance, loaded_voltage

CONTROLLER = catalogue_controllers()["generic-pulsed"]
MAP = MixtureMap(0.02, 0.02 / 14.6 * 1.15, 0.02 / 14.6 * 0.85, 14.6)


def warm_up_drive() -> Drive:
    """From a cold start over idle, cruise and a pull; air and fuel follow the speed."""
    time = np.array([0.0, 1.0, 60.0, 120.0, 121.0, 150.0, 151.0, 160.0, 161.0, 200.0])
    speed = np.array([4.0, 15.0, 14.0, 13.0, 35.0, 35.0, 50.0, 50.0, 35.0, 35.0])
    air = 0.0004 * speed
    return Drive(
        time=time,
        engine_speed=speed,
        air_flow=air,
        fuel_rich=air / 14.6 * 1.15,
        fuel_lean=air / 14.6 * 0.85,
        manifold_pressure=np.full(10, 45e3),
        coolant_temperature=np.interp(time, [0, 120], [290.0, 350.0]),
        sensor_temperature=np.interp(time, [0, 60], [300.0, 800.0]),
        throttle_voltage=np.array([0.5, 0.5, 0.5, 0.5, 1.4, 1.4, 4.4, 4.4, 1.4, 1.4]),
        battery_voltage=np.array([10.0, *[14.0] * 9]),
        stoichiometric_ratio=14.6,
    )


def steady(**changes: float) -> Drive:
    return steady_drive(MAP, 80.0, **({"engine_speed": 35.0, "throttle_voltage": 1.4} | changes))


def without_open_loop(controller: Controller = CONTROLLER) -> Controller:
    return replace(controller, open_loop=())


def test_modes_along_a_cold_start() -> None:
    trace = simulate(Plant(), warm_up_drive(), CONTROLLER, segments=(40.0, 120.0, 150.0))
    duty = {mark: trace.duty[np.searchsorted(trace.time, mark)] for mark in (0.05, 10.0, 155.0)}
    assert duty == pytest.approx(
        {0.05: 0.0, 10.0: 0.4, 155.0: 0.1}
    )  # not running, cold engine, wide throttle
    shares = [segment.closed_share for segment in trace.statistics]
    assert shares[0] == 0.0
    assert shares[2] == pytest.approx(1.0)
    assert shares[3] < 0.9
    assert trace.statistics[2].air_ratio_mean == pytest.approx(1.0, abs=0.01)
    enters = trace.time[np.argmax(trace.closed > 0.5)]
    coolant = np.interp(enters, warm_up_drive().time, warm_up_drive().coolant_temperature)
    assert coolant == pytest.approx(318.15, abs=0.2)  # 45 degC, the catalogue's own entry


def test_log_and_statistics_agree() -> None:
    trace = simulate(Plant(), steady(), without_open_loop(), segments=(20.0,), log_rate=1000.0, averaged=True)
    later = trace.time > 20.0
    segment = trace.statistics[1]
    assert trace.time.size == 80_000
    assert segment.duty_mean == pytest.approx(trace.duty[later].mean(), abs=1e-6)
    assert segment.voltage_mean == pytest.approx(trace.sensor_voltage[later].mean(), abs=1e-6)
    assert 1 / segment.air_ratio_mean == pytest.approx((1 / trace.air_ratio[later]).mean(), abs=1e-6)
    assert segment.sensor_air_ratio_least == pytest.approx(trace.sensor_air_ratio[later].min(), abs=1e-6)
    assert segment.rich_share == pytest.approx((trace.sensor_voltage[later] > 0.45).mean(), abs=1e-3)


def test_a_row_per_pulse_shows_the_mixture_s_mean_and_not_a_phase_of_the_pulse() -> None:
    trace = simulate(Plant(), steady(), without_open_loop(), segments=(20.0,), log_rate=10.0)
    later = trace.time > 20.0
    assert (1 / trace.air_ratio[later]).mean() == pytest.approx(
        1 / trace.statistics[1].air_ratio_mean, abs=1e-9
    )
    solenoid = Plant().solenoid
    late = (solenoid.pull_in_time(14.0) - solenoid.drop_out_time) * CONTROLLER.pulse_rate
    assert trace.position[1:] == pytest.approx(
        trace.duty[:-1] - late, abs=1e-9
    )  # a pulse acts as decided before it


def test_a_cold_sensor_reads_the_bias_and_the_loop_waits() -> None:
    trace = simulate(Plant(), steady(sensor_temperature=350.0), without_open_loop())
    assert trace.sensor_voltage == pytest.approx(0.45, abs=0.02)
    assert trace.statistics[0].closed_share == 0.0
    assert trace.duty == pytest.approx(0.5)  # the catalogue's waiting duty of a hot engine


def test_a_sensor_that_cools_down_opens_the_loop_after_its_silence() -> None:
    drive = replace(steady(), sensor_temperature=np.array([800.0, 360.0]))
    trace = simulate(Plant(), drive, without_open_loop())
    opened = trace.time[np.flatnonzero(trace.closed > 0.5)[-1]]
    silent = np.flatnonzero(np.abs(trace.sensor_voltage - 0.45) > 0.15)[-1]
    assert opened - trace.time[silent] == pytest.approx(CONTROLLER.silent_time, abs=1.0)


def test_sensor_columns_are_the_loaded_nernst_curve() -> None:
    """Two routes: the kernel's columns, and the physics asked directly at the table's own temperature and between."""
    for temperature, tolerance in ((700.0, 1e-9), (812.0, 1e-3)):
        row = car_points(Plant(), steady(sensor_temperature=temperature), CONTROLLER)[0]
        curve = switching_curve(1.85, 0.0, temperature)
        weight = row[Param.SENSOR_WEIGHT]
        far = weight * row[Param.RICH_LEVEL] + (1 - weight) * CONTROLLER.input_bias_voltage
        resistance = element_resistance(temperature)
        want = loaded_voltage(
            curve.rich_level, resistance, CONTROLLER.input_resistance, CONTROLLER.input_bias_voltage
        )
        assert far == pytest.approx(want, abs=tolerance)


def test_delay_and_mixing_add_up_to_the_passage() -> None:
    row = car_points(Plant(passage=Passage(mixing_share=0.4)), steady(), CONTROLLER)[0]
    volumes = passage_delay(0.003, 0.02, 40e3, 320.0) + passage_delay(0.004, 0.02, 101325.0, 800.0)
    assert row[Param.MIXING_TIME] == pytest.approx(0.4 * volumes)
    assert row[Param.DELAY] + row[Param.MIXING_TIME] == pytest.approx(volumes + cycle_delay(35.0))
    still = car_points(Plant(), steady(engine_speed=0.0), CONTROLLER)[0]
    assert still[Param.DELAY] == Passage().longest_delay


def test_both_polarities_hold_the_same_mixture() -> None:
    lean = replace(without_open_loop(), idle_jump=0.0, jump=0.0)
    rich = replace(lean, energized_is_lean=False)
    one, other = (simulate(Plant(), steady(), c, segments=(30.0,)).statistics[1] for c in (lean, rich))
    late = Solenoid()
    offset = (late.pull_in_time(14.0) - late.drop_out_time) * lean.pulse_rate
    assert one.duty_mean == pytest.approx(MAP.position_for(1 / one.air_ratio_mean) + offset, abs=5e-4)
    assert other.duty_mean == pytest.approx(1 - MAP.position_for(1 / other.air_ratio_mean) + offset, abs=5e-4)
    assert one.air_ratio_mean == pytest.approx(other.air_ratio_mean, abs=2e-3)
    assert one.air_ratio_mean == pytest.approx(1.0, abs=3e-3)


def test_lamp_lights_after_its_hold_and_only_then() -> None:
    rich = MixtureMap(0.02, 0.02 / 14.6 * 1.4, 0.02 / 14.6 * 1.1, 14.6)
    drive = steady_drive(rich, 100.0, engine_speed=35.0, throttle_voltage=1.4)
    events = simulate(Plant(), drive, CONTROLLER).lamp()
    assert [event.rule.name for event in events] == ["sensor shows rich for long"]
    assert 75.0 < events[0].time < 85.0  # closed after 15 s, then the rule's 60 s, and the way of the mixture
    assert simulate(Plant(), steady(), CONTROLLER).lamp() == ()


def test_lamp_conditions_must_hold_without_a_break() -> None:
    rule = LampRule("hot", (Condition(Signal.COOLANT_TEMPERATURE, True, 380.0),), 5.0)
    controller = replace(CONTROLLER, lamp=(rule,))
    time = np.arange(20.0)
    hot = np.where((time < 4) | (time > 9), 390.0, 370.0)
    (event,) = lamp_events(controller, time, {Signal.COOLANT_TEMPERATURE: hot})
    assert (event.time, event.ended) == (15.0, 19.0)
    with pytest.raises(ValueError, match="'hot' needs coolant_temperature"):
        lamp_events(controller, time, {Signal.TIME: time})


def test_first_open_loop_rule_wins() -> None:
    always = (Condition(Signal.TIME, True, -1.0),)
    controller = replace(
        CONTROLLER, open_loop=(OpenLoopRule("a", always, 0.3), OpenLoopRule("b", always, 0.7))
    )
    assert simulate(Plant(), steady(), controller).duty == pytest.approx(0.3)


def test_a_battery_that_cannot_pull_in_leaves_the_carburetor_rich() -> None:
    assert Solenoid().pull_in_time(5.0) == float("inf")
    trace = simulate(Plant(), steady(battery_voltage=5.0), without_open_loop())
    assert trace.statistics[0].air_ratio_mean == pytest.approx(1 / 1.15, abs=0.01)
    weak = [Solenoid().pull_in_time(volts) for volts in (14.0, 12.0, 10.0, 8.0)]
    assert weak == sorted(weak)


def test_findings() -> None:
    assert run_findings(simulate(Plant(), steady(), without_open_loop())) == ()
    rich = steady_drive(
        MixtureMap(0.02, 0.0019, 0.0015, 14.6), 40.0, engine_speed=1.0, sensor_temperature=1300.0
    )
    whats = {
        finding.what
        for finding in run_findings(simulate(Plant(), rich, without_open_loop(), segments=(20.0,)))
    }
    assert whats == {
        "share at the lean limit",
        "highest sensor temperature in K",
        "lowest engine speed in 1/s",
    }


def test_recorded_rows_are_rounded_noisy_and_repeatable() -> None:
    trace = simulate(Plant(), warm_up_drive(), CONTROLLER)
    rows = recorded_rows(trace, seed=4, extra={"road_speed": trace.time * 0.1})
    again = recorded_rows(trace, seed=4, extra={"road_speed": trace.time * 0.1})
    assert set(rows) == {*LOGGER, "road_speed"}
    assert all(np.array_equal(rows[name], again[name]) for name in rows)
    speed = rows["engine_speed"] * 60
    assert speed == pytest.approx(np.round(speed), abs=1e-6)
    difference = rows["sensor_voltage"] - trace.sensor_voltage
    assert 0.004 < difference.std() < 0.008  # the noise asked for and the rounding, less what clipping took
    assert rows["duty"].min() >= 0.0
    with pytest.raises(ValueError, match="channel 'oil_pressure'"):
        recorded_rows(trace, seed=1, logger={"oil_pressure": Channel()})


def test_waveform_carries_its_duty_through_the_coupling() -> None:
    """Threshold crossings of an AC-coupled wire, by plain counting here, give the duties back."""
    duty = np.array([0.5, 0.3, 0.62, 0.5, 0.11, 0.9, 0.5, 0.5])
    wave = drive_waveform(duty, pulse_rate=10.0, sample_rate=48_000.0, firing_rate=40.0, seed=2)
    assert wave.size == 8 * 4800
    assert np.abs(wave).max() < 1.0
    edges = np.diff(wave)
    fall = np.flatnonzero(edges < -0.5 * 13.5 / 60)
    release = np.flatnonzero(edges > 0.5 * 35.0 / 60)
    assert release.size == 8
    assert fall.size == 7  # the first pulse begins with the recording
    starts = np.concatenate(([0], fall))
    assert (release - starts) / 4800 == pytest.approx(duty, abs=0.001)
    quiet = drive_waveform(np.array([0.0, 0.0]), pulse_rate=10.0, pickup=Pickup(hum=0.0, noise=0.0))
    assert np.ptp(quiet[1:]) < 0.3  # nothing but the coupling's own decay


def test_pulse_duties_are_those_of_the_log() -> None:
    trace = simulate(Plant(), steady(), without_open_loop())
    assert pulse_duties(trace, 20.0, 5.0) == pytest.approx(trace.duty[199:249])
    with pytest.raises(ValueError, match="within"):
        pulse_duties(trace, 79.0, 10.0)


@pytest.mark.parametrize(
    ("call", "what"),
    [
        (lambda: simulate(Plant(), steady(), CONTROLLER, log_rate=333.0), "whole number of steps"),
        (lambda: simulate(Plant(), steady(), CONTROLLER, segments=(50.0, 20.0, 50.0)), "rising times"),
        (
            lambda: simulate(Plant(), steady_drive(MAP, 0.01, engine_speed=30.0), CONTROLLER),
            "at least one pulse",
        ),
        (lambda: steady_drive(MAP, 0.0, engine_speed=30.0), "duration must be positive"),
        (lambda: steady_drive(MAP, 5.0, engine_speed=-1.0), "engine_speed must not be negative"),
        (lambda: replace(steady(), air_flow=np.array([0.02, 0.0])), "air_flow must be positive"),
        (lambda: replace(steady(), time=np.array([1.0, 1.0])), "time must rise"),
        (lambda: replace(steady(), fuel_rich=np.array([1.0])), "one value per time"),
        (lambda: replace(steady(), throttle_voltage=np.array([np.nan, 1.0])), "must be finite"),
        (lambda: replace(steady(), stoichiometric_ratio=0.0), "stoichiometric ratio must be positive"),
        (lambda: MixtureMap(0.02, 0.0, 0.001, 14.6), "fuel at the rich stop"),
        (lambda: MixtureMap(0.02, 0.001, 0.001, 14.6).stoichiometric_position, "no duty changes the mixture"),
        (lambda: Plant(warm_coolant=200.0), "cold coolant must lie below"),
        (lambda: Plant(false_air_flow=-1.0), "false air flow"),
        (lambda: OxygenSensor(switch_width=0.0), "switch width"),
        (lambda: Passage(mixing_share=1.5), "mixing share"),
        (lambda: Solenoid(resistance=0.0), "winding resistance"),
        (lambda: Channel(noise=-1.0), "must not be negative"),
        (lambda: drive_waveform(np.array([1.2]), pulse_rate=10.0), "each from 0 to 1"),
        (lambda: drive_waveform(np.array([0.2]), pulse_rate=10.0, sample_rate=50.0), "at least 20 per pulse"),
    ],
)
def test_refusals(call: object, what: str) -> None:
    with pytest.raises(ValueError, match=what):
        call()  # type: ignore[operator]


def test_mixture_map() -> None:
    assert MAP.stoichiometric_position == pytest.approx(0.5)
    assert MAP.air_ratio(0.0) == pytest.approx(1 / 1.15)
    assert MAP.excess(1.0) == pytest.approx(0.85)
    assert MAP.position_for(MAP.excess(0.23)) == pytest.approx(0.23)
