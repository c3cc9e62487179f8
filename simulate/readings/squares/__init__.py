"""Readings of squares: solution, blades that bend, and where metal comes off next."""
