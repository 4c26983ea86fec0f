"""The figure a step is held against: a place on the sheet, or a bound of the step's own."""

from __future__ import annotations

from dataclasses import dataclass

from dwellwright.catalogue.gauge_items import gauge_items
from dwellwright.catalogue.quantity import Quantity
from dwellwright.catalogue.sheet import Setting, SpecSheet
from dwellwright.catalogue.steps import Judge, StepPlan
from dwellwright.evidence.observation import Measured, Observation
from dwellwright.units import Dimension, duty_of_dwell


@dataclass(frozen=True)
class Figure:
    """What a reading should be.

    Args:
        value: wanted. [SI; turns for screws, fraction for dwell]
        tolerance: half-width accepted, 0 for a one-sided bound. [same]
        judge: within, at least, at most.
        unit: the unit the sheet printed it in, for display.
        source: where the figure was read.
    """

    value: float
    tolerance: float
    judge: Judge
    unit: str
    source: str

    @property
    def limits(self) -> tuple[float, float]:
        """Lowest and highest value accepted."""
        low = -float("inf") if self.judge is Judge.AT_MOST else self.value - self.tolerance
        high = float("inf") if self.judge is Judge.AT_LEAST else self.value + self.tolerance
        return low, high


def figure_of_quantity(quantity: Quantity, judge: Judge = Judge.WITHIN, *, as_duty: bool = False) -> Figure:
    """A sheet's number as a figure; with `as_duty`, degrees of dwell (six-cylinder scale) become duty."""
    value, tolerance = quantity.si, quantity.si_tolerance
    if as_duty and quantity.dimension is Dimension.ANGLE:
        value, tolerance = duty_of_dwell(value), duty_of_dwell(tolerance)
    return Figure(value, tolerance, judge, quantity.unit, quantity.source)


def setting_of(plan: StepPlan, sheet: SpecSheet) -> Setting | None:
    """The sheet's setting a step adjusts, if it adjusts one."""
    root, _, name = (plan.wanted or "").partition(".")
    return sheet.settings.get(name) if root == "settings" else None


def figure_of(plan: StepPlan, sheet: SpecSheet, reading: Observation | None = None) -> Figure | None:
    """The figure of a step on this sheet; None where the sheet gives none.

    A figure typed in beside the reading stands in when the sheet is silent, with that item's usual tolerance.
    """
    quantity = plan.bound or _quantity(plan, sheet)
    if quantity is not None:
        return figure_of_quantity(quantity, plan.judge, as_duty=plan.reading == Measured.DUTY.value)
    if plan.key == "travel":
        return _travel(sheet)
    item = gauge_items().get(plan.reading or "")
    if reading is not None and reading.wanted is not None and item is not None:
        tolerance = item.tolerance
        return Figure(
            reading.wanted, tolerance, plan.judge, "", f"typed in with the reading ({reading.source})"
        )
    return None


def _quantity(plan: StepPlan, sheet: SpecSheet) -> Quantity | None:
    root, _, name = (plan.wanted or "").partition(".")
    if root == "settings":
        setting = sheet.settings.get(name)
        return setting.wanted if setting else None
    found = getattr(getattr(sheet, root), name, None) if root else None
    return found if isinstance(found, Quantity) else None


def _travel(sheet: SpecSheet) -> Figure:
    """Distance between the wanted stops. Tolerances add, so that two good stops never make a bad travel."""
    rich, lean = sheet.settings["rich_stop"].wanted, sheet.settings["lean_stop"].wanted
    tolerance = rich.si_tolerance + lean.si_tolerance
    return Figure(
        rich.si - lean.si, tolerance, Judge.WITHIN, rich.unit, "difference of the two stops on the sheet"
    )
