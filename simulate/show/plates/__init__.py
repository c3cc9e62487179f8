"""Panels of plates."""
