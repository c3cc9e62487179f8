"""Canvas, palette, style, and pictures that several panels share."""
