"""What the advisor on the car is given: the task, the craft of the hand, and the readings and moves so far.

Written for the idle needles by dwell. A bleed or a throttle sensor's screw is the same task with another sensitivity:
whatever is read is put as a share of its full scale (60 deg of dwell, 5 V of a sensor).
"""

from __future__ import annotations

from dataclasses import dataclass, field

from dwellwright.catalogue.car_screws import CarScrew, Trouble
from dwellwright.catalogue.quantity import Quantity
from dwellwright.catalogue.sheet import SpecSheet, Turning
from dwellwright.procedure.figure import figure_of_quantity


@dataclass(frozen=True)
class Craft:
    """How exactly hand, screw and engine do what is asked.

    Args:
        turn_error: standard deviation of a turn made, over the turn meant. [-] Assumed.
        curvature: change of sensitivity over a move, over the sensitivity. [-] Assumed.
        backlash: turn lost when the direction changes. [turns] Assumed 1/24.
        drift: random change of mean duty from one reading to the next. [-] Assumed: 0.5 deg of dwell.
    """

    turn_error: float = 0.10
    curvature: float = 0.10
    backlash: float = 1 / 24
    drift: float = 0.5 / 60


@dataclass(frozen=True)
class Entry:
    """One reading, and the move made just before it.

    Args:
        duty: mean duty read. [-]
        uncertainty: standard uncertainty of it. [-]
        out: turns made on each needle since the reading before, out positive; empty for none. [turns]
        roughness: how the idle felt, 0 smooth to 3 shaking, if noted.
    """

    duty: float
    uncertainty: float
    out: tuple[float, ...] = ()
    roughness: float | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.duty <= 1:
            raise ValueError(f"duty must lie between 0 and 1, got {self.duty}")
        if not 0 < self.uncertainty < 1:
            raise ValueError(f"the uncertainty of a duty must lie between 0 and 1, got {self.uncertainty}")
        if not all(abs(turns) < 50 for turns in self.out):
            raise ValueError(f"turns must be finite and below 50, got {self.out}")


@dataclass(frozen=True)
class NeedleTask:
    """What is to be reached, with what.

    Args:
        target: mean duty wanted. [-]
        tolerance: half-width accepted. [-]
        sensitivity: expected change of duty for one turn out of all needles together. [1/turn]
        sensitivity_spread: its standard deviation between cars. [1/turn]
        needles: 1 or 2.
        turns_out: position of the needles before the first move, if counted. [turns]
        least_out: nearest to the seat that still meters steadily. [turns] Assumed.
        most_out: furthest that still changes anything. [turns] Assumed.
        limits: reading at which the loop, or the sensor, stands at its limits. [-]
        confidence: probability of being inside the tolerance that ends the work. [-]
        largest_move: most to turn between two readings. [turns]
        craft: how exactly hand, screw and engine work.
        sides: what is wrong when the screw cannot go far enough out, and when it cannot go far enough in.
    """

    target: float
    tolerance: float
    sensitivity: float
    sensitivity_spread: float
    needles: int = 1
    turns_out: float | None = None
    least_out: float = 0.5
    most_out: float = 8.0
    limits: tuple[float, float] = (0.05, 0.95)
    confidence: float = 0.90
    largest_move: float = 2.0
    craft: Craft = field(default_factory=Craft)
    sides: tuple[Trouble, Trouble] = (Trouble.LEAN, Trouble.RICH)

    def __post_init__(self) -> None:
        if not self.limits[0] < self.target < self.limits[1] or not self.tolerance > 0:
            raise ValueError(
                f"the target must lie between the limits {self.limits} with a tolerance above zero,"
                f" got {self.target} ± {self.tolerance}"
            )
        if self.needles not in (1, 2):
            raise ValueError(f"there must be 1 or 2 needles, got {self.needles}")

    @property
    def band(self) -> tuple[float, float]:
        """Lowest and highest duty accepted."""
        return self.target - self.tolerance, self.target + self.tolerance


def screw_task(
    sheet: SpecSheet, screw: CarScrew, sensitivity: float | None = None, turns_out: float | None = None
) -> NeedleTask:
    """The task as the sheet sets it.

    Args:
        sheet: of the unit.
        screw: which one is turned.
        sensitivity: change of the reading, as a share of full scale, for one turn out, from the carburetor model or
            from experience; the screw's own assumed effect where None. [1/turn]
        turns_out: where the screw stands now, if counted. [turns]

    Raises:
        ValueError: a screw whose effect only a model knows came without one.
    """
    wanted = _wanted(sheet, screw)
    if sensitivity is None:
        if not isinstance(screw.per_turn, float):
            raise ValueError(f"the effect of {screw.title.lower()} per turn must be given, got None")
        setting = sheet.settings.get(screw.setting)
        lowers = setting is not None and setting.clockwise is Turning.LOWERS
        sensitivity = (1.0 if lowers else -1.0) * screw.per_turn / screw.full_scale
    return NeedleTask(
        target=wanted[0],
        tolerance=wanted[1],
        sensitivity=sensitivity,
        sensitivity_spread=screw.spread * abs(sensitivity),
        needles=min(sheet.primary_barrels, 2) if screw.trim_step else 1,
        turns_out=turns_out,
        least_out=screw.least_out,
        most_out=screw.most_out,
        limits=screw.limits,
        craft=Craft(drift=screw.drift / screw.full_scale),
        sides=(Trouble.RICH, Trouble.LEAN) if screw.out == "leaner" else (Trouble.LEAN, Trouble.RICH),
    )


def _wanted(sheet: SpecSheet, screw: CarScrew) -> tuple[float, float]:
    """Reading wanted and its tolerance, as shares of full scale."""
    if screw.reading == "duty":
        figure = figure_of_quantity(sheet.criteria.idle_dwell, as_duty=True)
        return figure.value, figure.tolerance
    quantity: Quantity = sheet.settings[screw.setting].wanted
    return quantity.si / screw.full_scale, quantity.si_tolerance / screw.full_scale
