"""How far to turn one screw, from its readings and the sheet, without a job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Observation, Regime
from dwellwright.procedure.advice import Correction, correction_of
from dwellwright.procedure.figure import Figure, figure_of_quantity
from dwellwright.procedure.judgement import Judgement, judged
from dwellwright.service.calibrations import Tool
from dwellwright.service.readings import USUAL, typed_observation

ITEMS = {
    "lean_stop": "rod_lean_gauge",
    "rich_stop": "rod_rich_gauge",
    "rod_travel": "rod_travel",
    "float_level": "float_gauge_below_rim",
    "idle_bleed": "idle_bleed_turns_out",
    "idle_needle": "idle_needle_turns_out",
    "throttle_sensor_closed": "tps_closed",
    "solenoid_resistance": "solenoid_resistance",
    "fuel_pressure": "fuel_pressure",
}
"""Settings of a sheet and the bench-sheet items they are read as."""


@dataclass(frozen=True)
class TurnAnswer:
    """One setting, read and judged; `correction` is None where it is in."""

    title: str
    reading: Observation
    figure: Figure
    judgement: Judgement
    correction: Correction | None


def turns_for(
    sheet: SpecSheet, setting: str, values: Sequence[float], unit: str, tool: Tool = USUAL
) -> TurnAnswer:
    """What brings one setting to its figure.

    Args:
        sheet: of the unit.
        setting: key on the sheet.
        values: every repeat, in `unit`.
        unit: of the values.
        tool: what it was read with, where it is not the usual one.

    Raises:
        InputFault: no such setting on the sheet, or the reading cannot be.
    """
    if setting not in sheet.settings or setting not in ITEMS:
        known = [key for key in sheet.settings if key in ITEMS]
        raise InputFault("the sheet has no such setting to turn", wanted=", ".join(known), got=repr(setting))
    chosen = sheet.settings[setting]
    reading = typed_observation(ITEMS[setting], values, unit, Regime.BENCH, tool=tool)
    figure = figure_of_quantity(chosen.wanted)
    judgement = judged(reading, figure)
    correction = correction_of(reading, figure, chosen, judgement.verdict)
    return TurnAnswer(chosen.title, reading, figure, judgement, correction)
