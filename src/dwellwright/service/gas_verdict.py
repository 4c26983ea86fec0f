"""Exhaust gas looked at closely: the air ratio two ways, dilution, what the gas points to, and the idle limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot
from pathlib import Path
from typing import TYPE_CHECKING

from dwellwright.catalogue.fuels import shipped_fuels
from dwellwright.catalogue.idle_limits import DEFAULT_LIMIT, idle_limits
from dwellwright.catalogue.instruments import analyzers
from dwellwright.errors import InputFault
from dwellwright.evidence.gas.air_ratio import DEFAULT_CLASS, DEFAULT_FUEL, GasOptions, air_ratio, gas_options
from dwellwright.evidence.gas.causes import CauseLikelihood, gas_causes
from dwellwright.evidence.gas.idle_test import IdleVerdict, idle_test
from dwellwright.evidence.gas.observe import lambda_scatter
from dwellwright.evidence.gas.reading import GasReading, read_gas
from dwellwright.evidence.gas.stretches import (
    FEWEST_TO_SETTLE,
    Stretch,
    alone,
    gas_stretches,
    row_warnings,
    stretch_warnings,
    told_place,
)
from dwellwright.evidence.observation import Regime
from dwellwright.service.gas_record import gas_record

if TYPE_CHECKING:
    from dwellwright.reports.plots.exhaust import GasRow
    from dwellwright.reports.plots.gas_record import GasRecord
    from dwellwright.reports.plots.look import Format, Plot
    from dwellwright.reports.plots.moving import Moving

SOUND_BAND = (0.97, 1.03)
"""Lambda shaded in the plot: common practice, no source."""

AHEAD_OF_CONVERTER = (
    "Ahead of a catalytic converter a sound engine may read above the limit of HC: it is for the tailpipe."
)
"""Common practice, no source."""

FACTORS = {"6": "as hexane: six carbon atoms", "12": "infrared: about half the carbon is seen, so twelve"}
"""How the analyzer counts hydrocarbons."""

LARGEST_DISAGREEMENT = 0.005
"""By two methods lambda may differ by this; more means bad numbers (assumed). [-]"""


@dataclass(frozen=True)
class GasLine:
    """One reading, or the mean of several in one place, looked at.

    Args:
        reading: the gas.
        place: where, in words.
        told: its place, and how many readings it is the mean of.
        ratio: lambda with its interval; empty where there is too little CO2 to balance.
        air_fuel: air to fuel by mass with its interval.
        numbers: lambda, its low and high end; None as above. [-]
        diluted: CO + CO2 too small for the sample to count.
        causes: what the gas points to, the likeliest first.
        warnings: plain sentences.
    """

    reading: GasReading
    place: str
    told: str
    ratio: str
    air_fuel: str
    numbers: tuple[float, float, float] | None
    diluted: bool
    causes: tuple[CauseLikelihood, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class GasVerdict:
    """A gas table, looked at.

    Args:
        name: of the file.
        lines: its readings, or their means.
        idle: compares its idle readings with the limits, empty where it has none.
        findings: plain sentences on the whole.
        record: the gas over time, where it was recorded in time.
    """

    name: str
    lines: tuple[GasLine, ...]
    idle: str
    findings: tuple[str, ...]
    record: GasRecord | None = None

    def plot(self, form: Format) -> Plot:
        """Lambda with its interval beside CO and O2.

        Raises:
            InputFault: no reading has a lambda.
        """
        from dwellwright.reports.plots.exhaust import gas_panels

        return gas_panels(self._drawn(), SOUND_BAND, form)

    def over_time(self, form: Format) -> Plot | None:
        """Lambda and the gases over time; None where they were not recorded in time."""
        from dwellwright.reports.plots.gas_record import gas_over_time

        return gas_over_time(self.record, SOUND_BAND, form) if self.record else None

    def moving_over_time(self) -> tuple[Moving, ...]:
        """The same to move along in a page."""
        from dwellwright.reports.plots.gas_record import moving_gas_record

        return moving_gas_record(self.record, SOUND_BAND) if self.record else ()

    def moving(self) -> tuple[Moving, ...]:
        """The same to move along in a page.

        Raises:
            InputFault: no reading has a lambda.
        """
        from dwellwright.reports.plots.moving_answers import moving_gas

        return moving_gas(self._drawn(), SOUND_BAND)

    def _drawn(self) -> list[GasRow]:
        from dwellwright.reports.plots.exhaust import GasRow

        rows = [
            GasRow(one.place, one.reading.co, one.reading.o2, *one.numbers)
            for one in self.lines
            if one.numbers
        ]
        if not rows:
            raise InputFault("there is nothing to draw", where=self.name, wanted="a reading with enough CO2")
        return rows


BLENDS = {"E5": "gasoline with 5 % ethanol (E5)", "E10": "gasoline with 10 % ethanol (E10)",
          "E15": "gasoline with 15 % ethanol (E15)", "E85": "gasoline with 85 % ethanol (E85)"}  # fmt: skip
"""Blends offered by name; any other share is understood too."""


def gas_choices() -> dict[str, dict[str, str]]:
    """Fuels, analyzer classes and hydrocarbon factors to choose from, in plain words."""
    return {
        "fuel": {**{key: one.title for key, one in shipped_fuels().items()}, **BLENDS},
        "analyzer": {key: one.label for key, one in analyzers().items()},
        "factor": dict(FACTORS),
    }


def chosen_options(fuel: str = "", analyzer: str = "", factor: str = "") -> GasOptions:
    """Options by name; the usual ones where a name is empty.

    Raises:
        InputFault: no such fuel, class or factor.
    """
    if (factor or "6") not in FACTORS:
        raise InputFault(
            "the hydrocarbon factor is not one known", wanted=" or ".join(FACTORS), got=repr(factor)
        )
    return gas_options(fuel or DEFAULT_FUEL, analyzer or DEFAULT_CLASS, float(factor or "6"))


def gas_verdict(path: Path, options: GasOptions, told: Regime = Regime.IDLE) -> GasVerdict:
    """A gas table looked at closely; rows that cannot be used are said, the others are used.

    Args:
        path: of the table.
        options: fuel, analyzer and how hydrocarbons count.
        told: where it was read, if the table does not say.

    Raises:
        InputFault: the table cannot be used.
    """
    findings: list[InputFault] = []
    readings = read_gas(path, findings, told)
    stretches = gas_stretches(readings, options)
    idle = [one for part in stretches for one in part.readings if one.regime is Regime.IDLE]
    tested = idle_test(idle, idle_limits()[DEFAULT_LIMIT], options) if idle else None
    lines = tuple(_line(one, options) for part in stretches for one in _shown(part))
    ahead = (
        (AHEAD_OF_CONVERTER,)
        if tested and tested.verdict is not IdleVerdict.VOID and tested.hc > tested.limit.hc
        else ()
    )
    said = (*stretch_warnings(stretches), *row_warnings(findings), *ahead)
    words = tested.words if tested else ""
    return GasVerdict(path.name, lines, words, said, gas_record(readings, stretches, options))


def _shown(stretch: Stretch) -> Sequence[Stretch]:
    """A record as its mean; a few typed readings each by itself."""
    few = len(stretch.readings) < FEWEST_TO_SETTLE
    return [alone(one) for one in stretch.readings] if few else [stretch]


def _told(stretch: Stretch, place: str) -> str:
    """Where it was read, and of how many readings it is the mean."""
    if len(stretch.readings) == 1:
        return place
    span = stretch.span
    when = f", {span[0]:.0f} to {span[1]:.0f} s" if span else ""
    return f"{place}, mean of {len(stretch.readings)}{when}"


def _line(stretch: Stretch, options: GasOptions) -> GasLine:
    reading = stretch.mean
    place = told_place(reading)
    told = _told(stretch, place)
    causes = gas_causes(reading, options)
    try:
        found = air_ratio(reading, options)
    except InputFault as fault:
        return GasLine(reading, place, told, "", "", None, True, causes, (fault.message,))
    value, mass = found.lambda_.value, found.air_fuel_ratio.value
    scatter = 2 * lambda_scatter(stretch, options, value)
    half, wide = (
        hypot(found.lambda_.expanded(), scatter),
        hypot(found.air_fuel_ratio.expanded(), scatter * mass / value),
    )
    warnings = []
    if found.diluted:
        warnings.append(
            "Diluted: CO + CO2 is under 6 %, so the sample does not count. Probe deeper, mend the pipe."
        )
    if abs(found.by_two_methods) > LARGEST_DISAGREEMENT:
        warnings.append(
            f"The two methods differ by {found.by_two_methods:+.3f}: one of the gases is read wrong."
        )
    return GasLine(
        reading, place, told, f"{value:.3f} ({value - half:.3f} to {value + half:.3f})",
        f"{mass:.2f} ({mass - wide:.2f} to {mass + wide:.2f})", (value, value - half, value + half), found.diluted,
        causes, tuple(warnings),
    )  # fmt: skip
