"""The sampler on posteriors that are known: no evidence gives the priors, one reading gives a closed form."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from dwellwright.carburetor.prediction import predicted
from dwellwright.carburetor.state import CarState
from dwellwright.catalogue.causes import causes_from_toml, shipped_causes
from dwellwright.catalogue.sheet_file import archetype
from dwellwright.diagnosis import diagnose
from dwellwright.diagnosis.hypotheses import selected
from dwellwright.diagnosis.likelihood import problem_of
from dwellwright.diagnosis.posterior import posterior_of
from dwellwright.diagnosis.readings import gathered
from dwellwright.diagnosis.scatter import shipped_scatter
from dwellwright.evidence.observation import Measured, Observation, Regime

SHEET = archetype("two-barrel-v6")
THOU = 25.4e-6
REGIMES = (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)


def observed(state: CarState, *extra: Observation) -> list[Observation]:
    """Dwell in each regime that the model gives a car, without noise, and whatever else is added."""
    points = predicted(SHEET, state)
    dwell = [
        Observation(Measured.DUTY, r, p.duty, 0.005, "made") for r, p in zip(REGIMES, points, strict=True)
    ]
    return [*dwell, *extra]


def test_without_evidence_the_priors_come_back() -> None:
    # written out: every set of up to three causes that can hold together has the product of its causes' priors
    causes = selected(shipped_causes())
    odds = np.array(causes.priors) / (1 - np.array(causes.priors))
    sets = [m for size in range(4) for m in combinations(range(len(odds)), size) if causes.together(m)]
    weights = np.array([np.prod(odds[list(m)]) for m in sets])
    diagnosis = diagnose([], SHEET)
    found = {belief.identifier: belief.probability for belief in diagnosis.causes}
    for k, (name, prior) in enumerate(zip(causes.names, causes.priors, strict=True)):
        expected = weights @ [k in m for m in sets] / np.sum(weights)
        assert found[name] == pytest.approx(expected, rel=0.02)  # the draws are even, not exact
        assert found[name] == pytest.approx(prior, rel=0.12)  # what leaving out sets of four and more costs
    assert any("every setting is judged by the dwell alone" in warning for warning in diagnosis.warnings)


def test_a_cause_that_nothing_speaks_for_keeps_its_prior_beside_a_certain_one() -> None:
    gauge = Observation(Measured.LEAN_STOP, Regime.BENCH, 105 * THOU, THOU, "made", 70 * THOU)
    found = {belief.identifier: belief.probability for belief in diagnose([gauge], SHEET).causes}
    prior = shipped_causes()["power_piston"].prior
    assert found["lean_stop"] > 0.99
    # sets of up to three: beside the certain cause two more can hold, which costs a Poisson tail of about a quarter
    assert 0.6 * prior < found["power_piston"] < 1.05 * prior


@pytest.mark.parametrize("deviation", [0.0, 8.0, 14.0, 30.0])
def test_one_gauge_reading_gives_the_closed_form(deviation: float) -> None:
    reading = Observation(
        Measured.LEAN_STOP, Regime.BENCH, (70 + deviation) * THOU, 1 * THOU, "made", 70 * THOU
    )
    causes = {"lean_stop": shipped_causes()["lean_stop"]}
    posterior = posterior_of(problem_of(SHEET, gathered([reading])), selected(causes))
    cause, scatter = causes["lean_stop"], shipped_scatter()
    spread = scatter.spreads[scatter.names.index("lean_stop")] / THOU
    sigma = float(np.sqrt(spread**2 + 1.0 + (25e-6 / THOU) ** 2))

    def given(size: float) -> float:
        return float(norm.pdf(deviation - size, scale=sigma))

    width = 2 * (cause.most - cause.least)
    parts = [quad(given, low, high, epsabs=1e-12)[0]
             for low, high in ((cause.least, cause.most), (-cause.most, -cause.least))]  # fmt: skip
    guilty = cause.prior * sum(parts) / width
    expected = guilty / (guilty + (1 - cause.prior) * given(0.0))
    assert posterior.marginal(0) == pytest.approx(expected, rel=0.05, abs=1e-4)


def test_the_same_evidence_gives_the_same_answer_and_another_seed_nearly() -> None:
    seen = observed(CarState(lean_stop=35 * THOU))
    first, again, other = (diagnose(seen, SHEET, seed=s) for s in (1, 1, 2))
    assert first == again
    table = {b.identifier: b.probability for b in other.causes}
    for belief in first.causes:
        assert belief.probability == pytest.approx(table[belief.identifier], abs=0.06)


GUILTY = {
    "idle_needle": (
        CarState(needle_left=1.0, needle_right=1.0),
        Observation(Measured.IDLE_NEEDLE, Regime.BENCH, 5.0, 0.05, "made", 4.0),
    ),
    "float_level": (
        CarState(fuel_level=3e-3),
        Observation(Measured.FLOAT_LEVEL, Regime.BENCH, 6.5e-3, 2e-4, "made", 9.5e-3),
    ),
    "lean_stop": (
        CarState(lean_stop=35 * THOU),
        Observation(Measured.LEAN_STOP, Regime.BENCH, 105 * THOU, THOU, "made", 70 * THOU),
    ),
    "ethanol": (CarState(ethanol=0.15), Observation(Measured.ETHANOL, Regime.BENCH, 0.15, 0.01, "made", 0.0)),
    "purge": (
        CarState(purge=0.9e-6),
        Observation(Measured.PURGE_VACUUM, Regime.IDLE, 67.5e3 * 0.81 / 0.90, 500.0, "made", 0.0),
    ),
}


@pytest.mark.parametrize("name", GUILTY)
def test_a_cause_seen_by_dwell_and_by_its_own_reading_is_named_with_its_size(name: str) -> None:
    state, reading = GUILTY[name]
    diagnosis = diagnose(observed(state, reading), SHEET)
    top = diagnosis.causes[0]
    assert top.identifier == name
    assert top.probability > 0.9
    effect = next(iter(top.cause.effects))
    true = top.cause.shown(getattr(state, "needle_left" if name == "idle_needle" else effect))
    assert top.low <= true <= top.high
    assert sum(s.bits for s in top.support) > 3


def test_a_leak_with_nothing_else_read_is_a_group_not_a_certainty() -> None:
    diagnosis = diagnose(observed(CarState(vacuum_leak=4e-6)), SHEET)
    assert "vacuum_leak" in [b.identifier for b in diagnosis.causes[:3]]
    assert diagnosis.causes[0].probability < 0.9
    assert any("vacuum_leak" in group for group in diagnosis.look_alikes)
    assert diagnosis.next_tests[0].per_minute >= diagnosis.next_tests[-1].per_minute > 0


def test_a_car_on_its_sheet_is_healthy() -> None:
    gauges = [
        Observation(Measured.LEAN_STOP, Regime.BENCH, 70 * THOU, THOU, "made", 70 * THOU),
        Observation(Measured.FLOAT_LEVEL, Regime.BENCH, 9.5e-3, 2e-4, "made", 9.5e-3),
    ]
    diagnosis = diagnose(observed(CarState(), *gauges), SHEET)
    assert diagnosis.best_set == ()
    assert diagnosis.healthy_probability > 0.7
    assert max(b.probability for b in diagnosis.causes if b.cause.kind == "fault") < 0.2


def test_two_causes_that_no_one_cause_explains_are_named_together() -> None:
    state = CarState(lean_stop=35 * THOU, coolant_sensor=-15.0)
    extra = [
        Observation(Measured.LEAN_STOP, Regime.BENCH, 105 * THOU, THOU, "made", 70 * THOU),
        Observation(Measured.COOLANT_TEMPERATURE, Regime.IDLE, 345.0, 0.5, "made"),
        Observation(Measured.COOLANT_THERMOMETER, Regime.IDLE, 360.0, 1.0, "made"),
    ]
    diagnosis = diagnose(observed(state, *extra), SHEET)
    assert set(diagnosis.best_set) == {"lean_stop", "coolant_sensor"}
    assert any("No single cause explains everything" in warning for warning in diagnosis.warnings)


def test_an_impossible_dwell_is_said_to_fit_nothing() -> None:
    odd = [
        Observation(Measured.DUTY, Regime.IDLE, 0.5, 0.005, "made"),
        Observation(Measured.DUTY, Regime.FAST_NO_LOAD, 0.90, 0.005, "made"),
        Observation(Measured.DUTY, Regime.CRUISE, 0.12, 0.005, "made"),
    ]
    diagnosis = diagnose(odd, SHEET)
    assert any("none of the known causes fits" in warning for warning in diagnosis.warnings)


def test_not_a_number_is_left_out_not_believed() -> None:
    seen = observed(CarState())
    assert (
        diagnose([*seen, replace(seen[0], value=float("nan"))], SHEET).causes == diagnose(seen, SHEET).causes
    )


def test_shop_priors_replace_the_catalogues() -> None:
    seen = observed(CarState(vacuum_leak=4e-6))
    plain, shop = diagnose(seen, SHEET), diagnose(seen, SHEET, priors={"vacuum_leak": 0.5})
    of = {name: next(b.probability for b in d.causes if b.identifier == "vacuum_leak")
          for name, d in (("plain", plain), ("shop", shop))}  # fmt: skip
    assert of["shop"] > of["plain"]


def test_a_cause_with_its_sizes_reversed_is_refused() -> None:
    text = (
        '[a]\ntitle="t"\nkind="fault"\neffects={lean_stop=1.0}\nunit="thou"\npositive="p"\n'
        'least=5\nmost=2\nprior=0.1\nminutes=1\nremedy="r"\n'
    )
    with pytest.raises(ValueError, match="least must be below most"):
        causes_from_toml(text)
