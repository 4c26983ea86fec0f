"""Readings and recordings, each turned into observations with uncertainty; no model is believed here."""
