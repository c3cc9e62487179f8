"""Squares blade to blade, the proof of one square, and a bar squared up."""
