"""The classes that panels are made of, and the player of films."""
