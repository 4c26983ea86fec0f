"""The same unit as it may have been built: sizes within the sheet's own tolerances."""

from __future__ import annotations

from math import sqrt

import numpy as np

from dwellwright.catalogue.quantity import Quantity
from dwellwright.catalogue.sheet import SpecSheet

DRAWS = 48
"""Units drawn for an interval; the ends of a 90 % interval are then known to a few percent of its width."""


def built_sheets(sheet: SpecSheet, count: int = DRAWS, seed: int = 1) -> list[SpecSheet]:
    """So many units of the sheet, every size of the geometry drawn within its tolerance.

    A tolerance is a half-width of which nothing more is known, so its standard deviation is that over the root of 3
    (JCGM 100:2008, 4.3.7). Sizes are drawn from a normal of that width, cut at the tolerance.
    """
    rng = np.random.default_rng(seed)
    sizes = {
        name: value for name in type(sheet.geometry).model_fields
        if isinstance(value := getattr(sheet.geometry, name), Quantity) and value.tolerance > 0
    }  # fmt: skip
    drawn = []
    for _ in range(count):
        moved = {
            name: size.model_copy(
                update={"value": size.value + size.tolerance * float(np.clip(rng.normal() / sqrt(3), -1, 1))}
            )
            for name, size in sizes.items()
        }
        drawn.append(sheet.model_copy(update={"geometry": sheet.geometry.model_copy(update=moved)}))
    return drawn
