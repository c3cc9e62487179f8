"""Panels that take a learner's own readings: what all kinds share, and a folder for each kind."""
