"""Variance components of random effects: closed form where balanced, restricted likelihood anywhere."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import LinAlgError, cho_solve, cholesky
from scipy.optimize import minimize

Values = NDArray[np.float64]
MOST_READINGS = 600
"""The likelihood holds a full matrix of this many readings squared."""

SMALLEST_LOG, LARGEST_LOG, NO_VARIANCE = -18.0, 6.0, -14.0
"""Logarithms of variances looked at, over that of all readings; below the last one a variance counts as none."""
FAR_OFF = 1e12
"""Loss of variances whose matrix cannot be solved."""


def one_way_components(table: Values) -> tuple[float, float]:
    """Variance between the rows and within them, from the mean squares of a balanced table. [unit squared]

    Args:
        table: one row for each group, the same count in each.

    Raises:
        ValueError: fewer than two groups or two readings each.

    References:
        Searle, Casella, McCulloch 1992, Variance Components, section 3.5.
    """
    groups, count = table.shape
    if groups < 2 or count < 2:
        raise ValueError(f"two groups of two readings are the least, got {groups} of {count}")
    within = float(table.var(axis=1, ddof=1).mean())
    between = count * float(table.mean(axis=1).var(ddof=1))
    return max(0.0, (between - within) / count), within


def _same(labels: Sequence[object]) -> Values:
    """1 where two readings share a label, else 0; shape (n, n)."""
    _, index = np.unique(np.array([str(label) for label in labels]), return_inverse=True)
    same: Values = (index[:, None] == index[None, :]).astype(np.float64)
    return same


def _negative_log_likelihood(variances: Values, values: Values, shared: list[Values]) -> float:
    """Minus the restricted log-likelihood for one common mean, up to a constant."""
    covariance = sum((v * s for v, s in zip(variances, shared, strict=True)), np.zeros_like(shared[0]))
    root = cholesky(covariance, lower=True)
    ones = np.ones_like(values)
    solved_ones, solved = cho_solve((root, True), ones), cho_solve((root, True), values)
    information = float(ones @ solved_ones)
    mean = float(ones @ solved) / information
    squares = float(values @ solved) - mean**2 * information
    return float(np.log(np.diag(root)).sum() + 0.5 * (np.log(information) + squares))


def restricted_components(
    values: Sequence[float], groups: Mapping[str, Sequence[object]]
) -> dict[str, float]:
    """Variance of each grouping and of the `residual`, by restricted maximum likelihood. [unit squared]

    Works for crossed, nested and unbalanced data with cells missing; never negative.

    Args:
        values: readings.
        groups: for each random effect, the label of every reading.

    Raises:
        ValueError: too few or too many readings, labels of another length, or readings without any spread.

    References:
        Patterson, Thompson 1971, Biometrika 58:545-554.
    """
    data = np.asarray(values, dtype=np.float64)
    if not 3 <= data.size <= MOST_READINGS:
        raise ValueError(f"3 to {MOST_READINGS} readings are needed, got {data.size}")
    if any(len(labels) != data.size for labels in groups.values()):
        raise ValueError("every grouping needs one label for each reading")
    scale = float(data.std())
    if scale == 0:
        raise ValueError("the readings are all the same: the gauge cannot resolve them")
    scaled = (data - data.mean()) / scale
    shared = [*(_same(labels) for labels in groups.values()), np.eye(data.size)]

    def loss(logs: Values) -> float:
        try:
            return _negative_log_likelihood(np.exp(np.clip(logs, SMALLEST_LOG, LARGEST_LOG)), scaled, shared)
        except LinAlgError:
            return FAR_OFF

    start = np.full(len(shared), np.log(0.3))
    best = minimize(
        loss,
        start,
        method="L-BFGS-B",
        bounds=[(SMALLEST_LOG, LARGEST_LOG)] * len(shared),
        options={"ftol": 1e-14},
    )
    best = minimize(
        loss, best.x, method="Nelder-Mead", options={"xatol": 1e-8, "fatol": 1e-13, "maxiter": 800}
    )
    variances = np.exp(np.clip(best.x, SMALLEST_LOG, LARGEST_LOG)) * scale**2
    variances[best.x < NO_VARIANCE] = 0.0
    return dict(zip([*groups, "residual"], map(float, variances), strict=True))
