"""Generate flat and straight references from scratch: simulate, read, decide."""
