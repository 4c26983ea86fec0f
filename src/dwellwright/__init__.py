"""Dwellwright: rebuild, calibrate, diagnose and prove closed-loop (feedback) carburetors."""

__version__ = "0.1.0"
