"""A dark wall: colours keep their names, contrast holds; and no film flashes."""

import io

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.colors import rgb_to_hsv, to_rgb
from PIL import Image

from simulate.course.wall.dark import dark_palette, darkened, in_the_dark
from simulate.show.drawing import style
from simulate.show.drawing.canvas import encode
from simulate.show.drawing.flash_limit import LARGE, blended, flashes, luminance, quiet_speed


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


def test_a_blinking_film_is_held_to_six_looks_a_second_and_a_quiet_one_is_not():
    speeds = (0.5, 2, 4, 6, 8, 12)
    assert quiet_speed(film(*[0, 255] * 20), speeds) == 6
    assert quiet_speed(film(*range(0, 200, 5)), speeds) == 12
    small = np.full((54, 96, 3), 255, np.uint8)
    small[:5, :5] = 0  # half a hundredth of the picture
    blink = [encode(small, 64), film(255)[0]] * 20
    assert quiet_speed(blink, speeds) == 12


def test_a_second_of_hard_cuts_at_eight_looks_flashes_four_times_and_of_blends_at_three_not_more_than_three():
    cuts = np.array([luminance(p) for p in film(*[0, 255] * 4, 0)])
    assert (flashes(cuts) == 4).all()  # nine looks are eight changes, two to a flash
    rises = blended(film(0, 255, 0, 255), 20)  # three blends, sixty samples
    assert rises.shape == (61, 54, 96) and (flashes(rises) <= 3).all() and (flashes(rises) == 1).all()
    assert (np.diff(rises[:21], axis=0) > 0).all() and (np.diff(rises[20:41], axis=0) < 0).all()


def test_a_blend_goes_through_the_inks_as_a_browser_mixes_them():
    """By hand: halfway from black to white is ink 0.5, and ((0.5 + 0.055) / 1.055) ** 2.4 is 0.214 (IEC 61966-2-1)."""
    rises = blended(film(0, 255), 4)
    assert rises[2] == pytest.approx(0.2140, abs=1e-4) and rises[0].max() == 0 and rises[-1] == pytest.approx(1)
    large = np.zeros((560, 1280, 3), np.uint8)
    large[:, 640:] = (250, 60, 40)
    looks = [encode(large, 64), encode(large[::-1, ::-1], 64)]
    ends = [luminance(p) for p in looks]
    assert blended(looks, 3)[[0, 3]] == pytest.approx(np.array(ends), abs=1e-5)


def test_two_inks_as_light_as_each_other_flash_once_a_look_and_such_a_film_is_held_to_three_a_second():
    """By hand: red is 0.2126 light and green of ink 0.58 is 0.7152 x 0.296 = 0.212; halfway 0.5 and 0.29 give
    0.2126 x 0.214 + 0.7152 x 0.0685 = 0.094, a tenth less."""
    red, green = (encode(np.full((54, 96, 3), ink, np.uint8), 64) for ink in ((255, 0, 0), (0, 148, 0)))
    assert abs(luminance(red) - luminance(green)).max() < 0.005
    rises = blended([red, green] * 2)
    assert rises[3] == pytest.approx(0.094, abs=0.001) and (flashes(rises) == 3).all()
    assert quiet_speed([red, green] * 10, (1, 2, 3, 4, 6)) == 3
    assert quiet_speed([red], (1, 12)) == 12  # one look never changes
