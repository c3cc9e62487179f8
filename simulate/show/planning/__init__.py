"""Panels of the plan of a job and of the uncertainty budget."""
