"""Partial, contradictory, impossible and missing evidence for every cause: a stated result, no false confidence."""

import numpy as np
import pytest

from dwellwright.carburetor.prediction import predictions
from dwellwright.carburetor.state import CarState
from dwellwright.catalogue.causes import shipped_causes
from dwellwright.catalogue.sheet_file import archetype
from dwellwright.catalogue.shop_tests import shipped_tests
from dwellwright.diagnosis import Diagnosis, diagnose
from dwellwright.diagnosis.settings_model import DIRECT, SEARCH_FLOOR, SEARCHES
from dwellwright.evidence.observation import Measured, Observation, Regime

SHEET = archetype("two-barrel-v6")
REGIMES = (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)
CAUSES = shipped_causes()


def ill(name: str) -> CarState:
    """A car with one cause at two thirds of its range."""
    cause = CAUSES[name]
    size = cause.si(cause.least + 0.66 * (cause.most - cause.least))
    base = CarState()
    return CarState(**{field: getattr(base, field) + per * size for field, per in cause.effects.items()})


def log_only(name: str) -> list[Observation]:
    points = predictions(SHEET, [ill(name)])[0]
    return [Observation(Measured.DUTY, r, p.duty, 0.01, "log") for r, p in zip(REGIMES, points, strict=True)]


def sane(found: Diagnosis) -> None:
    chances = [one.probability for one in found.causes]
    assert all(0.0 <= p <= 1.0 + 1e-9 for p in chances)
    assert chances == sorted(chances, reverse=True)
    assert all(np.isfinite([one.magnitude, one.low, one.high]).all() for one in found.causes)
    assert 0.0 <= found.healthy_probability <= 1.0 + 1e-9
    assert found.effective_draws >= 1000


@pytest.mark.parametrize("name", CAUSES)
def test_dwell_alone_is_no_proof_unless_nothing_else_could_do_it(name: str) -> None:
    found = diagnose(log_only(name), SHEET)
    sane(found)
    first = found.causes[0]
    # dwell is three numbers: a wrong cause is never said to be certain
    assert first.identifier == name or first.probability < 0.85
    assert any("No gauge or meter reading was given" in one for one in found.warnings)


def test_bench_only_leaves_what_the_bench_cannot_see_at_its_prior() -> None:
    on_sheet = Observation(Measured.LEAN_STOP, Regime.BENCH, 0.001778, 1e-5, "bench", 0.001778)
    found = diagnose([on_sheet], SHEET)
    sane(found)
    chances = {one.identifier: one.probability for one in found.causes}
    assert chances["lean_stop"] < 0.1 * CAUSES["lean_stop"].prior
    assert chances["vacuum_leak"] == pytest.approx(CAUSES["vacuum_leak"].prior, rel=0.15)


def test_gas_only_says_what_it_can() -> None:
    gas = [(Measured.CO, 0.03), (Measured.CO2, 0.13), (Measured.O2, 0.005)]
    found = diagnose([Observation(what, Regime.IDLE, value, 0.001, "gas") for what, value in gas], SHEET)
    sane(found)
    assert found.causes[0].probability < 0.9
    assert any("No dwell was read at idle, 3000, cruise" in one for one in found.warnings)


def test_two_readings_of_one_float_that_contradict_lower_nobody_to_certainty_and_name_the_suspect() -> None:
    pair = [
        Observation(Measured.FLOAT_LEVEL, Regime.BENCH, 9.5e-3, 1e-4, "bench", 9.5e-3),
        Observation(Measured.FLOAT_LEVEL_RUNNING, Regime.IDLE, 2.5e-3, 1e-4, "gauge", 9.5e-3),
    ]
    found = diagnose(pair, SHEET)
    sane(found)
    assert any("float level running" in one and "repeat it" in one for one in found.warnings)


@pytest.mark.parametrize("measured", list(DIRECT))
def test_an_absurd_reading_never_breaks_it(measured: Measured) -> None:
    for value in (-1e6, 0.0, 1e6):
        found = diagnose([Observation(measured, Regime.IDLE, value, 1e-9, "typed", 0.0)], SHEET)
        chances = [one.probability for one in found.causes]
        assert np.isfinite(chances).all()
        if value:
            assert found.warnings


@pytest.mark.parametrize("measured", list(SEARCHES))
def test_a_search_that_finds_its_cause_makes_it_first(measured: Measured) -> None:
    guilty = next(k for k, c in CAUSES.items() if _reads(measured) in c.effects)
    cause = CAUSES[guilty]
    size = cause.si(cause.least + 0.66 * (cause.most - cause.least)) * cause.effects[_reads(measured)]
    doubt = SEARCHES[measured][1] / SEARCH_FLOOR
    found = diagnose([Observation(measured, Regime.IDLE, size, 0.3 * doubt, "typed")], SHEET)
    sane(found)
    assert found.causes[0].identifier == guilty
    assert found.causes[0].probability > 0.3


def _reads(measured: Measured) -> str:
    return next(test.reads for test in shipped_tests() if test.after == measured.value)
