"""A class: sets, marks, summary and feedback."""
