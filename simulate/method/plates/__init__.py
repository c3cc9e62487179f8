"""Three plates, their turns and slides, what those cannot show, and the survey by a straightedge."""
