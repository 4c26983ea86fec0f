"""Where the sampler draws: densities that integrate to one, draws that follow them."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import kstest, truncnorm

from dwellwright.diagnosis.hypotheses import Range
from dwellwright.diagnosis.posterior import even_numbers
from dwellwright.diagnosis.proposal import CutNormal, even_proposal, fitted_proposal

ONE_SIDED, TWO_SIDED = Range(0.5, 3.0, two_sided=False), Range(1.0, 4.0, two_sided=True)


@pytest.mark.parametrize(("middle", "spread"), [(1.5, 0.4), (0.2, 0.3), (40.0, 3.0), (-9.0, 0.8)])
def test_a_cut_normal_is_scipys(middle: float, spread: float) -> None:
    normal = CutNormal(1.0, np.array([middle]), np.array([[spread]]), np.array([0.5]), np.array([3.0]))
    reference = truncnorm((0.5 - middle) / spread, (3.0 - middle) / spread, middle, spread)
    at = np.linspace(0.5, 3.0, 41)
    assert normal.log_density(at[:, None]) == pytest.approx(reference.logpdf(at), abs=1e-8)
    assert kstest(normal.draws(even_numbers(2000, 1, 3))[:, 0], reference.cdf).statistic < 0.01


def test_a_mixture_with_both_sides_integrates_to_one() -> None:
    points = np.concatenate([np.linspace(-3.2, -2.4, 50), np.linspace(1.0, 1.4, 50)])[:, None]
    proposal = fitted_proposal((TWO_SIDED,), points, np.full(100, 0.01), 1.2)
    assert len(proposal.normals) == 2

    def density(x: float) -> float:
        return float(np.exp(proposal.log_density(np.array([[x]]))[0]))

    whole = quad(density, -4, -1, limit=200)[0] + quad(density, 1, 4, limit=200)[0]
    assert whole == pytest.approx(1.0, abs=1e-6)


def test_weights_of_a_known_posterior_give_its_mean_and_evidence() -> None:
    # A correlated normal over two causes cut off by the prior: the reference is a fine grid.
    ranges = (ONE_SIDED, TWO_SIDED)
    inverse = np.linalg.inv(np.array([[0.09, 0.054], [0.054, 0.16]]))

    def log_likelihood(points: np.ndarray) -> np.ndarray:
        off = points - np.array([1.2, 1.3])
        return -0.5 * np.einsum("ni,ij,nj->n", off, inverse, off)

    first = even_proposal(ranges)
    points = first.draws(even_numbers(256, 2, 1))
    proposal = first
    for _ in range(2):
        weights = np.exp(log_likelihood(points) + first.log_prior - proposal.log_density(points))
        proposal = fitted_proposal(ranges, points, weights / np.sum(weights), 1.2)
        points = proposal.draws(even_numbers(3000, 2, 2))
    weights = np.exp(log_likelihood(points) + first.log_prior - proposal.log_density(points))
    x = np.linspace(0.5, 3.0, 601)
    y = np.concatenate([np.linspace(-4, -1, 601), np.linspace(1, 4, 601)])
    grid = np.exp(log_likelihood(np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)))
    grid = grid.reshape(601, 1202)
    assert np.mean(weights) == pytest.approx(np.mean(grid), rel=0.03)
    mean = weights @ points[:, 0] / np.sum(weights)
    assert mean == pytest.approx(np.sum(grid * x[:, None]) / np.sum(grid), abs=0.02)
    assert np.sum(weights) ** 2 / np.sum(weights**2) > 0.5 * len(weights)
