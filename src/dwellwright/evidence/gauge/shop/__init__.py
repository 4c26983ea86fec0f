"""Gauges a shop makes for itself: sizes from a stack-up, drawings, and the card of what was really made."""
