"""A number as a service manual gives it: value, unit, tolerance, and where it was read."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, JsonValue

from dwellwright.units import UNITS, Dimension, known_unit, step_to_si, to_si

UNIT_NAMES: list[JsonValue] = [*sorted(UNITS)]

Finite = Annotated[float, Field(allow_inf_nan=False)]
"""A float that refuses nan and infinity."""


class Frozen(BaseModel):
    """Base of everything on a sheet: immutable, and no key that the tool does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


def _a_known_unit(name: str) -> str:
    if name not in UNITS:
        raise ValueError(f"unit must be one of {', '.join(UNITS)}, got {name!r}")
    return name


class Quantity(Frozen):
    """A sheet's number in the unit the manual printed."""

    value: Finite = Field(description="The number as printed.")
    unit: Annotated[str, AfterValidator(_a_known_unit)] = Field(
        description="Its unit.", json_schema_extra={"enum": UNIT_NAMES}
    )
    tolerance: Annotated[float, Field(allow_inf_nan=False, ge=0)] = Field(
        description="Half-width accepted, same unit; 0 for a count or an exact figure."
    )
    source: Annotated[str, Field(min_length=1)] = Field(
        description="Where it was read: manual, page, table; or 'measured', 'invented', 'assumed'."
    )

    @property
    def si(self) -> float:
        """The value in SI (turns and degrees stay what they are)."""
        return to_si(self.value, self.unit)

    @property
    def si_tolerance(self) -> float:
        """The half-width accepted, in SI."""
        return step_to_si(self.tolerance, self.unit)

    @property
    def dimension(self) -> Dimension:
        """What the number measures."""
        return known_unit(self.unit).dimension

    def __str__(self) -> str:
        around = f" ± {self.tolerance:g}" if self.tolerance else ""
        return f"{self.value:g}{around} {self.unit}"


def measures(dimension: Dimension) -> AfterValidator:
    """Validator of a quantity that must measure `dimension` and be above zero."""

    def checked(quantity: Quantity) -> Quantity:
        if quantity.dimension is not dimension:
            names = ", ".join(name for name, unit in UNITS.items() if unit.dimension is dimension)
            raise ValueError(f"unit must measure {dimension.value} ({names}), got {quantity.unit!r}")
        if quantity.si <= 0:
            raise ValueError(f"must be above zero, got {quantity.value:g} {quantity.unit}")
        return quantity

    return AfterValidator(checked)


Length = Annotated[Quantity, measures(Dimension.LENGTH)]
Area = Annotated[Quantity, measures(Dimension.AREA)]
Volume = Annotated[Quantity, measures(Dimension.VOLUME)]
Pressure = Annotated[Quantity, measures(Dimension.PRESSURE)]
Rate = Annotated[Quantity, measures(Dimension.FREQUENCY)]
Time = Annotated[Quantity, measures(Dimension.TIME)]
Ratio = Annotated[Quantity, measures(Dimension.FRACTION)]
Resistance = Annotated[Quantity, measures(Dimension.RESISTANCE)]
