"""Readings of a chain as text: three bars, a way against the first of them, a rail against both."""

import numpy as np

X = np.linspace(0, 400, 9)


def text(fits, seed=1):
    rng = np.random.default_rng(seed)
    height = {name: 20 * rng.normal(0, 1, X.size) for name in ("A", "B", "C", "edge", "way", "rail")}
    height["edge"] = height["A"]
    rows = ["lower,upper,turned,position_mm,gap_um"]
    for low, up, turned in fits:
        both = height[low] + (height[up][::-1] if turned == "yes" else height[up])
        rows += [
            f"{low},{up},{turned},{x:g},{g:.3f}"
            for x, g in zip(X, both.max() - both + np.abs(rng.normal(0, 1, X.size)), strict=True)
        ]
    return "\n".join(rows) + "\n"


THREE = text([("A", "B", "no"), ("A", "C", "no"), ("B", "C", "no"), ("A", "B", "yes")])
WAY = text([("way", "edge", "no"), ("way", "edge", "yes")])
RAIL = text([("rail", "way", "no"), ("rail", "edge", "no")])
