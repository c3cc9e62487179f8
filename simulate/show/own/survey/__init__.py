"""Own readings of a survey."""
