"""The whole unit: directions of every cause, the altitude law, refusals, and what is told with a result."""

from dataclasses import fields, replace

import numpy as np
import pytest

from dwellwright.carburetor.air import OperatingPoint, hole_flux, operating_point, swallowed_air
from dwellwright.carburetor.barrel import between, held_at, power_opening
from dwellwright.carburetor.demand import demand_at, missed_share
from dwellwright.carburetor.passages import passages_of
from dwellwright.carburetor.prediction import ADJUSTMENTS, adjusted, predicted, predictions, sensitivities
from dwellwright.carburetor.secondary import plate_area, secondary_air_share, secondary_travel
from dwellwright.carburetor.solution import NotConvergedError, bracketed_solution
from dwellwright.carburetor.state import CarState, Field, fuel_columns, healthy, packed
from dwellwright.carburetor.steady import COLUMN, steady_batch
from dwellwright.carburetor.validity import state_findings
from dwellwright.catalogue.fuels import ethanol_blend
from dwellwright.catalogue.sheet_file import archetype, archetype_texts, parsed_sheet
from dwellwright.physics.atmosphere import standard_pressure

THOU = 25.4e-6
NAMES = sorted(archetype_texts())


def shifts(name: str, **state: float) -> list[float]:
    """Change of wanted dwell against the healthy car at idle, 3000 and cruise. [deg, six-cylinder scale]"""
    base, car = predictions(archetype(name), [CarState(), CarState(**state)])
    return [60 * (c.wanted_duty - b.wanted_duty) for b, c in zip(base, car, strict=True)]


@pytest.mark.parametrize("name", NAMES)
def test_the_sheets_own_car_sits_near_thirty_degrees(name: str) -> None:
    # 30 deg at hot idle on the six-cylinder scale: common practice, no source
    assert [60 * p.wanted_duty for p in predicted(archetype(name))] == pytest.approx([30, 30, 32], abs=3)
    for point in predicted(archetype(name)):
        # 0.80-0.90 and 1.15-1.30: common practice, no source
        assert 0.80 <= point.lambda_released <= 0.90
        assert 1.15 <= point.lambda_energized <= 1.30
        assert point.findings == ()


# Directions (sign at idle, 3000, cruise; 0 = small against the others): common practice, no source
DIRECTIONS = {
    "float low": ({"fuel_level": -3e-3}, "---"),
    "float high": ({"fuel_level": 3e-3}, "+++"),
    "lean stop high": ({"lean_stop": 38 * THOU}, "0++"),
    "rich stop high": ({"rich_stop": 27 * THOU}, "0++"),
    "needle out": ({"needle_left": 1.0, "needle_right": 1.0}, "+00"),
    "needle in": ({"needle_left": -1.0, "needle_right": -1.0}, "-00"),
    "idle bleed in": ({"idle_bleed": -1.0}, "+00"),
    "main bleed plugged": ({"main_bleed_blocked": 0.9}, "0++"),
    "vacuum leak": ({"vacuum_leak": 2e-6}, "---"),
    "ethanol": ({"ethanol": 0.1}, "---"),
    "idle channel blocked": ({"idle_channel_blocked": 0.6}, "-00"),
    "rods stuck rich": ({"rods_stuck": 1.0}, "0++"),
    "rods stuck lean": ({"rods_stuck": -1.0}, "0--"),
    "power piston early": ({"power_vacuum": 30e3}, "00+"),
    "purge": ({"purge": 0.3e-6}, "+++"),
    "exhaust leak": ({"exhaust_leak": 0.1}, "---"),
    "sensor reads rich": ({"sensor_bias": 0.1}, "+++"),
    "large jet": ({"main_jet_error": 0.05}, "0++"),
}


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("cause", DIRECTIONS)
def test_each_cause_moves_dwell_the_way_the_trade_knows(name: str, cause: str) -> None:
    state, signs = DIRECTIONS[cause]
    moved = shifts(name, **state)
    largest = max(map(abs, moved))
    for shift, sign in zip(moved, signs, strict=True):
        if sign == "0":
            assert abs(shift) < 0.45 * largest
        else:
            assert shift * (1 if sign == "+" else -1) > 0.3


@pytest.mark.parametrize("name", NAMES)
def test_leaks_matter_less_as_air_flow_grows(name: str) -> None:
    idle, fast, _ = shifts(name, vacuum_leak=2e-6)
    flows = [p.air for p in predicted(archetype(name))]
    assert abs(idle) > abs(fast) > 0.4 * abs(idle) * flows[0] / flows[1]


def test_main_circuit_follows_the_altitude_law() -> None:
    # Lambda of a plain main circuit goes with the square root of air density: closed form (Bernoulli twice).
    # At 2000 m the standard pressure is 79495 Pa (US Standard Atmosphere 1976); temperature is held here.
    passages = passages_of(archetype("two-barrel-v6"))._replace(
        main_bleed_effective_area=1e-12, nozzle_lift=0.0, boost_gain=40.0, port_effective_area=1e-12,
        channel_effective_area=1e-12, slot_effective_width=1e-12, power_effective_area=0.0,
    )  # fmt: skip
    point = OperatingPoint(50.0, 5e4)
    low, high = healthy(1), healthy(1)
    high[0, Field.AMBIENT_PRESSURE] = standard_pressure(2000.0)
    fuels = [steady_batch(passages, s, [point])[0, 0, COLUMN.fuel_rich] for s in (low, high)]
    assert fuels[0] / fuels[1] == pytest.approx(np.sqrt(standard_pressure(2000.0) / 101325.0), rel=0.02)


def test_barrels_apart_give_the_mean_of_barrels_alike() -> None:
    sheet = archetype("two-barrel-v6")
    apart, one, other = predictions(
        sheet,
        [CarState(needle_left=-1.0, needle_right=1.0), CarState(needle_left=-1.0, needle_right=-1.0),
         CarState(needle_left=1.0, needle_right=1.0)],
    )  # fmt: skip
    for a, b, c in zip(apart, one, other, strict=True):
        assert a.air / a.lambda_released == pytest.approx(
            0.5 * (b.air / b.lambda_released + c.air / c.lambda_released)
        )


def test_held_lambda_is_one_inside_the_limits_and_honest_outside() -> None:
    inside = predicted(archetype("two-barrel-v6"))[0]
    assert inside.lambda_held == pytest.approx(1.0, abs=1e-9)
    lean = predicted(archetype("two-barrel-v6"), CarState(idle_channel_blocked=0.8))[0]
    assert lean.saturated
    assert lean.lambda_held > 1.05
    assert any("duty" in str(finding) for finding in lean.findings)


def test_a_choked_venturi_is_said_and_an_open_one_is_not() -> None:
    # closed form: choked flow is 0.0404 * area * pressure / sqrt(temperature) for air; four times the speed of
    # cruise at an open throttle asks for more than one small venturi passes
    sheet = archetype("one-barrel-four")
    passages, state = passages_of(sheet), packed([CarState()])[0]
    cruise = operating_point(sheet, "cruise")
    assert not [f for f in state_findings("cruise", passages, state, cruise) if "choked" in str(f)]
    racing = OperatingPoint(4 * cruise.engine_speed, 95e3)
    (finding,) = [f for f in state_findings("racing", passages, state, racing) if "choked" in str(f)]
    limit = (
        0.040418
        * passages.venturi_effective_area
        * CarState().ambient_pressure
        / CarState().air_temperature ** 0.5
    )
    assert finding.value == pytest.approx(
        swallowed_air(passages, racing, CarState().air_temperature) / limit, rel=0.02
    )


def test_solving_many_cars_equals_solving_each() -> None:
    sheet = archetype("four-barrel-v8")
    cars = [CarState(), CarState(fuel_level=1e-3), CarState(ethanol=0.1, vacuum_leak=1e-6)]
    together = steady_batch(passages_of(sheet), packed(cars), [operating_point(sheet, "idle")])
    for row, car in zip(together, cars, strict=True):
        alone = steady_batch(passages_of(sheet), packed(car), [operating_point(sheet, "idle")])[0]
        np.testing.assert_array_equal(row, alone)


@pytest.mark.parametrize("name", NAMES)
def test_a_row_does_not_depend_on_its_neighbors_however_wild(name: str) -> None:
    sheet, rng = archetype(name), np.random.default_rng(3)
    states = healthy(37)
    for field, low, high in (
        (Field.FUEL_LEVEL, -4e-3, 4e-3), (Field.RODS_STUCK, -1.0, 1.0), (Field.MAIN_BLEED_BLOCKED, 0.0, 1.0),
        (Field.IDLE_BLEED_BLOCKED, 0.0, 1.0), (Field.NEEDLE_LEFT, -2.0, 2.0), (Field.AMBIENT_PRESSURE, 7.5e4, 1e5),
    ):  # fmt: skip
        hit = rng.random(37) < 0.5
        states[hit, field] = rng.uniform(low, high, hit.sum())
    points = [operating_point(sheet, point) for point in ("idle", "3000", "cruise")]
    together = steady_batch(passages_of(sheet), states, points)
    backwards = steady_batch(passages_of(sheet), states[::-1], points[::-1])[::-1, ::-1]
    np.testing.assert_array_equal(together, backwards)
    for car in (0, 17, 36):
        alone = steady_batch(passages_of(sheet), states[car : car + 1], points)[0]
        np.testing.assert_array_equal(together[car], alone)


@pytest.mark.parametrize("name", NAMES)
def test_lanes_agree_with_one_barrel_solved_by_itself(name: str) -> None:
    sheet = archetype(name)
    passages, point, car = passages_of(sheet), operating_point(sheet, "3000"), CarState(fuel_level=-1e-3)
    state, (density, viscosity, ratio) = (
        packed(car)[0],
        fuel_columns(np.zeros(1), np.array([car.fuel_temperature])),
    )
    fuel = (float(density[0]), float(viscosity[0]))
    flux = hole_flux(point, car.ambient_pressure, car.air_temperature)
    asked = demand_at(passages, state, fuel, float(ratio[0]), point, flux)
    row = steady_batch(passages, packed(car), [point])[0, 0]
    for end, column in ((0.0, COLUMN.fuel_rich), (1.0, COLUMN.fuel_lean)):
        held = held_at(passages, state, point, asked.setting, 0.0, between(passages, end))
        assert row[column] == pytest.approx(passages.barrels * bracketed_solution(held)[0], rel=1e-9)


@pytest.mark.parametrize("field", ["fuel_temperature", "ambient_pressure", "fuel_level", "needle_right"])
def test_a_car_without_a_solution_is_named_with_what_is_off(field: str) -> None:
    sheet = archetype("two-barrel-v6")
    cars = [CarState(), CarState(ethanol=0.1, **{field: float("nan")})]
    with pytest.raises(NotConvergedError, match=rf"first for car 1 at 700 rpm .*{field} = nan"):
        steady_batch(passages_of(sheet), packed(cars), [operating_point(sheet, "idle")])


def test_the_power_piston_lags_either_way_by_its_friction() -> None:
    passages = passages_of(archetype("two-barrel-v6"))
    middle = 0.5 * (passages.power_opens + passages.power_closes)
    down, unknown, up = (power_opening(passages, middle, 0.0, piston) for piston in (-1.0, 0.0, 1.0))
    # closed form: the ramp shifted by the friction over its width
    shift = passages.power_friction / (passages.power_closes - passages.power_opens)
    assert (down, unknown, up) == pytest.approx((0.5 - shift, 0.5, 0.5 + shift))
    # a piston that is wholly down stays so until the vacuum has fallen by the friction more
    assert power_opening(passages, passages.power_closes - passages.power_friction, 0.0, -1.0) == 0.0
    point = OperatingPoint(40.0, 101325.0 - middle)
    rich = [
        steady_batch(passages, healthy(1), [point._replace(piston=p)])[0, 0, COLUMN.fuel_rich]
        for p in (-1, 0, 1)
    ]
    assert rich[0] < rich[1] < rich[2]


def test_secondaries_are_shut_where_the_loop_works_and_feed_at_wide_throttle() -> None:
    sheet = archetype("four-barrel-v8")
    passages = passages_of(sheet)
    shut = passages._replace(secondary_barrels=0.0)
    points = [operating_point(sheet, name) for name in ("idle", "3000", "cruise")]
    np.testing.assert_array_equal(
        steady_batch(passages, healthy(1), points), steady_batch(shut, healthy(1), points)
    )
    wide = OperatingPoint(70.0, 97e3)
    with_them, without = (steady_batch(p, healthy(1), [wide])[0, 0] for p in (passages, shut))
    assert with_them[COLUMN.venturi_depression] < 0.7 * without[COLUMN.venturi_depression], (
        "the air is shared"
    )
    # a wide-open engine wants lambda 0.8-1.0: common practice, no source
    assert 0.75 < with_them[COLUMN.demand] / with_them[COLUMN.fuel_rich] < 1.05


def test_the_plates_share_the_air_by_open_area() -> None:
    passages = passages_of(archetype("four-barrel-v8"))
    fully = passages.barrels * plate_area(passages.throttle_bore, 1.0)
    behind = passages.secondary_barrels * plate_area(passages.secondary_bore, 1.0)
    # both wide open: closed form, areas of the bores less nothing
    assert secondary_air_share(passages, 10.0) == pytest.approx(behind / (fully + behind))
    assert secondary_air_share(passages, 0.2 * fully) == 0.0
    shares = [secondary_air_share(passages, share * (fully + behind)) for share in np.linspace(0.3, 1.0, 15)]
    assert np.all(np.diff(shares) >= 0.0), "the linkage opens one way"
    travel = 0.8
    area = passages.barrels * plate_area(
        passages.throttle_bore, travel
    ) + passages.secondary_barrels * plate_area(passages.secondary_bore, secondary_travel(passages, travel))
    expected = passages.secondary_barrels * plate_area(
        passages.secondary_bore, secondary_travel(passages, travel)
    )
    assert secondary_air_share(passages, area) == pytest.approx(expected / area, rel=1e-9)


def test_recirculated_exhaust_takes_the_place_of_air_and_puts_an_idling_engine_out() -> None:
    sheet = archetype("two-barrel-v6")
    base, diluted = predictions(sheet, [CarState(), CarState(egr=0.1)])
    # the charge's volume is the same, so air falls by the share: closed form
    assert [b.air * 0.9 for b in base] == pytest.approx([d.air for d in diluted])
    moved = [60 * (d.wanted_duty - b.wanted_duty) for b, d in zip(base, diluted, strict=True)]
    assert moved[0] < moved[2] - 1.0, (
        "missed cycles leave oxygen at idle, so the loop runs rich: common practice"
    )
    assert missed_share(packed(CarState(egr=0.1))[0], 58e3) == 0.0, (
        "a loaded engine bears it: common practice"
    )


def test_fuel_columns_are_the_blends_of_the_catalogue() -> None:
    density, viscosity, ratio = fuel_columns(np.array([0.075, 0.123]), np.array([300.0, 320.0]))
    for k, (share, temperature) in enumerate([(0.075, 300.0), (0.123, 320.0)]):
        fuel = ethanol_blend(share)
        assert density[k] == pytest.approx(fuel.density(temperature), rel=1e-4)
        assert viscosity[k] == pytest.approx(fuel.viscosity(temperature), rel=1e-3)
        assert ratio[k] == pytest.approx(fuel.stoichiometric_ratio, rel=1e-4)


def test_sensitivities_are_differences_of_predictions() -> None:
    sheet = archetype("two-barrel-v6")
    table = sensitivities(sheet)
    needle = next(a for a in ADJUSTMENTS if a.setting == "idle_needle")
    base, moved = predictions(sheet, [CarState(), adjusted(CarState(), needle, 0.25)])
    slope = (moved[0].wanted_duty - base[0].wanted_duty) / 0.25
    assert table["idle_needle"]["idle"] == pytest.approx(slope, rel=0.1)
    assert table["float_level"]["3000"] < 0, "a deeper float reading is a lower level, which is leaner"


def test_ventilation_larger_than_the_engine_is_refused() -> None:
    text = archetype_texts()["two-barrel-v6"].replace(
        "crankcase_ventilation_area = { value = 4,", "crankcase_ventilation_area = { value = 400,"
    )
    with pytest.raises(ValueError, match="crankcase ventilation alone passes"):
        passages_of(parsed_sheet(text))


def test_state_fields_and_columns_are_one_list() -> None:
    state = CarState(purge=3e-6)
    assert packed(state)[0, Field.PURGE] == 3e-6
    assert packed(replace(state, ethanol=0.2))[0, Field.ETHANOL] == 0.2
    assert [field.name.upper() for field in fields(CarState)] == [field.name for field in Field]


def given(unit: str, **sizes: float) -> str:
    """Lines of a sheet's geometry."""
    return "\n".join(
        f'{name} = {{ value = {value}, unit = "{unit}", tolerance = 0.02, source = "invented" }}'
        for name, value in sizes.items()
    )


ACTUATORS = {
    "pulsed air bleed": given("mm", main_pulsed_bleed_diameter=1.2),
    "pulsed auxiliary fuel valve": given("mm", auxiliary_fuel_diameter=0.75),
    "stepper pintle": given("mm", main_pulsed_bleed_diameter=1.2),
    "vacuum diaphragm on a pulsed regulator": given(
        "kPa", diaphragm_starts_at_vacuum=3, diaphragm_ends_at_vacuum=12, regulated_vacuum=17
    ),
}


def sheet_with(actuator: str, energized: str = "lean"):
    """The invented V6 with another kind of actuator."""
    text = archetype_texts()["two-barrel-v6"]
    text = text.replace("pulsed rods with coupled bleed", actuator).replace(
        'energized = "lean"', f'energized = "{energized}"'
    )
    return parsed_sheet(text.replace("[geometry]", "[geometry]\n" + ACTUATORS[actuator], 1))


@pytest.mark.parametrize("actuator", ACTUATORS)
def test_every_actuator_spans_rich_to_lean_and_holds_lambda_one_where_it_reaches(actuator: str) -> None:
    for point in predicted(sheet_with(actuator)):
        assert point.lambda_released < point.lambda_energized
        if not point.saturated:
            assert point.lambda_held == pytest.approx(1.0, abs=1e-6)


def test_a_standing_actuator_is_put_where_its_own_fuel_meets_the_demand() -> None:
    sheet = sheet_with("stepper pintle")
    passages, point = passages_of(sheet), operating_point(sheet, "3000")
    row = steady_batch(passages, healthy(1), [point])[0, 0]
    # the fuel of a standing pintle is not the mean of its ends, so the place is not their ratio
    ratio = (row[COLUMN.fuel_rich] - row[COLUMN.demand]) / (row[COLUMN.fuel_rich] - row[COLUMN.fuel_lean])
    assert 0.0 < row[COLUMN.duty] < 1.0
    assert row[COLUMN.duty] != pytest.approx(ratio, abs=1e-3)


def test_a_unit_energized_rich_shows_the_mirrored_dwell() -> None:
    lean, rich = (predicted(sheet_with("pulsed air bleed", side))[0] for side in ("lean", "rich"))
    shift = passages_of(sheet_with("pulsed air bleed")).solenoid_duty_shift
    assert lean.wanted_duty + rich.wanted_duty == pytest.approx(1.0 - 2.0 * shift, abs=1e-9)


def test_lost_steps_show_as_a_command_that_is_off_by_as_much() -> None:
    sheet = sheet_with("stepper pintle")
    whole, lost = predictions(sheet, [CarState(), CarState(actuator_offset=0.1)])
    assert lost[1].wanted_duty == pytest.approx(whole[1].wanted_duty - 0.1, abs=1e-6)


def test_a_diaphragm_runs_out_of_travel_when_the_manifold_has_no_vacuum() -> None:
    sheet = sheet_with("vacuum diaphragm on a pulsed regulator")
    passages = passages_of(sheet)
    plenty, little = (
        steady_batch(passages, healthy(1), [OperatingPoint(50.0, pressure)])[0, 0, COLUMN.duty]
        for pressure in (6.0e4, 9.9e4)
    )
    assert 0.0 < plenty < 1.0 < little


def test_an_actuator_without_its_passage_is_refused() -> None:
    text = archetype_texts()["two-barrel-v6"].replace("pulsed rods with coupled bleed", "pulsed air bleed")
    with pytest.raises(ValueError, match="main_pulsed_bleed_diameter is needed"):
        parsed_sheet(text)
