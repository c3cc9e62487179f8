"""Slopes read along any lines: a level on a foot, or the mirror of an autocollimator."""
