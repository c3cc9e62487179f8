"""The practice bench as a game of states and acts, without widgets."""
