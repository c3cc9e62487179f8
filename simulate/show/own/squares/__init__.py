"""Own readings of squares."""
