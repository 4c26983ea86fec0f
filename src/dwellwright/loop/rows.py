"""Rows of the kernel's workspace: each is one quantity for all cars of a block, side by side.

The workspace is one flat array and a row starts at `row * lanes`. Distances between rows are then known when the
kernel is compiled, and the compiler can see that the cars of a block do not touch one another.
"""

from __future__ import annotations

FILM, MIXED, CURVE, VOLTS, INTEGRAL, SILENT, WELL = range(7)
"""State: what a car carries from step to step."""

ARRIVED, DUTY, POSITION, RICH, BURNT, LEAVING, BEFORE_VOLTS, FUEL = range(7, 15)
"""Scratch: written and read within one step."""

FUEL_RICH, FUEL_SPAN, STORE, FILL, FILL_RATE, TO_EXCESS, MIX, SHIFT = range(15, 23)
RICH_LEVEL, RICH_RISE, RICH_OFFSET, LEAN_LEVEL, LEAN_RISE, LEAN_OFFSET, WIDTH = range(23, 30)
UP_DECAY, UP_HOLD, DOWN_DECAY, DOWN_HOLD = range(30, 34)
PULL, DROP, LEAN_STEP_RATE, RICH_STEP_RATE, HALF_JUMP = range(34, 39)
LOW, HIGH, LOW_NOW, HIGH_NOW, JUMP_NOW, ON_STEPS, DELAY_WHOLE, DELAY_PART = range(39, 47)
AIR, CLOSED, WELL_STORE, WELL_FILL, WELL_FILL_RATE = range(47, 52)
"""Coefficients: set when the operating point moves or at each pulse."""

S_DUTY, S_LEAST, S_GREATEST, S_RICH, S_VOLTS, S_VOLTS_LEAST, S_VOLTS_GREATEST = range(52, 59)
S_BURNT, S_FUEL, S_EXCESS_LEAST, S_EXCESS_GREATEST, S_RISES, S_FALLS = range(59, 65)
S_FIRST, S_LAST, S_AT_RISE, S_AT_FALL, S_LOW, S_HIGH, S_CLOSED, S_AIR, S_HELD = range(65, 74)
"""Sums and extremes of the running segment."""

L_POSITION, L_BURNT, L_AIR = range(74, 77)
"""Sums since the last row of the log."""

VALUES = 77
"""The car's parameters at the present operating point start here, one row each."""

ROWS = VALUES + 28
