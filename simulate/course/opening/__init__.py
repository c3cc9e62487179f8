"""What the first cell of a lesson shows: the switch of the units, where the learner stands, and old questions anew."""
