"""An exercise asked, checked, kept and handed in."""
