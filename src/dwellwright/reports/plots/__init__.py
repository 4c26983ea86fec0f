"""Plots for the handover sheet, the pages and the command line; each comes with its description in words."""
