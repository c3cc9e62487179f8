"""What a question is, what an answer to it is worth, and the beliefs that wrong answers come from."""
