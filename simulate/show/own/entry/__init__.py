"""The one form in which own readings are entered: a grid of cells, the same as text, and as a card to print."""
