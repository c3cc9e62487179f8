"""Panels of the bed, its shims and its cross slide."""
