"""Own readings of a wedge, for one's own eye."""
