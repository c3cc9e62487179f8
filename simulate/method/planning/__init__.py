"""Hours, metal, rounds and risk over many simulated workshops."""
