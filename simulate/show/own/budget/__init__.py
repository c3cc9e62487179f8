"""Own links of an uncertainty budget."""
