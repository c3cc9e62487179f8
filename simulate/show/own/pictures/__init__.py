"""Pictures of own readings, drawn by panels and by the report."""
