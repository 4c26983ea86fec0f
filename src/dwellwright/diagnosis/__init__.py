"""Causes, likelihood, posterior and the next best test."""
