"""Own readings of plates."""
