"""A straightedge laid along lines of a plate: gaps under it, or a dial against it."""
