"""Tools, and the metal that one pass takes."""
