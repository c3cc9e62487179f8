"""Figures, panels and animations; the only room that draws."""
