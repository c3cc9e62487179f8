"""From the bytes of a file to a checked table of readings."""
