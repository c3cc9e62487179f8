"""The learner's own figures: loaded, checked, solved and kept."""
