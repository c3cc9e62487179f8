"""One act at the bench: seating, seeing a gap, taking metal off, bending."""
