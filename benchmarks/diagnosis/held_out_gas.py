"""Exhaust gas of a held-out car by a balance of its own: seven parcels, a fixed share of hydrogen, no water gas."""

from __future__ import annotations

import numpy as np

OXYGEN, NITROGEN, WATER = 1.4625, 3.773, 0.925
"""Per carbon of CH1.85: oxygen for lambda 1, nitrogen per oxygen, water."""
MONOXIDE_SHARE, UNEVEN, UNBURNED = 0.7, 0.045, 0.006
"""Of the oxygen that is missing; spread of mixture from parcel to parcel; share of the charge that never burns."""


def exhaust(lam: float, false_air: float, misfire: float, random: np.random.Generator) -> tuple[float, ...]:
    """CO, CO2, O2 and hydrocarbon (as hexane) of the dry gas that a meter draws. [-]"""
    nodes, weights = np.polynomial.hermite_e.hermegauss(7)
    parcels = lam * (1.0 + UNEVEN * nodes)
    weights = weights / np.sum(weights)
    short = np.maximum(1.0 - parcels, 0.0) * 2.0 * OXYGEN
    monoxide = float(weights @ (MONOXIDE_SHARE * short))
    hydrogen = float(weights @ ((1.0 - MONOXIDE_SHARE) * short))
    oxygen = float(weights @ (np.maximum(parcels - 1.0, 0.0) * OXYGEN))
    lost = min(UNBURNED * float(np.exp(0.3 * random.normal())) + misfire, 0.5)
    burned = np.array([monoxide, 1.0 - monoxide, oxygen]) * (1.0 - lost)
    burned[2] += lost * OXYGEN * lam
    hydrocarbon = lost / 6.0
    total = float(np.sum(burned)) + hydrogen * (1.0 - lost) + hydrocarbon + NITROGEN * OXYGEN * lam
    burned[2] += 0.21 * false_air * total
    total *= 1.0 + false_air
    return (*(burned / total).tolist(), hydrocarbon / total)
