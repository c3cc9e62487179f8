"""Heads, cross slides, squares and pieces whose truth is known, read at the bench as readings files."""

import numpy as np
from lines_read import table_of

BAR = (32.0, 310.0)


def hang_um(reach_mm, diameter_mm=BAR[0], length_mm=BAR[1], steps=4000):
    """Sag of a round steel bar held at one end, by integrating its curvature twice: no formula of the package."""
    weight = 7850.0 * 9.80665 * np.pi * (diameter_mm / 1000) ** 2 / 4
    stiff = 210e9 * np.pi * (diameter_mm / 1000) ** 4 / 64
    x = np.linspace(0.0, length_mm / 1000, steps + 1)
    curve = -weight * (x[-1] - x) ** 2 / 2 / stiff
    step = x[1]
    slope = np.concatenate([[0.0], np.cumsum((curve[1:] + curve[:-1]) / 2 * step)])
    sag = np.concatenate([[0.0], np.cumsum((slope[1:] + slope[:-1]) / 2 * step)])
    return 1e6 * np.interp(np.asarray(reach_mm) / 1000, x, sag)


def head_truth(rng):
    """Rise (um) and turn (um per mm along x) of a head and a tail in both planes, up to a millimetre or two out."""
    return {
        (axis, plane): (1500 * rng.uniform(-1, 1), 0.4 * rng.normal())
        for axis in ("head", "tail")
        for plane in ("upright", "level")
    }


def head_rows(rng, truth, sd=1.0, axes=("head", "tail"), places=(50.0, 175.0, 300.0), ways=(False, True), said=True):
    """A test bar in each axis; its own error at every place, its sag off by a tenth of itself or so."""
    rows = ["axis,plane,x_mm,turned,dial_um,diameter_mm,length_mm,held_mm"]
    for axis in axes:
        held, away = (0.0, 1.0) if axis == "head" else (900.0, -1.0)
        for plane in ("upright", "level"):
            rise, turn = truth[axis, plane]
            zero, off = {"upright": 30.0, "level": -12.0}[plane], rng.normal(size=len(places)) * 15
            stiff = 1 + 0.1 * rng.normal()
            for k, reach in enumerate(places):
                x = held + away * reach
                for turned in ways:
                    figure = rise + turn * (x - held) + zero + (-off[k] if turned else off[k]) + sd * rng.normal()
                    figure += stiff * hang_um(reach) if plane == "upright" and said else 0.0
                    bar = f"{BAR[0]},{BAR[1]},{held}" if said else f",,{held}"
                    rows.append(f"{axis},{plane},{x:g},{'yes' if turned else 'no'},{figure:.4f},{bar}")
    return rows


FEET = ("head,foot,-250,,,,,", "head,foot,-50,,,,,", "tail,foot,930,,,,,", "tail,foot,1080,,,,,")


def head(rng, truth, feet=FEET, **more):
    return table_of([*head_rows(rng, truth, **more), *feet])


def slide(rng, slide_urad, square_urad, sd=1.0, base_sd=6.0, places=(0.0, 40.0, 80.0, 120.0), ways=(False, True)):
    base = base_sd * rng.normal()
    rows = ["travel_mm,turned,dial_um,base_sd_um_m"]
    for turned in ways:
        zero = 50 * rng.normal()
        for x in places:
            figure = zero + (slide_urad + base + (-square_urad if turned else square_urad)) * x / 1000
            rows.append(f"{x},{'yes' if turned else 'no'},{figure + sd * rng.normal():.4f},{base_sd:g}")
    return table_of(rows)


HEIGHTS = (10.0, 53.0, 97.0, 140.0)


def one_square(rng, urad, by=("strip",), sd=1.0, base_sd=10.0, blades=False, taper_sd=1.0, twice=False):
    """One square leaning `urad` over its base, against gauges that lean and taper, on a flat that is not quite one."""
    from lines_read import BLADES

    base = base_sd * rng.normal()
    rows = [
        "by,height_mm,turned,set,gap_um,gap_at_least_um,gap_at_most_um,apart_um,dial_um,taper_um,taper_sd_um,base_sd_um_m"
    ]
    for one in by:
        lean, at, taper = 300 * rng.normal(), rng.uniform(0, 2 * np.pi), 5 * rng.normal()
        said = taper + taper_sd * rng.normal()
        turns = {"line": [""], "roller": ["0", "90", "180", "270"]}.get(one, ["no", "yes"])
        for turn, again in [(t, a) for t in turns for a in range(1 + twice)]:
            h = np.array(HEIGHTS)
            side = (
                lean * np.cos(np.radians(float(turn)) - at)
                if one == "roller"
                else {"no": lean, "yes": -lean}.get(turn, 0)
            )
            shown = (2 if one == "line" else 1) * (urad + base) * h / 1000 + side * h / 1000
            if one in ("strip", "roller"):
                shown = shown + taper * (h - h[0]) / (h[-1] - h[0]) / 2
            scatter = sd * rng.normal(size=h.size)
            gap = shown - shown.min()
            if blades and one in ("strip", "roller"):
                k = np.searchsorted(BLADES, gap, side="right") - 1
                cells = [f",{BLADES[i]:g},{BLADES[i + 1]:g},,," for i in k]
            elif one in ("strip", "roller"):
                cells = [f"{v:.4f},,,,," for v in gap + 8 * sd + scatter]
            else:
                cells = [f",,,{v:.4f},," if one == "line" else f",,,,{v:.4f}," for v in shown + scatter + 90]
            tapers = f"{said:.4f},{taper_sd:g}" if one in ("strip", "roller") else ","
            for z, cell in zip(h, cells, strict=True):
                rows.append(f"{one},{z:g},{turn},{again},{cell}{tapers},{base_sd:g}")
    return table_of(rows)


CORNERS = ("A-B", "B-C", "C-D", "D-A")


def corner_truth(rng, spread=120.0):
    """Microradians by which each corner is too wide; the four of them make a full turn."""
    three = spread * rng.normal(size=3)
    return dict(zip(CORNERS, [*three, -three.sum()], strict=True))


def faces(rng, wide, square_urad, sd=1.0, corners=CORNERS, pairs=("A-C", "B-D"), known=None):
    """A bar of 60 mm by micrometer at two edges and three places, a square on corners; `known` is (angle, its sd)."""
    rows = ["face,against,x_mm,y_mm,thickness_mm,gap_um,square_um_m,square_sd_um_m"]
    said = "," if known is None else f"{known[0]:.4f},{known[1]:g}"
    for pair in pairs:
        near = {"A-C": ("A-B", "B-C"), "B-D": ("D-A", "A-B")}[pair]
        slope, along = sum(wide[one] for one in near) / 1000, 0.02 * rng.normal()
        a, b = pair.split("-")
        for x in (20.0, 100.0, 180.0):
            for y in (8.0, 52.0):
                thick = 60_034 + slope * y + along * x + sd * rng.normal()
                rows.append(f"{a},{b},{x:g},{y:g},{thick / 1000:.7f},,{said}")
    for pair in corners:
        a, b = pair.split("-")
        for x in (20.0, 180.0):
            y = np.array([8.0, 30.0, 52.0])
            gap = (wide[pair] - square_urad) * y / 1000
            for z, g in zip(y, gap - gap.min() + 8 * sd + sd * rng.normal(size=3), strict=True):
                rows.append(f"{a},{b},{x:g},{z:g},,{g:.4f},{said}")
    return table_of(rows)


def plate(rng, sd=0.8, times=2, nx=5, ny=3):
    """A piece of 200 x 120 mm whose thickness wanders by some micrometres; returns thickness over 18.4 mm, um."""
    x, y = (v.ravel() for v in np.meshgrid(np.linspace(10, 190, nx), np.linspace(10, 110, ny)))
    c = rng.normal(size=4)
    true = 6 * c[0] * x / 200 + 6 * c[1] * y / 120 + 3 * c[2] * np.sin(x / 40 + c[3]) + 12
    rows = ["x_mm,y_mm,thickness_mm"]
    for _ in range(times):
        rows += [
            f"{a:g},{b:g},{(18_400 + t + sd * rng.normal()) / 1000:.7f}" for a, b, t in zip(x, y, true, strict=True)
        ]
    return table_of(rows), true
