"""How one rigid body rests on another."""
