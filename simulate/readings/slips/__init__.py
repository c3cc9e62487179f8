"""Slips of hand and pen that the readings themselves give away."""
