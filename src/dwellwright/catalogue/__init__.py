"""Data files of numbers with unit, source and spread, and the code that reads and checks them."""
