"""Own readings of bars."""
