"""What tests with a response should answer on each car, and how well that fits what they did answer.

How much propane was given and how large the port was that was opened are not known, so those answers are foreseen as
directions only: rises, falls, or stays. The size counts where the model knows it: of the dwell with the purge hose
pinched, and, with a wide doubt, of the engine's speed with the solenoid held at one end.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from dwellwright.carburetor.air import OperatingPoint
from dwellwright.carburetor.passages import Passages
from dwellwright.carburetor.state import Field
from dwellwright.carburetor.steady import COLUMN, steady_batch
from dwellwright.catalogue.response_tests import response_tests
from dwellwright.diagnosis.loop_model import COLD_FAST, COLD_SPREAD, ENTRY_SPREAD, closed_chance, held_lambda
from dwellwright.diagnosis.readings import HELD_LIMITS, Evidence, Float, Reading
from dwellwright.diagnosis.scatter import Scatter
from dwellwright.evidence.observation import Measured, Regime

SLIP = 0.02
"""Chance of each answer that no car would give: done wrongly, read wrongly, not foreseen, assumed. [-]"""
ROOM, ROOM_SPREAD = 0.08, 0.04
"""Room to a limit that an answer of the loop needs, and its spread, in duty, assumed. [-]"""
FILLS, FILLS_SPREAD = 0.15, 0.10
"""How far beyond its limit a loop may be for the test still to bring it back, in duty, assumed. [-]"""
MOVES, MOVES_SPREAD = 0.07, 0.03
"""Relative change of lambda from which an engine's speed answers, and its spread, assumed. [-]"""
TOO_LEAN, SPEED_SPREAD = 1.08, 0.05
"""Lambda beyond which the engine runs faster once it is made richer, and the spread, assumed. [-]"""
BEST_LAMBDA, TORQUE_CURVATURE = 0.90, 2.2
"""Lambda of most torque, and the share of it lost per square of lambda beside it: common practice (no source), the
usual hook of part-throttle torque over mixture. [-]"""
SPEED_SHARE, FAST_SPEED = 0.5, 50.0
"""Relative change of unloaded speed per relative change of torque at a fixed throttle, assumed [-]; 3000 rpm. [1/s]"""
SPEED_DOUBT, SPEED_FLOOR = 0.6, 40.0 / 60.0
"""Doubt of a change of speed, in proportion [-] and absolute [1/s], assumed."""
SEES = 0.02
"""Distance of lambda from 1 at which a sensor surely reads its side, assumed. [-]"""
PINCH_FLOOR, PINCH_SHARE = 0.02, 0.4
"""Doubt of the dwell's change with the hose pinched, in duty and in proportion, assumed. [-]"""


@dataclass(frozen=True)
class Cars:
    """Cars to be asked: packed states with their steady solution, lambda held, and whether the loop is closed.

    Args:
        evidence: merged.
        scatter: healthy spread.
        states: shape (cars, FIELD_COUNT).
        steady: shape (cars, 3, columns).
        held: lambda burned in each regime, shape (cars, 3).
    """

    evidence: Evidence
    scatter: Scatter
    states: Float
    steady: Float
    held: Float

    def closed(self, regime: Regime) -> Float:
        """Chance that the loop is closed: as it was seen, else as the state lets it."""
        seen = self.evidence.get(Measured.CLOSED_LOOP_SHARE, regime)
        if seen is None:
            return closed_chance(self.evidence, self.scatter, self.states, regime)
        return np.full(len(self.states), 0.02 if self.evidence.is_open_loop(regime) else 0.98)

    def duty(self) -> Float:
        """Duty at idle that the loop wants, or the command that was seen to stand. [-]"""
        seen = self.evidence.get(Measured.DUTY, Regime.IDLE)
        if seen is not None and self.evidence.is_open_loop(Regime.IDLE):
            return np.full(len(self.states), seen.value)
        wanted: Float = self.steady[:, 0, COLUMN.duty]
        return wanted

    def lambda_at(self, end: int) -> Float:
        """Lambda at 3000 rpm with the solenoid at one end."""
        wanted = self.steady[:, 1, COLUMN.demand] * self.steady[:, 1, COLUMN.target_lambda]
        mixture: Float = np.clip(wanted / np.maximum(self.steady[:, 1, end], 1e-9), 0.5, 2.0)
        return mixture


Answer = Callable[[Cars], tuple[Float, Float]]
"""Chance that a test's reading rises, and that it falls, on each car."""


def _enrichment(cars: Cars) -> tuple[Float, Float]:
    duty = cars.duty()
    rises = cars.closed(Regime.IDLE) * ndtr((HELD_LIMITS[1] - ROOM - duty) / ROOM_SPREAD)
    return rises * ndtr((FILLS - (HELD_LIMITS[0] - duty)) / FILLS_SPREAD), np.zeros(len(duty))


def _induced_leak(cars: Cars) -> tuple[Float, Float]:
    duty = cars.duty()
    falls = cars.closed(Regime.IDLE) * ndtr((duty - HELD_LIMITS[0] - ROOM) / ROOM_SPREAD)
    return np.zeros(len(duty)), falls * ndtr((FILLS - (duty - HELD_LIMITS[1])) / FILLS_SPREAD)


def _unplugged(cars: Cars) -> tuple[Float, Float]:
    """An engine made richer slows down, unless it was too lean; how much is not known so near its best torque."""
    before, during = cars.held[:, 1], cars.lambda_at(COLUMN.fuel_rich)
    moves = ndtr((np.abs(np.log(during / before)) - MOVES) / MOVES_SPREAD)
    faster = ndtr((before - TOO_LEAN) / SPEED_SPREAD)
    return moves * faster, moves * (1.0 - faster)


def _grounded_sensor(cars: Cars) -> tuple[Float, Float]:
    """A living sensor falls where the released end is rich and the energized end is lean."""
    target = cars.steady[:, 1, COLUMN.target_lambda]
    rich, lean = (cars.lambda_at(end) / target for end in (COLUMN.fuel_rich, COLUMN.fuel_lean))
    alive = ndtr((COLD_FAST - cars.states[:, Field.SENSOR_COLD]) / COLD_SPREAD)
    return np.zeros(len(rich)), alive * ndtr((1.0 - rich) / SEES) * ndtr((lean - 1.0) / SEES)


def _warm(cars: Cars) -> Float:
    """Chance that the computer believes the engine warm: without its own sensor's word, nothing else keeps it open."""
    seen = cars.evidence.get(Measured.COOLANT_TEMPERATURE, Regime.IDLE)
    loop = cars.scatter.loop
    reads = np.full(len(cars.states), seen.value) if seen else (
        loop["warm_coolant"] + cars.states[:, Field.COOLANT_SENSOR]
    )  # fmt: skip
    warm: Float = ndtr((reads - loop["entry_coolant"]) / ENTRY_SPREAD)
    return warm


def _lead_grounded(cars: Cars) -> tuple[Float, Float]:
    return np.zeros(len(cars.states)), _warm(cars) * ndtr((cars.duty() - HELD_LIMITS[0] - ROOM) / ROOM_SPREAD)


def _lead_fed(cars: Cars) -> tuple[Float, Float]:
    return _warm(cars) * ndtr((HELD_LIMITS[1] - ROOM - cars.duty()) / ROOM_SPREAD), np.zeros(len(cars.states))


ANSWERS: dict[str, Answer] = {
    "enrichment": _enrichment,
    "induced_leak": _induced_leak,
    "solenoid_unplugged": _unplugged,
    "solenoid_grounded_sensor": _grounded_sensor,
    "sensor_lead_grounded": _lead_grounded,
    "sensor_lead_fed": _lead_fed,
}
"""Tests of which the direction is foreseen."""


def answer_parts(
    evidence: Evidence,
    scatter: Scatter,
    passages: Passages,
    idle: OperatingPoint,
    states: Float,
    steady: Float,
) -> dict[str, Float]:
    """Log-likelihood of every test with a response that was made, for each state, by the test's name in words."""
    made = {name: evidence.get(Measured(f"response_{name}")) for name in ANSWERS}
    pinched = evidence.get(Measured.RESPONSE_PURGE_HOSE_PINCHED)
    grounded = evidence.get(Measured.RESPONSE_DRIVER_LEAD_GROUNDED)
    if not any((pinched, grounded, *made.values())):
        return {}
    cars = Cars(evidence, scatter, states, steady, held_lambda(evidence, steady, passages))
    parts = {f"test: {response_tests()[name].label.partition(':')[0]}": _direction_part(name, seen, cars)
             for name, seen in made.items() if seen is not None}  # fmt: skip
    if grounded is not None:
        parts["test: driver lead grounded"] = _grounded_part(grounded, cars)
    if pinched is not None and not evidence.is_open_loop(Regime.IDLE):
        parts["test: purge hose pinched"] = _pinched_part(pinched, passages, idle, states)
    return parts


def _grounded_part(seen: Reading, cars: Cars) -> Float:
    """Log density of the change of speed at 3000 from full rich (computer unplugged) to full lean, or by a slip any."""
    before, during = cars.lambda_at(COLUMN.fuel_rich), cars.lambda_at(COLUMN.fuel_lean)
    lost = TORQUE_CURVATURE * ((during - BEST_LAMBDA) ** 2 - (before - BEST_LAMBDA) ** 2)
    expected = -FAST_SPEED * SPEED_SHARE * lost
    sigma = np.hypot(np.hypot(seen.uncertainty, SPEED_FLOOR), SPEED_DOUBT * expected)
    normal = np.exp(-0.5 * ((seen.value - expected) / sigma) ** 2) / (sigma * np.sqrt(2.0 * np.pi))
    part: Float = np.log(SLIP / FAST_SPEED + (1.0 - SLIP) * normal)
    return part


def _direction_part(name: str, seen: Reading, cars: Cars) -> Float:
    """Log of the chance of a change like that, over the three directions it may really have had."""
    rises, falls = ANSWERS[name](cars)
    edge, doubt = 0.5 * response_tests()[name].smallest, max(seen.uncertainty, 1e-9)
    up, down = float(ndtr((seen.value - edge) / doubt)), float(ndtr((-edge - seen.value) / doubt))
    chance = rises * up + falls * down + (1.0 - rises - falls) * max(0.0, 1.0 - up - down)
    part: Float = np.log(SLIP + (1.0 - 3.0 * SLIP) * chance)
    return part


def _pinched_part(seen: Reading, passages: Passages, idle: OperatingPoint, states: Float) -> Float:
    """The change of the dwell against what the model gives with the hole closed; nothing without a hole."""
    expected = np.zeros(len(states))
    open_ones = np.flatnonzero(states[:, Field.PURGE] > 0.0)
    if open_ones.size:
        shut = states[open_ones].copy()
        shut[:, Field.PURGE] = 0.0
        solved = steady_batch(passages, np.vstack([states[open_ones], shut]), [idle])
        duty = np.clip(solved[:, 0, COLUMN.duty], *HELD_LIMITS)
        expected[open_ones] = duty[open_ones.size :] - duty[: open_ones.size]
    sigma = np.hypot(np.hypot(PINCH_FLOOR, seen.uncertainty), PINCH_SHARE * expected)
    part: Float = np.maximum(-0.5 * ((seen.value - expected) / sigma) ** 2, -20.0) - np.log(sigma)
    return part
