"""The fixed passages of a unit, as a sheet gives them."""

from __future__ import annotations

from pydantic import model_validator

from dwellwright.catalogue.quantity import Frozen, Length, Pressure, Ratio


class Geometry(Frozen):
    """Bores and heights of one primary barrel; every barrel is taken to be alike until adjusted apart."""

    venturi_diameter: Length
    venturi_discharge: Ratio
    boost_gain: Ratio
    jet_diameter: Length
    jet_length: Length
    rod_diameter_at_lean_stop: Length
    rod_diameter_at_rich_stop: Length
    nozzle_diameter: Length
    nozzle_lift: Length
    main_bleed_diameter: Length
    idle_tube_diameter: Length
    idle_tube_length: Length
    idle_lift: Length
    idle_fixed_bleed_diameter: Length
    idle_adjustable_bleed_diameter: Length
    idle_bleed_opening_per_turn: Ratio
    idle_pulsed_bleed_diameter: Length
    idle_channel_diameter: Length
    idle_port_diameter: Length
    idle_needle_opening_per_turn: Ratio
    throttle_bore: Length
    slot_width: Length
    slot_length: Length
    slot_exposed_at_idle: Length
    power_jet_diameter: Length
    power_opens_below_vacuum: Pressure
    power_closes_above_vacuum: Pressure
    main_pulsed_bleed_diameter: Length | None = None
    auxiliary_fuel_diameter: Length | None = None
    diaphragm_starts_at_vacuum: Pressure | None = None
    diaphragm_ends_at_vacuum: Pressure | None = None
    regulated_vacuum: Pressure | None = None
    power_hysteresis: Pressure | None = None
    secondary_throttle_bore: Length | None = None
    secondary_venturi_diameter: Length | None = None
    secondary_jet_diameter: Length | None = None
    secondary_starts_at_primary_travel: Ratio | None = None

    @model_validator(mode="after")
    def _possible(self) -> Geometry:
        checks = (
            ("rod_diameter_at_lean_stop", "jet_diameter", "the rod must fit its jet"),
            (
                "rod_diameter_at_rich_stop",
                "rod_diameter_at_lean_stop",
                "the rod must be thinner where it is richer",
            ),
            ("venturi_diameter", "throttle_bore", "the venturi must be narrower than the throttle bore"),
            ("slot_exposed_at_idle", "slot_length", "no more slot can be exposed than there is"),
            (
                "power_opens_below_vacuum",
                "power_closes_above_vacuum",
                "the power piston opens at less vacuum",
            ),
        )
        for small, large, why in checks:
            little, big = getattr(self, small), getattr(self, large)
            if little is not None and big is not None and little.si >= big.si:
                raise ValueError(f"{small} must be below {large} ({why}), got {little} against {big}")
        return self
