"""A print on a photograph: corners put on it, marks found, readings made of it."""
