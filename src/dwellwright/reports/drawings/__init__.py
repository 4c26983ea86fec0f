"""Drawings of gauges a shop makes for itself: primitives, the sheet they make up, and its file formats."""
