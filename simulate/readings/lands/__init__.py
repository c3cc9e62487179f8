"""Readings of land gauges, as figures and as intervals."""
