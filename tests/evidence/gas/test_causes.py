"""What a gas points to: made gases of known fault come back as that fault."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dwellwright.evidence.gas import GasReading, gas_options
from dwellwright.evidence.gas.causes import GasCause, gas_causes
from dwellwright.evidence.observation import Regime
from dwellwright.physics.combustion import gas_composition

OPTIONS = gas_options()


def gas(co: float, co2: float, o2: float, hc: float) -> GasReading:
    return GasReading("idle", Regime.IDLE, co / 100, co2 / 100, o2 / 100, hc * 1e-6)


@pytest.mark.parametrize(
    ("reading", "cause"),
    [
        # typical of a warm engine without converter, common practice: CO 0.5-1, CO2 14-15, O2 0.5-1, HC 100-300
        (gas(0.75, 14.4, 0.6, 250), GasCause.HEALTHY),
        # symptom directions, common practice: CO high and O2 low when rich
        (gas(4.5, 12.2, 0.3, 320), GasCause.RICH),
        # O2 high, CO near nothing when lean
        (gas(0.1, 12.9, 3.2, 150), GasCause.LEAN),
        # HC very high with O2 when plugs miss (Cantera misfire of 8 % at lambda 1, hexane)
        (gas(0.5, 13.0, 2.0, 2000), GasCause.MISFIRE),
        # CO and CO2 thinned alike, O2 high while CO is not: air in the pipe
        (gas(3.9, 10.4, 3.3, 280), GasCause.FALSE_AIR),
    ],
)
def test_typical_gases(reading: GasReading, cause: GasCause) -> None:
    likeliest = gas_causes(reading, OPTIONS)[0]
    assert likeliest.cause is cause
    assert likeliest.probability > 0.8


def test_false_air_is_measured_beside_the_charge() -> None:
    # an invented car: 15.2 % air in the sample of a charge at lambda 0.871
    made = gas_composition(0.871, OPTIONS.fuel, 0.012, 0.152, mixing_spread=0.04)
    reading = GasReading(
        "idle", Regime.IDLE, made.carbon_monoxide, made.carbon_dioxide, made.oxygen, made.hydrocarbon
    )
    first = gas_causes(reading, OPTIONS)[0]
    assert first.cause is GasCause.FALSE_AIR
    assert first.false_air == pytest.approx(0.152, abs=0.02)
    assert first.charge_lambda == pytest.approx(0.871, abs=0.02)


@given(
    st.floats(0.99, 1.01),
    st.sampled_from([(0.9, 0.01, 0.001), (1.12, 0.01, 0.001), (1.0, 0.08, 0.001), (0.92, 0.01, 0.15)]),
)
@settings(max_examples=25, deadline=None)
def test_made_gas_comes_back_as_its_fault(jitter: float, state: tuple[float, float, float]) -> None:
    charge, unburned, air = state
    made = gas_composition(charge * jitter, OPTIONS.fuel, unburned, air, mixing_spread=0.04)
    reading = GasReading(
        "idle", Regime.IDLE, made.carbon_monoxide, made.carbon_dioxide, made.oxygen, made.hydrocarbon
    )
    wanted = {0.9: GasCause.RICH, 1.12: GasCause.LEAN, 1.0: GasCause.MISFIRE, 0.92: GasCause.FALSE_AIR}[
        charge
    ]
    assert gas_causes(reading, OPTIONS)[0].cause is wanted


def test_probabilities_add_up_and_repeat() -> None:
    reading = gas(1.4, 13.9, 0.9, 400)
    first, again = gas_causes(reading, OPTIONS), gas_causes(reading, OPTIONS)
    assert sum(one.probability for one in first) == pytest.approx(1.0)
    assert first == again
    assert [one.probability for one in first] == sorted((one.probability for one in first), reverse=True)


def test_infrared_reading_counts_half() -> None:
    # the same carbon read as half: with the infrared factor known, the unburned share doubles
    reading = gas(0.5, 13.0, 2.0, 1500)
    full = {one.cause: one for one in gas_causes(reading, OPTIONS)}[GasCause.MISFIRE]
    half = {one.cause: one for one in gas_causes(reading, gas_options(carbon_factor=12.0))}[GasCause.MISFIRE]
    assert half.unburned > 1.2 * full.unburned
