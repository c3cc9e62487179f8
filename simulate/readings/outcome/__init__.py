"""What a solution leads to, for any kind: where metal comes off, when to stop, and what was found."""
