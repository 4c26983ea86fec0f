"""The spec sheet: what one unit on one engine should be, typed in from its own service manual."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field, model_validator

from dwellwright.catalogue.geometry import Geometry
from dwellwright.catalogue.quantity import (
    Area,
    Frozen,
    Length,
    Pressure,
    Quantity,
    Rate,
    Ratio,
    Resistance,
    Time,
    Volume,
)

FORMAT = 1
"""Version of the sheet's layout; a sheet of another version is refused with a remedy."""


class Turning(StrEnum):
    """What a clockwise turn of a screw, seen from its head, does to the reading."""

    RAISES = "raises"
    LOWERS = "lowers"


class Engine(Frozen):
    """The engine the unit feeds."""

    layout: Annotated[str, Field(min_length=1, description="In plain words: inline four, V6, V8.")]
    cylinders: Annotated[int, Field(ge=1, le=16)]
    displacement: Volume
    idle_speed: Rate
    volumetric_efficiency: Ratio
    crankcase_ventilation_area: Area


class Actuator(StrEnum):
    """How the engine computer moves the mixture."""

    PULSED_RODS = "pulsed rods with coupled bleed"
    PULSED_BLEED = "pulsed air bleed"
    PULSED_FUEL_VALVE = "pulsed auxiliary fuel valve"
    STEPPER_PINTLE = "stepper pintle"
    VACUUM_DIAPHRAGM = "vacuum diaphragm on a pulsed regulator"


ACTUATOR_NEEDS = {
    Actuator.PULSED_BLEED: ("main_pulsed_bleed_diameter",),
    Actuator.PULSED_FUEL_VALVE: ("auxiliary_fuel_diameter",),
    Actuator.STEPPER_PINTLE: ("main_pulsed_bleed_diameter",),
    Actuator.VACUUM_DIAPHRAGM: ("diaphragm_starts_at_vacuum", "diaphragm_ends_at_vacuum", "regulated_vacuum"),
}
"""Geometry a sheet must give for each kind, beyond what every sheet gives."""


class Solenoid(Frozen):
    """The mixture solenoid and its drive."""

    actuator: Annotated[Actuator, Field(strict=False)]
    energized: Literal["lean", "rich"] = Field(description="Which way the mixture goes when current flows.")
    pulse_rate: Rate
    pull_in_time: Time
    drop_out_time: Time
    resistance: Resistance


class Thread(Frozen):
    """A screw thread, by threads per inch or by pitch, one of the two."""

    per_inch: Annotated[float, Field(gt=0, allow_inf_nan=False)] | None = None
    pitch: Length | None = None

    @model_validator(mode="after")
    def _one_of_two(self) -> Thread:
        if (self.per_inch is None) == (self.pitch is None):
            raise ValueError("give per_inch or pitch, one of the two")
        return self

    @property
    def travel_per_turn(self) -> float:
        """Axial travel of one whole turn. [m]"""
        if self.pitch is not None:
            return self.pitch.si
        return 0.0254 / (self.per_inch or 1.0)


class Setting(Frozen):
    """One adjustable point: what it should read, how it is turned, what it is set with."""

    title: Annotated[str, Field(min_length=1)]
    wanted: Quantity
    richer_when: Literal["higher", "lower", "neither"] = Field(
        description="Which way the reading moves when the mixture gets richer."
    )
    thread: Thread | None = None
    clockwise: Annotated[Turning, Field(strict=False)] | None = None
    gauge: str = Field(default="", description="What it is measured with.")
    note: str = ""


class OperatingPoint(Frozen):
    """A steady point of the warm engine at which the loop is judged."""

    engine_speed: Rate
    manifold_pressure: Pressure


class Criteria(Frozen):
    """What proof asks for."""

    idle_dwell: Quantity
    fast_dwell: Quantity
    cruise_dwell: Quantity
    least_reserve: Quantity = Field(description="Least distance of the mean dwell from either limit.")
    least_closed_loop_share: Quantity
    least_crossing_rate: Quantity
    lambda_at_idle: Quantity


class SpecSheet(Frozen):
    """Everything the tool knows of a unit before it sees one."""

    format: Literal[1]
    title: Annotated[str, Field(min_length=1)]
    invented: bool = Field(description="True for archetypes and examples: no such unit exists.")
    source: Annotated[
        str, Field(min_length=1, description="The manual this sheet was typed from, or 'invented'.")
    ]
    stamped: list[str] = Field(default_factory=list, description="What is stamped on the unit.")
    engine: Engine
    solenoid: Solenoid
    primary_barrels: Annotated[int, Field(ge=1, le=2)]
    secondary_barrels: Annotated[int, Field(ge=0, le=2)] = 0
    geometry: Geometry
    settings: dict[str, Setting]
    operating: dict[Literal["idle", "3000", "cruise"], OperatingPoint]
    criteria: Criteria
    fuel: str = "E0"
    controller: str = "generic"

    @model_validator(mode="after")
    def _whole(self) -> SpecSheet:
        missing = {"lean_stop", "rich_stop", "idle_needle", "idle_bleed", "float_level"} - set(self.settings)
        if missing:
            raise ValueError(f"settings must include {', '.join(sorted(missing))}")
        if lacking := {"idle", "3000", "cruise"} - set(self.operating):
            raise ValueError(f"operating must include {', '.join(sorted(lacking))}")
        for name in ACTUATOR_NEEDS.get(self.solenoid.actuator, ()):
            if getattr(self.geometry, name) is None:
                raise ValueError(
                    f"geometry.{name} is needed for the actuator {self.solenoid.actuator.value!r}"
                )
        lean, rich = self.settings["lean_stop"].wanted.si, self.settings["rich_stop"].wanted.si
        if rich <= lean:
            raise ValueError(
                f"settings.rich_stop must be above lean_stop, got {1e3 * rich:.3f} mm against {1e3 * lean:.3f} mm"
            )
        return self
