"""The held-out study's own parts: rules of the paper flowchart, neighbors, its gas, and its cars."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from dwellwright.carburetor.state import Field
from dwellwright.catalogue.causes import shipped_causes
from dwellwright.diagnosis.hypotheses import selected
from dwellwright.evidence.observation import Measured, Observation, Regime

FOLDER = Path(__file__).resolve().parents[2] / "benchmarks" / "diagnosis"
MODULES = (
    "flowchart",
    "neighbors",
    "held_out_model",
    "held_out_gas",
    "held_out_evidence",
    "held_out",
    "calibration",
)
CAUSES = selected(shipped_causes())


@pytest.fixture(scope="module")
def study() -> Iterator[dict[str, ModuleType]]:
    kept = {name: sys.modules.pop(name) for name in MODULES if name in sys.modules}
    sys.path.insert(0, str(FOLDER))
    yield {name: importlib.import_module(name) for name in MODULES}
    sys.path.remove(str(FOLDER))
    for name in (*MODULES, "held_out_page"):
        sys.modules.pop(name, None)
    sys.modules.update(kept)


@pytest.mark.parametrize(
    ("dwell", "period", "first"),
    [
        ((30, 30, 30), 1.7, None),  # in the middle everywhere: nothing to look for
        ((45, 30, 30), 1.7, "purge"),
        ((15, 30, 30), 1.7, "vacuum_leak"),
        ((45, 45, 45), 1.7, "float_level"),
        ((15, 15, 15), 1.7, "exhaust_leak"),
        ((30, 45, 30), 1.7, "float_level"),
        ((30, 30, 30), 4.0, "sensor_slow"),
    ],
)
def test_the_flowchart_looks_where_common_practice_does(
    study: dict[str, ModuleType], dwell: tuple[float, ...], period: float, first: str | None
) -> None:
    order = study["flowchart"].flowchart(*dwell, period)
    assert (order[0] if order else None) == first
    assert len(order) == len(set(order))
    assert set(order) <= set(CAUSES.names)


@pytest.mark.parametrize(
    ("one", "first"),
    [
        (Observation(Measured.LEAN_STOP, Regime.BENCH, 2.5e-3, 3e-5, "b", 1.78e-3), "lean_stop"),
        (Observation(Measured.HC, Regime.IDLE, 1500e-6, 5e-5, "g"), "misfire"),
        (Observation(Measured.O2, Regime.IDLE, 0.035, 1e-3, "g"), "exhaust_leak"),
        (
            Observation(Measured.RESPONSE_DRIVER_LEAD_GROUNDED, Regime.FAST_NO_LOAD, 0.0, 0.4, "a"),
            "solenoid_dead",
        ),
        (Observation(Measured.COOLANT_TEMPERATURE, Regime.IDLE, 320.0, 1.0, "r"), "coolant_sensor"),
    ],
)
def test_a_telling_reading_comes_first_on_the_flowchart(
    study: dict[str, ModuleType], one: Observation, first: str
) -> None:
    assert study["flowchart"].flowchart(30, 30, 30, 1.7, [one])[0] == first


def test_neighbors_know_a_car_that_they_were_taught(study: dict[str, ModuleType]) -> None:
    near = study["neighbors"].Neighbors(CAUSES, 400, np.random.default_rng(4))
    slow = CAUSES.names.index("sensor_slow")
    order, well = near.order(np.array([0.5, 0.5, 0.5]), 1.75 * 1.9)
    assert order[0] == slow
    assert not well


def test_a_healthy_held_out_car_stands_in_the_middle_and_faults_move_it_the_right_way(
    study: dict[str, ModuleType],
) -> None:
    model = study["held_out_model"]
    for seed in range(3):
        random = np.random.default_rng(seed)
        well = model.perturbed(np.zeros(len(Field)), random)
        assert [model.duty(well, k) for k in range(3)] == pytest.approx([0.5] * 3, abs=0.01)
        for field, size, sign in (
            (Field.VACUUM_LEAK, 4e-6, -1),
            (Field.PURGE, 6e-7, 1),
            (Field.FUEL_LEVEL, 3e-3, 1),
        ):
            state = np.zeros(len(Field))
            state[field] = size
            ill = model.Car(state, well.share)
            assert sign * (model.duty(ill, 0) - 0.5) > 0.02, field.name
            assert model.burned_lambda(ill, 0, model.duty(ill, 0)) == pytest.approx(1.0, abs=0.01)


def test_held_out_gas_keeps_its_carbon_and_shows_air_and_misfire(study: dict[str, ModuleType]) -> None:
    exhaust = study["held_out_gas"].exhaust
    plain, aired, missing = (
        exhaust(1.0, air, misfire, np.random.default_rng(1)) for air, misfire in ((0, 0), (0.1, 0), (0, 0.05))
    )
    # closed form: all carbon of lambda 1 in dry gas is 1 / (1 + 3.773 * 1.4625), mixing and loss move it a little
    assert plain[0] + plain[1] + 6 * plain[3] == pytest.approx(1 / (1 + 3.773 * 1.4625), rel=0.02)
    assert aired[1] == pytest.approx(plain[1] / 1.1, rel=1e-9)
    assert aired[2] > plain[2] + 0.018
    assert missing[3] > 5 * plain[3]
    assert exhaust(0.85, 0, 0, np.random.default_rng(1))[0] > 0.03


def test_every_kind_of_evidence_holds_the_poorer_one(study: dict[str, ModuleType]) -> None:
    held_out, kinds = study["held_out"], study["held_out_evidence"].EVIDENCE
    one = held_out.arrival(CAUSES, (CAUSES.names.index("float_level"),), np.random.default_rng(2))
    seen = [
        {(o.measured, o.regime) for o in kinds[kind](one, np.random.default_rng(3))}
        for kind in ("thin", "car", "bench")
    ]
    assert seen[0] < seen[1] < seen[2]
    assert (Measured.HC, Regime.IDLE) in seen[1]


def test_each_round_of_the_study_holds_every_cause_once(study: dict[str, ModuleType]) -> None:
    drawn, page = study["held_out"].drawn, importlib.import_module("held_out_page")
    cars = [drawn(CAUSES, n, np.random.default_rng(n)) for n in range(page.CYCLE)]
    assert len(CAUSES.names) + 16 == page.CYCLE
    assert sorted(one[0] for one in cars if len(one) == 1) == list(range(len(CAUSES.names)))
    assert [sum(len(one) == held for one in cars) for held in (0, 2)] == [12, 4]
