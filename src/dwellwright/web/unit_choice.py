"""Units as this device wants them: chosen once for each kind of quantity, kept like the look, and applied to numbers.

Numbers are kept inside and typed into forms as they were typed; only what is shown is converted, each time from what
the page says without any choice, so that changing back gives the very same text.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil, log10
from types import MappingProxyType

from dwellwright.units import SIX_CYLINDER_SCALE, UNITS, full_scale_dwell

CHOICES: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "dwell": ("deg", "%"), "length": ("thou", "mm", "in"), "pressure": ("kPa", "inHg", "psi"),
    "temperature": ("degC", "degF"),
})  # fmt: skip
"""Units that can be chosen, by what they measure; nothing chosen shows every number as the page has it."""

PRINTED = {"deg": "°", "degC": "°C", "degF": "°F"}
"""How a unit may be printed instead of by its name; both are understood."""

SAID = {"milésimas": "thou", "grados": "deg", "pulgadas": "in"}
"""Units that another language has a word for."""

MOST_DECIMALS = 6
_NUMBER = r"[+\-\u2212]?\d+(?:\.\d+)?"
_JOIN = r"(?: to | ± | and | a | y )"
_SHOWN = re.compile(
    rf"(?<![\w.])({_NUMBER})(?:({_JOIN})({_NUMBER}))?\s?(deg|°(?![CF])|thou|mm|kPa|inHg|psi|degC|°C|degF|°F"
    rf"|milésimas|grados|pulgadas|in(?=\s*(?:$|[,;:.)(±])))(?![\w²³])(?:( \()({_NUMBER})(?:({_JOIN})({_NUMBER}))?\))?"
)
"""A number or a range with its unit, and the interval in brackets behind it that has none of its own."""

_FACTORS = {name: (UNITS[name].factor, UNITS[name].offset) for units in CHOICES.values() for name in units}
_FACTORS["deg"] = (1.0 / full_scale_dwell(SIX_CYLINDER_SCALE), 0.0)


@dataclass(frozen=True)
class UnitChoice:
    """The chosen unit for each kind of quantity; none for what is shown as it stands."""

    chosen: Mapping[str, str]

    @property
    def text(self) -> str:
        """The choice as a device keeps it."""
        return ".".join(f"{kind}-{unit}" for kind, unit in sorted(self.chosen.items())).replace("%", "pct")

    def preferred(self, unit: str) -> str:
        """The unit in which something usually in `unit` is to be typed.

        >>> unit_choice("length-mm").preferred("thou"), unit_choice("length-mm").preferred("kPa")
        ('mm', 'kPa')
        """
        return next((self.chosen.get(kind, unit) for kind, units in CHOICES.items() if unit in units), unit)

    def applied(self, text: str) -> str:
        """Words with their numbers in the chosen units, no digit lost.

        >>> unit_choice("length-mm").applied("wanted 70.0 ± 2.0 thou, at 30 deg")
        'wanted 1.778 ± 0.051 mm, at 30 deg'
        """
        return _SHOWN.sub(self._converted, text) if self.chosen else text

    def _converted(self, match: re.Match[str]) -> str:
        first, join, second, printed, bracket, low, between, high = match.groups()
        unit = SAID.get(printed) or next((name for name, sign in PRINTED.items() if sign == printed), printed)
        wanted = self.preferred(unit)
        if wanted == unit:
            return match[0]

        def number(text: str, difference: bool) -> str:
            return in_unit(text, unit, wanted, difference=difference)

        told = number(first, False)
        told += f"{join}{number(second, '±' in join)}" if join else ""
        told += f" {PRINTED.get(wanted, wanted)}"
        if bracket:
            apart = low.startswith("+")
            told += (
                f"{bracket}{number(low, apart)}"
                + (f"{between}{number(high, apart)}" if between else "")
                + ")"
            )
        return told


def unit_choice(text: str) -> UnitChoice:
    """A choice as a device kept it; what is not understood is left out.

    >>> unit_choice("length-mm.pressure-stone").chosen
    {'length': 'mm'}
    """
    pairs = (part.split("-", 1) for part in text.replace("pct", "%").split(".") if "-" in part)
    return UnitChoice({kind: unit for kind, unit in pairs if unit in CHOICES.get(kind, ())})


def in_unit(text: str, unit: str, other: str, *, difference: bool = False) -> str:
    """A printed number in another unit, with as many decimals as its own last digit is worth.

    >>> in_unit("70.0", "thou", "mm"), in_unit("20", "degC", "degF"), in_unit("+30", "deg", "%")
    ('1.778', '68', '+50')
    """
    plain = text.replace("\u2212", "-")
    (factor, offset), (other_factor, other_offset) = _FACTORS[unit], _FACTORS[other]
    ratio = factor / other_factor
    value = float(plain) * ratio
    if not difference:
        value += (offset - other_offset) / other_factor
    last = 10.0 ** -(len(plain.partition(".")[2])) * ratio
    decimals = min(max(0, ceil(-log10(last) - 1e-9)), MOST_DECIMALS)
    sign = "+" if plain.startswith("+") and value >= 0 else ""
    return f"{sign}{value:.{decimals}f}".replace("-", "\u2212" if "\u2212" in text else "-")
