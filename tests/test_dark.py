"""A dark wall: colours keep their names, contrast holds; and no film flashes."""

import io

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.colors import rgb_to_hsv, to_rgb
from PIL import Image

from simulate.show import style
from simulate.show.canvas import encode
from simulate.show.dark import dark_palette, darkened, in_the_dark
from simulate.show.flash import LARGE, flashes, luminance, quiet_speed


def shown(*names):
    return darkened(np.round(255 * np.array([to_rgb(n) for n in names])).astype(np.uint8))


def contrast(one, other):
    """Contrast ratio of two colours, WCAG 2.2."""
    def lum(rgb):
        part = np.asarray(rgb, float) / 255
        return np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4) @ [0.2126, 0.7152, 0.0722]

    high, low = sorted((lum(one), lum(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_paper_and_ink_change_places():
    white, black, grey = shown("white", "black", "#808080")
    assert white.tolist() == [0, 0, 0] and black.tolist() == [255, 255, 255]
    assert np.abs(grey.astype(int) - 127).max() <= 1


@pytest.mark.parametrize("name", [style.BLUE, style.ORANGE, style.SEEN])
def test_a_colour_keeps_its_name_and_stands_out_on_black(name):
    dark = shown(name)[0]
    before, after = (rgb_to_hsv(np.asarray(c, float) / 255) for c in (np.array(to_rgb(name)) * 255, dark))
    assert abs(before[0] - after[0]) < 0.02, "the hue"
    assert after[1] > 0.5 and contrast(dark, [0, 0, 0]) >= 4.5


def test_dark_dots_on_yellow_stay_dark_and_steel_turns_dark():
    yellow, dots, steel = shown(style.SEEN, "#7A5C00", style.STEEL)
    assert contrast(yellow, dots) >= 3
    assert steel.max() < 60


@given(st.lists(st.integers(0, 255), min_size=3, max_size=3))
def test_every_colour_gives_a_colour_and_pale_ones_give_dark_ones(rgb):
    dark = darkened(rgb)
    assert dark.shape == (3,) and dark.dtype == np.uint8
    if min(rgb) >= 240:
        assert dark.max() <= 40


def test_the_palette_is_changed_and_nothing_else_of_the_picture():
    pixels = np.zeros((4, 6, 3), np.uint8)
    pixels[:, 3:] = (255, 216, 77)
    png = encode(pixels, 64)
    dark = in_the_dark(png)
    assert len(dark) == len(png) and len(dark_palette(png)) < len(png)
    shown_pixels = np.asarray(Image.open(io.BytesIO(dark)).convert("RGB"))
    assert shown_pixels[0, 0].tolist() == [255, 255, 255] and shown_pixels[0, 5].tolist() == [232, 193, 54]
    assert in_the_dark(b"no picture") == b"no picture"


def film(*greys):
    return [encode(np.full((54, 96, 3), g, np.uint8), 64) for g in greys]


def test_luminance_is_that_of_the_standard():
    assert luminance(film(0)[0]).max() == 0 and luminance(film(255)[0]).min() == pytest.approx(1)
    assert luminance(film(188)[0])[0, 0] == pytest.approx(0.503, abs=0.003)  # 188 is about half of the light


def test_a_flash_is_a_pair_of_opposing_changes_of_a_tenth_the_darker_below_080():
    assert flashes([0.0, 1.0, 0.0]) == 1
    assert flashes([0.0, 1.0]) == 0
    assert flashes([0.0, 0.05, 0.0, 0.05, 0.0]) == 0
    assert flashes([1.0, 0.85, 1.0, 0.85, 1.0]) == 0
    assert flashes([0.0, 0.06, 0.12, 0.06, 0.0]) == 1  # a slow rise counts as one change
    assert LARGE == pytest.approx(0.0278, abs=0.0001)


def test_a_blinking_film_is_held_to_six_pictures_a_second_and_a_quiet_one_is_not():
    speeds = (0.5, 2, 4, 8, 12, 25)
    assert quiet_speed(film(*[0, 255] * 20), speeds) == 4
    assert quiet_speed(film(*range(0, 200, 5)), speeds) == 25
    small = np.full((54, 96, 3), 255, np.uint8)
    small[:5, :5] = 0  # half a hundredth of the picture
    blink = [encode(small, 64), film(255)[0]] * 20
    assert quiet_speed(blink, speeds) == 25
