"""Shades of maps survive the palette of live pictures and films: no band and no ring that is not in the plate."""

import io

import matplotlib
import numpy as np
import pytest
from matplotlib.colors import to_rgb
from PIL import Image

from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.drawing.palette import GAPS, HEIGHTS, SHADES, few_colours, palette, quick_png
from simulate.show.drawing.plate_map import PlateMap, lit

WHICH = ("all", "few", "relief")


def through(rgb, which):
    """What a picture of these colours looks like once it was encoded, 0 to 1."""
    picture = np.concatenate([np.round(255 * np.asarray(rgb)), np.full((*np.shape(rgb)[:-1], 1), 255)], axis=-1).astype(
        np.uint8
    )
    return (
        np.asarray(Image.open(io.BytesIO(quick_png(np.ascontiguousarray(picture), which))).convert("RGB"), float) / 255
    )


def lightness(rgb):
    """CIE L*, from the relative luminance of WCAG 2.2."""
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4) @ [0.2126, 0.7152, 0.0722]
    return np.where(linear > 0.008856, 116 * np.cbrt(linear) - 16, 903.3 * linear)


@pytest.mark.parametrize("which", WHICH)
@pytest.mark.parametrize(("shades", "start"), [(HEIGHTS, 0.5), (GAPS, 0.0)])
def test_lightness_falls_on_each_side_of_level(which, shades, start):
    looked = 0
    for end in (0.0, 1.0) if start else (1.0,):
        ramp = shades(np.linspace(start, end, 256))[None, :, :3]
        seen = through(ramp, which)[0]
        light = lightness(seen)
        assert (np.diff(light) <= 1e-9).all(), "no band is lighter than the one before it"
        assert len(np.unique(seen, axis=0)) >= 10
        looked += 1
    assert looked == (2 if start else 1)


def lab(rgb):
    """CIE L*a*b* for D65."""
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    turn = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    xyz = linear @ turn.T / [0.9505, 1.0, 1.089]
    f = np.where(xyz > 0.008856, np.cbrt(xyz), 7.787 * xyz + 16 / 116)
    return np.stack([116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], axis=-1)


@pytest.mark.parametrize("which", ["all", "relief"])
def test_a_live_map_of_heights_has_64_steps_that_are_even_to_the_eye(which):
    """Distances in CIE L*a*b*; the scale is the middle of matplotlib's own coolwarm (Moreland 2009)."""
    own = matplotlib.colormaps["coolwarm"](np.linspace(10 / 84, 74 / 84, HEIGHTS.N))[:, :3]
    assert np.abs(HEIGHTS.colors[:, :3] - own).max() < 0.01
    seen = through(HEIGHTS(np.linspace(0, 1, 2000))[None, :, :3], which)[0]
    assert len(np.unique(seen, axis=0)) >= 64
    steps = np.linalg.norm(np.diff(lab(own), axis=0), axis=1)
    assert steps.max() / steps.min() < 1.5
    assert lightness(own).min() > 50, "black lines and letters stand out on both ends"


@pytest.mark.parametrize("which", WHICH)
def test_a_shade_keeps_its_own_hue(which):
    hollow = through(HEIGHTS(np.linspace(0.45, 0, 200))[None, :, :3], which)[0]
    proud = through(HEIGHTS(np.linspace(0.55, 1, 200))[None, :, :3], which)[0]
    assert (hollow[:, 2] >= hollow[:, 0]).all(), "no cream on the blue side"
    assert (proud[:, 0] >= proud[:, 2]).all(), "no blue on the orange side"
    off = 0.06 if which == "few" else 0.012
    for part, seen in ((np.linspace(0.45, 0, 200), hollow), (np.linspace(0.55, 1, 200), proud)):
        assert np.abs(seen - HEIGHTS(part)[:, :3]).max() < off, "its own shade, not a neighbour's"


def dome_seen(few, top=100.0):
    """A dome of 100 µm on a map, proud in the middle and hollow round it, and the height at each dot."""
    canvas = Canvas(600, 600, 100)
    plate = PlateMap(canvas, canvas.figure.add_axes((0.05, 0.05, 0.9, 0.9)), letters=False)
    plate.plainly(few)
    x = np.linspace(-1, 1, 61)
    plate.show("", 100 * (1 - 2 * np.hypot(*np.meshgrid(x, x)).clip(0, 1)), 20.0, top)
    across = (np.arange(600) - 299.5) / 270
    seen = np.asarray(Image.open(io.BytesIO(canvas.paint(few=few))).convert("RGB"), float) / 255
    return seen, 100 * (1 - 2 * np.hypot(*np.meshgrid(across, across))), across


@pytest.mark.parametrize("few", [False, True])
def test_a_dome_on_a_map_has_no_ring_that_is_lighter_than_what_lies_round_it(few):
    """Where a lamp lights it, along the line on which no slope faces the lamp or lies in shadow."""
    seen, height, across = dome_seen(few)
    along = few | (np.abs(np.subtract.outer(-across, across)) < 0.06)  # from below on the left to above on the right
    light = []
    for band in range(-9, 10):  # of half a step each; lines lie on some, so the commonest colour counts
        dots = np.round(255 * seen[along & (np.abs(height / 10 - band) < 0.3)]).astype(int)
        colours, count = np.unique(dots, axis=0, return_counts=True)
        light.append(float(lightness(colours[count.argmax()] / 255)))
    assert light[9] == max(light) and len(set(light)) >= 14
    assert all(a <= b for a, b in zip(light[:9], light[1:10])) and all(a >= b for a, b in zip(light[9:], light[10:]))


def sides_of_a_dome(top):
    """Lightness of the side towards the lamp and of the side away from it, at one height."""
    seen, height, across = dome_seen(False, top)
    towards = np.subtract.outer(-across, across)  # dots lie from the highest row on
    ring = np.abs(height - 30) < 4
    return [float(np.median(lightness(seen)[ring & side])) for side in (towards > 0.4, towards < -0.4)]


def test_a_lamp_from_the_upper_left_lights_one_side_of_a_dome_and_flattens_with_it():
    near, far = sides_of_a_dome(100.0)
    assert near - far > 4, "the same height, lighter towards the lamp"
    flat = sides_of_a_dome(2000.0)
    assert abs(flat[0] - flat[1]) < (near - far) / 8, "on the scale of a rougher plate a flat one has no relief"


def test_a_lit_map_is_sent_in_the_colours_that_it_was_drawn_in_and_a_wall_has_none():
    off = {}
    for dpi in (100, style.WALL_DPI):
        canvas = Canvas(400, 400, dpi)
        plate = PlateMap(canvas, canvas.figure.add_axes((0, 0, 1, 1)), letters=False)
        x, y = np.meshgrid(*[np.linspace(-1, 1, 61)] * 2)
        plate.show("", 50 * np.sin(4 * x) * np.sin(4 * y), 20.0, 50.0)
        seen = np.asarray(Image.open(io.BytesIO(canvas.paint())).convert("RGB"), int)
        off[dpi] = float(np.abs(seen - canvas.pixels()).mean())
        assert canvas.lit == (dpi < style.WALL_DPI), "another palette for a dark room would turn it inside out"
    assert off[100] < 3.5, off


def test_a_level_plate_has_the_colours_of_the_scale_and_a_slope_those_of_its_height():
    for part in (-1.0, -0.4, 0.0, 0.7):
        seen = lit(np.full((5, 5), 50 * part), 50.0, (30, 20)).reshape(-1, 4)
        assert (seen == np.round(255 * np.array(HEIGHTS(0.5 + 0.5 * part)))).all(), part
    scale, looked = lab(HEIGHTS.colors[:, :3]), 0
    for light in SHADES:
        seen = lab(through(np.clip(light * HEIGHTS.colors[None, :, :3], 0, 1), "relief")[0])
        read = np.linalg.norm(seen[:, None, 1:] - scale[:, 1:], axis=-1).argmin(axis=1)  # by hue, whatever the light
        looked += np.count_nonzero(np.abs(read - np.arange(65)) <= 6)
    assert looked > 0.95 * 65 * len(SHADES), "no more than a tenth of the scale off"


def test_the_shades_take_no_place_that_the_course_needs():
    assert len(few_colours()) <= 64 and max(len(palette(which)) for which in WHICH) <= 256
    for hue in (
        style.BLUE,
        style.ORANGE,
        style.SEEN,
        style.STEEL,
        "white",
        "black",
    ):
        for which in WHICH:
            assert np.abs(through(np.full((2, 2, 3), to_rgb(hue)), which) - to_rgb(hue)).max() < 0.04, hue
