"""Bars and plates under their own weight, on supports, and warm on one side."""
