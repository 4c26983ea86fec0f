"""Causes, likelihood, posterior and the next best test."""

from __future__ import annotations

from dwellwright.diagnosis.verdict import CauseBelief, Diagnosis, diagnose

__all__ = ["CauseBelief", "Diagnosis", "diagnose"]
