"""A photograph of a print: made straight, evened for light, and its marks counted as the trade counts them."""
