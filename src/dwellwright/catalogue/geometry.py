"""The fixed passages of a unit, as a sheet gives them."""

from __future__ import annotations

from pydantic import model_validator

from dwellwright.catalogue.quantity import Frozen, quantity_of
from dwellwright.units import Dimension

Length = quantity_of(Dimension.LENGTH)
Ratio = quantity_of(Dimension.FRACTION)
Pressure = quantity_of(Dimension.PRESSURE)


class Geometry(Frozen):
    """Bores and heights of one primary barrel; every barrel is taken to be alike until adjusted apart."""

    venturi_diameter: Length  # type: ignore[valid-type]
    venturi_discharge: Ratio  # type: ignore[valid-type]
    boost_gain: Ratio  # type: ignore[valid-type]
    jet_diameter: Length  # type: ignore[valid-type]
    jet_length: Length  # type: ignore[valid-type]
    rod_diameter_at_lean_stop: Length  # type: ignore[valid-type]
    rod_diameter_at_rich_stop: Length  # type: ignore[valid-type]
    nozzle_diameter: Length  # type: ignore[valid-type]
    nozzle_lift: Length  # type: ignore[valid-type]
    main_bleed_diameter: Length  # type: ignore[valid-type]
    idle_tube_diameter: Length  # type: ignore[valid-type]
    idle_tube_length: Length  # type: ignore[valid-type]
    idle_lift: Length  # type: ignore[valid-type]
    idle_fixed_bleed_diameter: Length  # type: ignore[valid-type]
    idle_adjustable_bleed_diameter: Length  # type: ignore[valid-type]
    idle_bleed_opening_per_turn: Ratio  # type: ignore[valid-type]
    idle_pulsed_bleed_diameter: Length  # type: ignore[valid-type]
    idle_channel_diameter: Length  # type: ignore[valid-type]
    idle_port_diameter: Length  # type: ignore[valid-type]
    idle_needle_opening_per_turn: Ratio  # type: ignore[valid-type]
    throttle_bore: Length  # type: ignore[valid-type]
    slot_width: Length  # type: ignore[valid-type]
    slot_length: Length  # type: ignore[valid-type]
    slot_exposed_at_idle: Length  # type: ignore[valid-type]
    power_jet_diameter: Length  # type: ignore[valid-type]
    power_opens_below_vacuum: Pressure  # type: ignore[valid-type]
    power_closes_above_vacuum: Pressure  # type: ignore[valid-type]

    @model_validator(mode="after")
    def _possible(self) -> Geometry:
        checks = (
            ("rod_diameter_at_lean_stop", "jet_diameter", "the rod must fit its jet"),
            ("rod_diameter_at_rich_stop", "rod_diameter_at_lean_stop", "the rod must be thinner where it is richer"),
            ("venturi_diameter", "throttle_bore", "the venturi must be narrower than the throttle bore"),
            ("slot_exposed_at_idle", "slot_length", "no more slot can be exposed than there is"),
            ("power_opens_below_vacuum", "power_closes_above_vacuum", "the power piston opens at less vacuum"),
        )
        for small, large, why in checks:
            little, big = getattr(self, small), getattr(self, large)
            if little.si >= big.si:
                raise ValueError(f"{small} must be below {large} ({why}), got {little} against {big}")
        return self
