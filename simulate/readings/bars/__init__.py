"""Readings of bars: their equations, solution and where metal comes off next."""
