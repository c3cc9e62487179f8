"""Courses of the lessons in periods: what is done when, what it is for, what it needs, and the sheets to print."""
