"""How far a healthy car may be off its sheet, and the model off the car: the nuisances every hypothesis carries."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray

from dwellwright.carburetor.state import FIELD_COUNT, Field
from dwellwright.units import step_to_si, to_si

JOINT_FIELDS = {"needle_both": (Field.NEEDLE_LEFT, Field.NEEDLE_RIGHT)}
"""Entries of the data file that move several fields together."""


@dataclass(frozen=True)
class Discrepancy:
    """What the steady model does not know of the dwell, as standard deviations.

    Args:
        shared: of a cause's whole effect on dwell, common to all regimes. [-]
        regime: of a cause's effect in each regime by itself. [-]
        floor: of the steady duty of a healthy car, beyond scatter and measurement. [-]
    """

    shared: float
    regime: float
    floor: float

    def scaled(self, effect: float, floor: float) -> Discrepancy:
        """The same with the doubts of an effect, and that of a healthy car, so many times as large."""
        return Discrepancy(effect * self.shared, effect * self.regime, floor * self.floor)


@dataclass(frozen=True)
class Scatter:
    """Healthy spread, as directions in the state and their standard deviations, and the model's own doubt.

    Args:
        names: of the directions.
        directions: change of the state per unit of each, shape (directions, FIELD_COUNT).
        spreads: standard deviations, shape (directions,). [SI]
        discrepancy: of the model.
        loop: typical values of a warm healthy loop, SI, by name.
    """

    names: tuple[str, ...]
    directions: NDArray[np.float64]
    spreads: NDArray[np.float64]
    discrepancy: Discrepancy
    loop: dict[str, float]


@cache
def scatter_table() -> dict[str, dict[str, dict[str, Any]]]:
    """The shipped data file: sections, entries, and what each holds."""
    text = files("dwellwright.catalogue").joinpath("data/scatter.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def shipped_scatter() -> Scatter:
    """Scatter of the shipped data file."""
    tree = scatter_table()
    names = tuple(tree["build"])
    directions = np.zeros((len(names), FIELD_COUNT))
    for row, name in enumerate(names):
        for field in JOINT_FIELDS.get(name, (Field.__members__.get(name.upper()),)):
            if field is None:
                raise ValueError(f"scatter.toml, [build]: no field of the car's state is called {name!r}")
            directions[row, field] = 1.0
    spreads = np.array([step_to_si(entry["spread"], entry["unit"]) for entry in tree["build"].values()])
    loop = {name: to_si(entry["value"], entry["unit"]) for name, entry in tree["loop"].items()}
    model = Discrepancy(
        **{name: step_to_si(one["spread"], one["unit"]) for name, one in tree["discrepancy"].items()}
    )
    return Scatter(names, directions, spreads, model, loop)
