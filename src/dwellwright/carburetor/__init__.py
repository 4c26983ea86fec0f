"""Geometry and adjustable points to fuel and air at an operating point."""
