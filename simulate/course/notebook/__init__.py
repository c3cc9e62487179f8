"""What a lesson's notebook starts with, and its stored outputs."""
