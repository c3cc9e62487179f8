"""Readings of heights at places, whatever was laid on them: one record, one solver, and what follows from both."""
