"""Refusals shared by the checked entry points and dataclasses of the laws; the hot laws never call them."""

from __future__ import annotations

from math import isfinite


def require_positive(quantity: str, value: float, unit: str) -> None:
    """Refuse anything but a finite number above zero.

    Raises:
        ValueError: zero, negative, NaN or infinite.
    """
    if not (isfinite(value) and value > 0.0):
        raise ValueError(f"{quantity} must be a positive number, got {value} {unit}")


def require_not_negative(quantity: str, value: float, unit: str) -> None:
    """Refuse anything but a finite number at or above zero.

    Raises:
        ValueError: negative, NaN or infinite.
    """
    if not (isfinite(value) and value >= 0.0):
        raise ValueError(f"{quantity} must be zero or more, got {value} {unit}")


def require_fraction(quantity: str, value: float) -> None:
    """Refuse anything outside 0 to 1.

    Raises:
        ValueError: below 0, above 1 or NaN.
    """
    if not 0.0 <= value <= 1.0:
        raise ValueError(f"{quantity} must lie from 0 to 1, got {value}")
