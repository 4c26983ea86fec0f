"""Shares of the normal and of Student's distribution, one number at a time.

The normal one needs no library; Student's comes from one that is slow to load, so it is loaded when first asked for.
"""

from __future__ import annotations

from functools import cache
from math import erfc, inf, sqrt
from statistics import NormalDist


def normal_share(score: float) -> float:
    """Share of a normal distribution below so many standard deviations. [-]

    >>> normal_share(0.0), round(normal_share(1.959964), 6)
    (0.5, 0.975)
    """
    return 0.5 * erfc(-score / sqrt(2.0))


def student_share(freedom: float, score: float) -> float:
    """Share of Student's distribution below a score; the normal one where `freedom` is infinite. [-]

    >>> round(student_share(4, 2.776445), 6)
    0.975
    """
    if freedom == inf:
        return normal_share(score)
    from scipy.special import stdtr

    return float(stdtr(freedom, score))


@cache
def student_score(freedom: float, share: float) -> float:
    """Score below which that share of Student's distribution lies; the normal one where `freedom` is infinite. [-]

    >>> round(student_score(float("inf"), 0.975), 6), round(student_score(4, 0.975), 6)
    (1.959964, 2.776445)
    """
    if freedom == inf:
        return NormalDist().inv_cdf(share)
    from scipy.special import stdtrit

    return float(stdtrit(freedom, share))
