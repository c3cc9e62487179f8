"""Equations, least squares, ranges and the next reading: knows no kind of body."""
