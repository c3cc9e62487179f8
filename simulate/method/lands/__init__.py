"""Gauges with three lands: made, laid in turn, and adjusted as a levelling network."""
