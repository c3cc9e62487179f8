"""Readings of plates: their stations, equations and solution."""
