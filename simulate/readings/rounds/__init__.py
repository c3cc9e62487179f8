"""A learner's rounds beside simulated workshops."""
