"""Beds and joints whose truth is known, read by every gauge, as readings files: made from the bench alone."""

import numpy as np
from lines_read import ARCSEC, BLADES, laid, table_of

HEAD = (
    "how,way,plane,x_mm,to_x_mm,y_mm,set,turned,strip_mm,gap_um,gap_at_least_um,gap_at_most_um,dial_um,step_um,"
    "reading_arcsec"
)
X = np.linspace(0.0, 800.0, 9)
APART = 200.0


def ways(rng, high_um=25.0, twist_um=60.0):
    """Front and back way in the upright plane and their sides in the level plane, as functions of x."""

    def one():
        c, p = high_um * rng.normal(size=3), rng.uniform(0, 2 * np.pi)
        return lambda x: c[0] * (2 * x / 800 - 1) ** 2 + 0.3 * c[1] * np.sin(2.5 * x / 400 + p) + 0.02 * c[2] * x / 8

    front, back, sides = one(), one(), (one(), one())
    tilt = twist_um * rng.normal() / 800
    return {
        ("front", "upright"): front,
        ("back", "upright"): lambda x: back(x) + tilt * x + 30.0,
        ("front", "level"): sides[0],
        ("back", "level"): sides[1],
    }


COLUMNS = ("to_x", "set_up", "turned", "strip", "gap", "dial", "step", "reading")


def row(how, way="", plane="", x="", **more):
    y = {"front": "0", "back": f"{APART:g}", "": ""}[way]
    has = dict.fromkeys(COLUMNS, "") | {"gap": ",,"} | more
    cells = [how, way, plane, x, has["to_x"], y, has["set_up"], has["turned"], has["strip"], has["gap"]]
    cells += [has["dial"], has["step"], has["reading"]]
    return ",".join(str(cell) for cell in cells) + (f",{more['part']}" if "part" in more else "")


def edge_rows(rng, truth, way, plane="upright", sd=1.0, blades=False, x=X, **more):
    gap = laid(x - x[0], truth[way, plane](x))
    if blades:
        at = np.searchsorted(BLADES, gap, side="right") - 1
        cells = [f",{BLADES[k]:g},{BLADES[k + 1]:g}" for k in at]
    else:
        cells = [f"{v:.4f},," for v in gap + 8 * sd + sd * rng.normal(size=x.size)]
    return [row("edge", way, plane, a, gap=g, **more) for a, g in zip(x, cells, strict=True)]


def level_rows(rng, truth, way, sd=0.5, x=X, **more):
    slope = np.diff(truth[way, "upright"](x)) / np.diff(x) / 1000 / ARCSEC + 40 * rng.normal()
    read = slope + sd * rng.normal(size=slope.size)
    return [
        row("level", way, x=a, to_x=b, reading=f"{v:.5f}", **more) for a, b, v in zip(x[:-1], x[1:], read, strict=True)
    ]


def cross_rows(rng, truth, sd=0.5, x=X[::2], **more):
    rise = truth["back", "upright"](x) - truth["front", "upright"](x)
    read = rise / APART / 1000 / ARCSEC + 40 * rng.normal() + sd * rng.normal(size=x.size)
    return [row("cross", x=a, reading=f"{v:.5f}", **more) for a, v in zip(x, read, strict=True)]


def dial_rows(rng, truth, way="back", plane="upright", sd=1.0, x=X, **more):
    other = "front" if way == "back" else "back"
    read = truth[way, plane](x) - truth[other, plane](x) + 100 * rng.normal() + sd * rng.normal(size=x.size)
    return [row("dial", way, plane, a, dial=f"{v:.4f}", **more) for a, v in zip(x, read, strict=True)]


def strip_rows(rng, truth, sd=10.0, unlike=80.0, rounds=(False, True), x=(0.0, 800.0), strip=400.0):
    def over(at):
        return truth["back", "upright"](at) - truth["front", "upright"](at)

    true = (over(x[1]) - over(x[0])) * strip / APART
    rows = []
    for turned in rounds:
        seen = true + (-unlike if turned else unlike) + sd * rng.normal()
        words = "yes" if turned else "no"
        rows.append(row("strips", x=x[0], to_x=x[1], turned=words, strip=strip, step=f"{seen:.4f}"))
    return rows


def diagonal_rows(rng, truth, sd=1.0, bend=12.0, x=(0.0, 800.0)):
    rows, middle = [], np.mean(x)
    half = sum(truth[way, "upright"](middle) for way in ("front", "back")) / 2
    for way, other in (("front", "back"), ("back", "front")):
        gap = (truth[way, "upright"](x[0]) + truth[other, "upright"](x[1])) / 2 - half + 300 + bend + sd * rng.normal()
        rows.append(row("diagonal", way, x=x[0], to_x=x[1], gap=f"{gap:.4f},,"))
    return rows


def bed(rows):
    return table_of([HEAD, *rows])


def whole_bed(rng, truth, sd=1.0, blades=False):
    """Straightedge on each way twice, level across, a dial sweep, strips both ways round, both diagonals; sides too."""
    rows = []
    for way in ("front", "back"):
        rows += edge_rows(rng, truth, way, sd=sd, blades=blades)
        rows += edge_rows(rng, truth, way, sd=sd, set_up=f"{way} again", blades=blades)
        rows += edge_rows(rng, truth, way, "level", sd=sd)
        rows += edge_rows(rng, truth, way, "level", sd=sd, set_up=f"{way} side again")
    rows += cross_rows(rng, truth) + dial_rows(rng, truth, sd=sd) + dial_rows(rng, truth, plane="level", sd=sd)
    return bed(rows + strip_rows(rng, truth) + diagonal_rows(rng, truth))


BOLTS = ((450.0, 0.0), (450.0, 200.0), (750.0, 0.0), (750.0, 200.0))


def joint(rng, offset=(30.0, 20.0), angle=(60.0, -40.0), sd=1.0, bolts=BOLTS, planes=("upright", "level"), twice=True):
    """Two parts of 400 mm; the second stands off by `offset` um at x 400 and leans by `angle` um/m (upright, level)."""
    truth = ways(rng, 3.0, 0.0)
    rows = []
    for k, plane in enumerate(planes):
        for way in ("front", "back"):
            for again in range(1 + twice):
                height = truth[way, plane](X) - (30.0 if (way, plane) == ("back", "upright") else 0.0)
                height = height + np.where(X > 400, offset[k] + angle[k] * (X - 400) / 1000, 0.0)
                gap = laid(X, height) + 8 * sd + sd * rng.normal(size=X.size)
                for a, g in zip(X, gap, strict=True):
                    part = "head part" if a <= 400 else "tail part"
                    rows.append(row("edge", way, plane, a, set_up=f"{way} {again}", gap=f"{g:.4f},,", part=part))
        if plane == "upright":
            for part, x in (("head part", X[:5:2]), ("tail part", X[5::2])):
                rise = truth["back", plane](x) - 30.0 - truth["front", plane](x)
                read = rise / APART / 1000 / ARCSEC + 5.0 + 0.3 * rng.normal(size=x.size)
                for a, v in zip(x, read, strict=True):
                    rows.append(row("cross", x=a, set_up="all", reading=f"{v:.5f}", part=part))
    rows += [f"bolt,,,{x:g},,{y:g},,,,,,,,,,tail part" for x, y in bolts]
    return table_of([HEAD + ",part", *rows])
