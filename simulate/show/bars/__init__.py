"""Panels of bars: one bar, two, three, what stays hidden, weight, heat and the eye."""
