"""The questions of the lessons, one function each, by subject."""
