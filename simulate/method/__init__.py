"""Acts in order, and what no number of them can show."""
