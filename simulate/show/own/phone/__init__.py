"""A page for a phone at the bench, served from the learner's own computer: readings in, findings out, nothing else."""
