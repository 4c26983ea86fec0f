"""The divider between the solenoid's switched wire and a sound input: values that can be bought, and what they do."""

from __future__ import annotations

from dataclasses import dataclass

from dwellwright.errors import InputFault

E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
"""Preferred values of resistors: IEC 60063, series E24."""

LOWER = 10e3
"""Resistor to ground. Assumed: low beside what hums, high beside what loads. [ohm]"""

SHARE = 0.3
"""Share of the input's limit that the supply's step may reach, so that the release stands above it. Assumed. [-]"""

LEAST_UPPER = 47e3
"""Resistor in the wire, at the least: the computer's driver must not feel it. Assumed. [ohm]"""

DIODE_DROP = 0.65
"""What a pair of silicon diodes lets stand across the input. Common practice, no source. [V]"""


@dataclass(frozen=True)
class Divider:
    """A divider and what it does.

    Args:
        upper: resistor from the wire to the input. [ohm]
        lower: resistor from the input to ground. [ohm]
        ratio: of the wire's volts that arrive, the input's own resistance beside the lower one. [-]
        step: at the input, from the supply's step. [V]
        spike: at the input at the release, without the diodes. [V]
        current: through the upper resistor at the release. [A]
        power: in the upper resistor if the release's volts stood all the time, which they do not. [W]
        diodes: whether the release passes the input's limit, so that the diodes are what keeps it whole.
    """

    upper: float
    lower: float
    ratio: float
    step: float
    spike: float
    current: float
    power: float
    diodes: bool


def divider(
    supply: float = 14.5, spike: float = 100.0, limit: float = 1.0, resistance: float = 10e3
) -> Divider:
    """The divider for a supply, a release spike and a sound input.

    Args:
        supply: of the car, engine running. [V]
        spike: on the wire when the current is cut. [V]
        limit: largest voltage the input takes. [V]
        resistance: of the input. [ohm]

    Raises:
        InputFault: a value that cannot be.

    >>> made = divider()
    >>> resistor_words(made.upper), resistor_words(made.lower), round(made.step, 3)
    ('240 kΩ', '10 kΩ', 0.296)
    """
    for what, value, low, high, unit in (
        ("supply", supply, 5.0, 60.0, "V"), ("release spike", spike, 10.0, 600.0, "V"),
        ("largest input voltage", limit, 0.02, 10.0, "V"), ("input resistance", resistance, 500.0, 10e6, "ohm"),
    ):  # fmt: skip
        if not low <= value <= high:
            raise InputFault("this value cannot be", where=what, got=f"{value:g} {unit}",
                             wanted=f"{low:g} to {high:g} {unit}")  # fmt: skip
    lower = 1.0 / (1.0 / LOWER + 1.0 / resistance)
    upper = preferred(max(lower * (supply / (SHARE * limit) - 1.0), LEAST_UPPER))
    ratio = lower / (upper + lower)
    return Divider(upper, LOWER, ratio, supply * ratio, spike * ratio, spike / (upper + lower), spike**2 / upper,
                   spike * ratio > limit)  # fmt: skip


def preferred(least: float) -> float:
    """The smallest preferred resistor of at least that many ohms. [ohm]

    >>> preferred(231e3), preferred(9.1e3), preferred(92e3)
    (240000.0, 9100.0, 100000.0)
    """
    if not 1.0 <= least <= 1e9:
        raise ValueError(f"a resistor between 1 ohm and 1 Gohm is wanted, got {least} ohm")
    decades = (10.0**power for power in range(-1, 9))
    return next(value * decade for decade in decades for value in E24 if value * decade >= least * (1 - 1e-9))


def resistor_words(ohms: float) -> str:
    """A resistor as it is written on a drawing."""
    for scale, unit in ((1e6, "MΩ"), (1e3, "kΩ")):
        if ohms >= scale:
            return f"{ohms / scale:g} {unit}"
    return f"{ohms:g} Ω"
