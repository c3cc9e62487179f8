"""The logbook in a panel, and the report that is made of it."""
