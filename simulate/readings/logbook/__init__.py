"""What a learner keeps on disk."""
