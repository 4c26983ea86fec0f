"""What a unit should do at each operating point, with what makes the answer doubtful, and what each screw changes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from dwellwright.carburetor.air import operating_point
from dwellwright.carburetor.passages import Passages, passages_of
from dwellwright.carburetor.state import CarState, packed
from dwellwright.carburetor.steady import COLUMN, lean_share_at, steady_batch
from dwellwright.carburetor.validity import Finding, point_findings, state_findings
from dwellwright.catalogue.sheet import SpecSheet

POINT_NAMES = ("idle", "3000", "cruise")
"""Operating points every sheet has, in the order they are shown."""
DUTY_LIMITS = (0.02, 0.98)
"""Least and largest duty a driver gives, assumed where no controller is named. [-]"""


@dataclass(frozen=True)
class PointPrediction:
    """The closed loop's steady answer at one operating point.

    Args:
        name: of the operating point.
        duty: commanded duty, held within the limits. [-]
        wanted_duty: duty that would meet the demand, limits ignored. [-]
        lambda_released: lambda with the solenoid never energized. [-]
        lambda_energized: lambda with it always energized. [-]
        lambda_held: lambda of the burned mixture at `duty`. [-]
        air: total air flow. [kg/s]
        fuel: total fuel flow at `duty`. [kg/s]
        findings: where the model or the loop is out of its range.
    """

    name: str
    duty: float
    wanted_duty: float
    lambda_released: float
    lambda_energized: float
    lambda_held: float
    air: float
    fuel: float
    findings: tuple[Finding, ...]

    @property
    def saturated(self) -> bool:
        """Whether the loop is at one of its limits and cannot hold the mixture."""
        return not DUTY_LIMITS[0] <= self.wanted_duty <= DUTY_LIMITS[1]


def predictions(sheet: SpecSheet, states: list[CarState]) -> list[tuple[PointPrediction, ...]]:
    """Steady predictions of several cars at every operating point of the sheet."""
    passages = passages_of(sheet)
    points = [operating_point(sheet, name) for name in POINT_NAMES]
    table = steady_batch(passages, packed(states), points)
    return [
        tuple(_prediction(name, row, passages) for name, row in zip(POINT_NAMES, rows, strict=True))
        for rows in table
    ]


def predicted(sheet: SpecSheet, state: CarState | None = None) -> tuple[PointPrediction, ...]:
    """Steady predictions of one car, every doubt attached; the sheet's own car when no state is given."""
    car, passages = state or CarState(), passages_of(sheet)
    row = packed(car)[0]
    return tuple(
        replace(
            point,
            findings=point.findings
            + state_findings(point.name, passages, row, operating_point(sheet, point.name)),
        )
        for point in predictions(sheet, [car])[0]
    )


def _prediction(name: str, row, passages: Passages) -> PointPrediction:  # type: ignore[no-untyped-def]
    rich, lean, demand, target = (float(row[k]) for k in (COLUMN.fuel_rich, COLUMN.fuel_lean, COLUMN.demand,
                                                          COLUMN.target_lambda))  # fmt: skip
    wanted = float(row[COLUMN.duty])
    duty = min(max(wanted, DUTY_LIMITS[0]), DUTY_LIMITS[1])
    share = float(lean_share_at(passages, np.array(duty)))
    fuel = demand if duty == wanted else (1.0 - share) * rich + share * lean
    stoichiometric = demand * target
    return PointPrediction(
        name=name,
        duty=duty,
        wanted_duty=wanted,
        lambda_released=stoichiometric / rich,
        lambda_energized=stoichiometric / lean,
        lambda_held=stoichiometric / fuel,
        air=float(row[COLUMN.air]),
        fuel=fuel,
        findings=point_findings(name, row, wanted, DUTY_LIMITS),
    )


@dataclass(frozen=True)
class Adjustment:
    """One adjustable point as the bench moves it: which fields of the state one step of it changes.

    Args:
        setting: key on the sheet.
        fields: fields of `CarState` it moves together.
        per_unit: change of the field for one SI unit (or turn) more on the gauge. [-]
    """

    setting: str
    fields: tuple[str, ...]
    per_unit: float


ADJUSTMENTS = (
    Adjustment("lean_stop", ("lean_stop",), 1.0),
    Adjustment("rich_stop", ("rich_stop",), 1.0),
    Adjustment("idle_needle", ("needle_left", "needle_right"), 1.0),
    Adjustment("idle_bleed", ("idle_bleed",), 1.0),
    Adjustment("float_level", ("fuel_level",), -1.0),
)
"""The adjustable points the model knows; a float reading is a depth, so more on the gauge is a lower level."""


def adjusted(state: CarState, adjustment: Adjustment, reading_change: float) -> CarState:
    """The state after a gauge reading has been moved by so much. [SI or turns]"""
    moved = {name: getattr(state, name) + adjustment.per_unit * reading_change for name in adjustment.fields}
    return replace(state, **moved)


def sensitivities(sheet: SpecSheet, state: CarState | None = None) -> dict[str, dict[str, float]]:
    """Change of wanted duty per SI unit (or turn) of each adjustable point, by point name. [1/m or 1/turn]

    Central differences over a twentieth of a turn's travel, or 0.1 mm and 0.1 turn where no thread is given.
    """
    base = state or CarState()
    cars, steps = [], []
    for adjustment in ADJUSTMENTS:
        setting = sheet.settings[adjustment.setting]
        step = 0.1 if setting.wanted.unit == "turns" else 1e-4
        if setting.thread is not None and setting.wanted.unit != "turns":
            step = 0.05 * setting.thread.travel_per_turn
        steps.append(step)
        cars += [adjusted(base, adjustment, -step), adjusted(base, adjustment, step)]
    found = predictions(sheet, cars)
    return {
        adjustment.setting: {
            high.name: (high.wanted_duty - low.wanted_duty) / (2.0 * step)
            for low, high in zip(found[2 * k], found[2 * k + 1], strict=True)
        }
        for k, (adjustment, step) in enumerate(zip(ADJUSTMENTS, steps, strict=True))
    }
