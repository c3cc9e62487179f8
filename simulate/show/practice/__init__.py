"""Widgets, pictures and sentences of the practice bench."""
