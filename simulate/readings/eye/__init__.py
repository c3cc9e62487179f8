"""Readings of a wedge of known gaps: what an eye sees."""
