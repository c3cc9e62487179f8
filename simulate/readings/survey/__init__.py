"""Surveys of a plate by level or straightedge along the lines of a Union Jack."""
