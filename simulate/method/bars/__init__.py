"""Two and three bars filed against each other, and what their fits cannot show."""
