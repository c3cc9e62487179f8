"""Readings as a grid of cells to type into: the same text, seen as stations down and pairs across."""
