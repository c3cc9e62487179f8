"""Panels of squares and faces."""
