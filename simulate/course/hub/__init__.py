"""A school's server of the course, on JupyterHub: its configuration, and homes handed out and collected."""
