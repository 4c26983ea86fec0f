"""Gauges a shop makes for itself: sizes from a stack-up, and the card of what was really made."""
