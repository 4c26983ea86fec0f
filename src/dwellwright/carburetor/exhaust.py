"""What leaves the engine at a predicted point: lambda barrel by barrel, and the dry gas before any converter."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dwellwright.carburetor.air import operating_point
from dwellwright.carburetor.demand import false_air_share, missed_share
from dwellwright.carburetor.passages import Passages, passages_of
from dwellwright.carburetor.prediction import PointPrediction
from dwellwright.carburetor.state import CarState, packed
from dwellwright.carburetor.steady import COLUMN, lean_share_at, steady_batch
from dwellwright.catalogue.fuels import ethanol_blend
from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.physics.combustion import (
    HEALTHY_UNBURNED,
    TYPICAL_MIXING_SPREAD,
    ExhaustGas,
    gas_composition,
)

BURNABLE = (0.60, 3.0)
"""Lambda at which a barrel's gas is held: the gas law's own range with its spread of mixture. [-]"""
MOST_MISSED = 0.9
"""Share of cycles that miss beyond which no gas is predicted. [-]"""


def barrel_lambdas(
    sheet: SpecSheet, state: CarState, points: tuple[PointPrediction, ...]
) -> tuple[tuple[float, ...], ...]:
    """Lambda of each primary barrel at every point's own duty; all get the same air. [-]

    A barrel is a car whose needles both stand as that barrel's does, held at the whole car's duty.
    """
    passages = passages_of(sheet)
    needles = (state.needle_left, state.needle_right)[: int(passages.barrels)]
    cars = [replace(state, needle_left=needle, needle_right=needle) for needle in needles]
    rows = steady_batch(passages, packed(cars), [operating_point(sheet, point.name) for point in points])
    shares = [float(lean_share_at(passages, np.array(point.duty))) for point in points]
    return tuple(
        tuple(_lambda(rows[barrel, k], shares[k], passages) for barrel in range(len(cars)))
        for k in range(len(points))
    )


def _lambda(row, share: float, passages: Passages) -> float:  # type: ignore[no-untyped-def]
    """Lambda of a row at a share towards lean; a standing actuator is taken to give the mean of its ends."""
    fuel = (1.0 - share) * row[COLUMN.fuel_rich] + share * row[COLUMN.fuel_lean]
    if passages.positional > 0.5:
        fuel = row[COLUMN.demand]
    return float(row[COLUMN.demand] * row[COLUMN.target_lambda] / fuel)


def point_gas(
    sheet: SpecSheet, state: CarState, point: PointPrediction, barrels: tuple[float, ...]
) -> ExhaustGas:
    """Dry gas at the tail of an engine without converter: the barrels' gases together, with what goes wrong after.

    Misfire (recirculation's own included), air drawn in before the probe, and injected air are the state's; nothing
    burns on in the pipe.

    Args:
        sheet: of the unit.
        state: of the car.
        point: as predicted.
        barrels: lambda of each barrel, from `barrel_lambdas`. [-]
    """
    passages, fuel, packed_state = passages_of(sheet), ethanol_blend(state.ethanol), packed(state)[0]
    manifold = operating_point(sheet, point.name).manifold_pressure
    missed = min(HEALTHY_UNBURNED + missed_share(packed_state, manifold), MOST_MISSED)
    leak = false_air_share(passages, packed_state, point.air + point.fuel) - state.injected_air
    injected = state.injected_air * (1.0 + 1.0 / fuel.stoichiometric_ratio)
    parts = [
        gas_composition(
            min(max(value, BURNABLE[0]), BURNABLE[1]), fuel, missed, leak / (1.0 + leak),
            mixing_spread=TYPICAL_MIXING_SPREAD, air_injection=injected,
        )
        for value in barrels
    ]  # fmt: skip
    # the same air through each barrel, so its carbon goes with one over lambda
    weights = np.array([part.dry_moles / value for part, value in zip(parts, barrels, strict=True)])
    names = ExhaustGas.__dataclass_fields__
    means = {
        name: float(np.average([getattr(part, name) for part in parts], weights=weights)) for name in names
    }
    return ExhaustGas(**means)
