"""How far a healthy car may be off its sheet: the nuisances that every hypothesis carries."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from dwellwright.carburetor.state import FIELD_COUNT, Field
from dwellwright.units import step_to_si, to_si

JOINT_FIELDS = {"needle_both": (Field.NEEDLE_LEFT, Field.NEEDLE_RIGHT)}
"""Entries of the data file that move several fields together."""


@dataclass(frozen=True)
class Scatter:
    """Healthy spread, as directions in the state and their standard deviations.

    Args:
        names: of the directions.
        directions: change of the state per unit of each, shape (directions, FIELD_COUNT).
        spreads: standard deviations, shape (directions,). [SI]
        loop: typical values of a warm healthy loop, SI, by name.
    """

    names: tuple[str, ...]
    directions: NDArray[np.float64]
    spreads: NDArray[np.float64]
    loop: dict[str, float]


@cache
def shipped_scatter() -> Scatter:
    """Scatter of the shipped data file."""
    text = files("dwellwright.catalogue").joinpath("data/scatter.toml").read_text(encoding="utf-8")
    tree = tomllib.loads(text)
    names = tuple(tree["build"])
    directions = np.zeros((len(names), FIELD_COUNT))
    for row, name in enumerate(names):
        for field in JOINT_FIELDS.get(name, (Field.__members__.get(name.upper()),)):
            if field is None:
                raise ValueError(f"scatter.toml, [build]: no field of the car's state is called {name!r}")
            directions[row, field] = 1.0
    spreads = np.array([step_to_si(entry["spread"], entry["unit"]) for entry in tree["build"].values()])
    loop = {name: to_si(entry["value"], entry["unit"]) for name, entry in tree["loop"].items()}
    return Scatter(names, directions, spreads, loop)
