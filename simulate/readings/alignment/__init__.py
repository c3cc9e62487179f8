"""An axis by test bar, a cross slide over a square, one square turned over, the faces of a piece: straight bodies."""
