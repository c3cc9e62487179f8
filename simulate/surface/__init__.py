"""What a surface is: bars, plates, squares, their starting errors, and how form is judged."""
