"""A bed of two ways, or two parts of one bolted together: shape, twist, parallelism, offset and angle of the joint."""
