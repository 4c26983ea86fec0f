"""Without the special gauge: for every bench setting of a sheet, the ways to measure it with what a shop has."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from dwellwright.catalogue.instruments import instrument
from dwellwright.catalogue.makeshift_methods import (
    Conversion,
    MakeshiftMethod,
    MakeshiftSetting,
    makeshift_settings,
)
from dwellwright.catalogue.sheet import Setting, SpecSheet
from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.makeshift import (
    USUAL_REPEATS as USUAL_REPEATS,
)
from dwellwright.evidence.gauge.makeshift import (
    BenchSetting,
    MethodVerdict,
    chance_words,
    leaves,
    method_verdicts,
)
from dwellwright.evidence.gauge.shares import doubt_shares
from dwellwright.evidence.gauge.turns import Thread
from dwellwright.service.presentation import PRINTED_UNITS
from dwellwright.units import Dimension, from_si, step_from_si

WAYS = {
    "lean_stop": "lean_stop", "rich_stop": "rich_stop", "rod_travel": "rod_travel", "float_level": "float_level",
    "idle_needle": "idle_needle", "idle_bleed": "idle_bleed", "choke_opening": "choke_pull_off_gap",
    "pull_off_gap": "choke_pull_off_gap", "throttle_sensor_closed": "throttle_sensor",
    "solenoid_resistance": "solenoid_resistance",
}  # fmt: skip
"""Settings of a sheet and the makeshift ways that answer to them."""

SCREW_OF = {"rod_travel": "rich_stop"}
"""A setting that has no screw of its own is set by another's."""

_RATIOS = {
    Dimension.RESISTANCE: ("ohms of the wiper / ohms of the whole", "V"),
    Dimension.VOLTAGE: ("volts across it / volts across the resistor", "ohm"),
}
MOST_REPEATS = 20


@dataclass(frozen=True)
class WayLine:
    """One way to measure one setting, in words and the sheet's unit.

    Args:
        name: of the way.
        label: in plain words.
        good_enough: whether fewer than one setting in twenty comes out wrong.
        verdict: the same in words.
        wrong: probability of a wrong setting. [-]
        chance: the same in words, such as `about 1 in 46`.
        doubt: half width at about 95 %, with its unit.
        half: the same over the half width of the tolerance. [-]
        shares: of the variance, by what makes it. [-]
        conversion: how what is read becomes the setting, with the unit's own numbers.
        budget: contribution of each part, one standard uncertainty, largest first.
        steps: what to do, in order.
        caution: what goes wrong.
        source: where the way comes from.
    """

    name: str
    label: str
    good_enough: bool
    verdict: str
    wrong: float
    chance: str
    doubt: str
    half: float
    shares: dict[str, float]
    conversion: str
    budget: tuple[tuple[str, str], ...]
    steps: tuple[str, ...]
    caution: str
    source: str


@dataclass(frozen=True)
class SettingWays:
    """A setting of the sheet with every way to measure it, the surest first; `note` says why there is none."""

    key: str
    title: str
    wanted: str
    gauge: str
    ways: tuple[WayLine, ...]
    note: str = ""

    @property
    def best(self) -> WayLine | None:
        """The surest way, where it is good enough."""
        return self.ways[0] if self.ways and self.ways[0].good_enough else None


def sheet_ways(sheet: SpecSheet, repeats: int = USUAL_REPEATS) -> tuple[SettingWays, ...]:
    """Every bench setting of a sheet with its ways.

    Args:
        sheet: of the unit.
        repeats: readings averaged.

    Raises:
        InputFault: repeats outside 1 to `MOST_REPEATS`.
    """
    if not 1 <= repeats <= MOST_REPEATS:
        raise InputFault("that many repeats cannot be averaged", where="repeats", got=str(repeats),
                         wanted=f"1 to {MOST_REPEATS}")  # fmt: skip
    return tuple(_setting_ways(sheet, key, repeats) for key in sheet.settings if key in WAYS)


def setting_ways(sheet: SpecSheet, key: str, repeats: int = USUAL_REPEATS) -> SettingWays:
    """One setting of a sheet with its ways.

    Raises:
        InputFault: the sheet has no such setting on the bench, or repeats that cannot be.
    """
    found = {one.key: one for one in sheet_ways(sheet, repeats)}
    if key not in found:
        raise InputFault("the sheet has no such setting on the bench", got=repr(key), wanted=", ".join(found))
    return found[key]


def bench_setting(sheet: SpecSheet, key: str, repeats: int = USUAL_REPEATS) -> BenchSetting | None:
    """A setting as the makeshift ways meet it; None where the sheet gives it no tolerance."""
    setting = sheet.settings[key]
    if not setting.wanted.si_tolerance > 0:
        return None
    screw = sheet.settings.get(SCREW_OF.get(key, key))
    thread = Thread(screw.thread.travel_per_turn) if screw and screw.thread else None
    turns = setting.wanted.dimension is Dimension.TURNS
    return BenchSetting(
        setting.wanted.si, setting.wanted.si_tolerance, thread, repeats=repeats, in_turns=turns
    )


def _setting_ways(sheet: SpecSheet, key: str, repeats: int) -> SettingWays:
    setting, ways = sheet.settings[key], makeshift_settings()[WAYS[key]]
    wanted = wanted_words(setting)
    target = bench_setting(sheet, key, repeats)
    if target is None:
        note = "the sheet gives no tolerance: without one no way can be called good enough"
        return SettingWays(key, setting.title, wanted, setting.gauge, (), note)
    if setting.wanted.dimension is not _dimension(ways):
        note = f"the ways measure a {_dimension(ways).value}, the sheet gives {setting.wanted.unit}"
        return SettingWays(key, setting.title, wanted, setting.gauge, (), note)
    lines = tuple(_line(one, setting, target) for one in method_verdicts(ways, target))
    return SettingWays(key, setting.title, wanted, setting.gauge, lines)


def wanted_words(setting: Setting) -> str:
    """A sheet's figure with its tolerance; a length in mm as well."""
    wanted = setting.wanted
    if wanted.dimension is not Dimension.LENGTH or wanted.unit == "mm":
        return str(wanted)
    return f"{wanted} ({1e3 * wanted.si:.3f} ± {1e3 * wanted.si_tolerance:.3f} mm)"


def _dimension(ways: MakeshiftSetting) -> Dimension:
    """What a setting is measured in, by the first way that reads it directly or as a difference."""
    plain = (Conversion.DIRECT, Conversion.DIFFERENCE)
    first = next(one for one in ways.methods.values() if one.conversion in plain)
    return instrument(first.instrument).dimension


def _line(found: MethodVerdict, setting: Setting, target: BenchSetting) -> WayLine:
    method, budget, unit = found.method, found.budget, setting.wanted.unit
    parts = sorted(budget.components, key=lambda part: -part.contribution)
    return WayLine(
        name=method.name,
        label=method.label,
        good_enough=found.good_enough,
        verdict="good enough" if found.good_enough else "not good enough",
        wrong=found.wrong,
        chance=chance_words(found.wrong),
        doubt=f"± {_step(budget.expanded(), unit)}",
        half=budget.expanded() / target.tolerance,
        shares=doubt_shares(budget),
        conversion=conversion_words(method, target, unit),
        budget=tuple((part.name, _step(part.contribution, unit)) for part in parts if part.contribution > 0),
        steps=method.steps,
        caution=method.caution,
        source=method.source,
    )


def _step(value: float, unit: str) -> str:
    """A doubt in a unit, to two figures."""
    return f"{step_from_si(value, unit):.2g} {PRINTED_UNITS.get(unit, unit)}".rstrip()


def conversion_words(method: MakeshiftMethod, target: BenchSetting, unit: str) -> str:
    """How what is read becomes the setting, with the unit's own numbers.

    Args:
        method: the way.
        target: the setting; its thread and size are used.
        unit: of the sheet.
    """
    pitch = target.thread.pitch if target.thread else 0.0
    nominal = f"{from_si(target.nominal, unit):g} {unit}"
    if method.conversion is Conversion.TURNS:
        turned = f"{step_from_si(pitch, unit):.4g} {unit} in a turn of the screw"
        return f"turns x {turned}: {nominal} is {target.nominal / pitch:.2f} turns"
    if method.conversion is Conversion.TRAVEL:
        travel = 1e3 * pitch * target.nominal
        return f"travel of the head / {1e3 * pitch:.4g} mm in a turn: {nominal} is {travel:.3f} mm"
    if method.conversion is Conversion.STACK:
        count = leaves(target.nominal)
        return f"sum of {count} leaves; their doubts add as {sqrt(count):.2g} times that of one"
    if method.conversion is Conversion.DIVIDER:
        share = target.nominal / method.reference
        over, times = _RATIOS[instrument(method.instrument).dimension]
        return f"{over} x {method.reference:g} {times}: {nominal} is a ratio of {share:.3g}"
    if method.conversion is Conversion.LEVER:
        return f"reading x {target.lever_ratio:g}"
    return {
        Conversion.DIRECT: "the reading is the setting",
        Conversion.DIFFERENCE: "the second reading less the first",
    }[method.conversion]
