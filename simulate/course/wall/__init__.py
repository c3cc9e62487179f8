"""Pages for the projector, their films and their palettes."""
