"""Contrast of everything that is read, by the formula of WCAG 2.2: letters 4.5 to 1, lines and frames 3 to 1."""

import re
from pathlib import Path

import nbformat
import numpy as np
import pytest
from matplotlib.colors import to_rgb
from matplotlib.text import Text

from simulate.course.notebook.positions import panels
from simulate.course.notebook.refresh import LESSONS
from simulate.course.wall import projector
from simulate.course.wall.dark import darkened
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Words
from simulate.show.drawing.focus import FOCUS


def light(colour):
    part = np.array(to_rgb(colour))
    return np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4) @ [0.2126, 0.7152, 0.0722]


def contrast(one, other):
    high, low = sorted((light(one), light(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def on_black(colour):
    return tuple(darkened(np.round(255 * np.array(to_rgb(colour))).astype(np.uint8)) / 255)


def test_the_formula_gives_the_published_values():
    """Black on white is 21 to 1 (WCAG 2.2); #767676 on white is 4.54, the palest grey that passes (from memory)."""
    assert contrast("white", "black") == pytest.approx(21)
    assert contrast("#767676", "white") == pytest.approx(4.54, abs=0.01)


@pytest.fixture(scope="module")
def letters():
    """Colour of every letter of every panel of the lessons, with the words and the panel."""
    found = {}
    for path in sorted(LESSONS.glob("[0-9][0-9]_*.ipynb")):
        for _, panel in panels(nbformat.read(path, as_version=4)):
            for text in panel.canvas.figure.findobj(lambda a: isinstance(a, (Text, Words))):
                words = isinstance(text, Words)
                said = text._text if words else text.get_text() if text.get_visible() else ""
                if said.strip():
                    found[text._colour if words else text.get_color()] = (type(panel).__name__, said)
    return found


def test_every_letter_of_every_panel_stands_out_on_paper_and_on_a_dark_wall(letters):
    assert len(letters) >= 4
    for colour, where in letters.items():
        assert contrast(colour, "white") >= 4.5, (colour, where)
        assert contrast(on_black(colour), "black") >= 4.5, (colour, where)


@pytest.mark.parametrize("colour", [colour for colour, _, _ in style.LINES])
def test_lines_stand_out_on_paper_and_on_a_dark_wall(colour):
    assert contrast(colour, "white") >= 3
    assert contrast(on_black(colour), "black") >= 3


def test_black_letters_stand_out_on_every_fill():
    for fill in (style.STEEL, style.SEEN, "#9CC9E8", "#F2B48C"):
        assert contrast("black", fill) >= 4.5
    assert contrast(on_black("black"), on_black(style.STEEL)) >= 4.5


def test_no_two_lines_are_told_apart_by_colour_alone():
    assert len({dash for _, dash, _ in style.LINES}) == len({mark for _, _, mark in style.LINES}) == len(style.LINES)


def test_the_pages_and_the_wall_stand_out_and_so_does_the_focus():
    wall = (Path(projector.__file__).with_name("projected.css")).read_text(encoding="utf-8")
    modes = [dict(re.findall(r"--(\w+): (#\w+)", block)) for block in re.findall(r"(?:root|dark) \{(.*?)\}", wall)]
    assert len(modes) == 2
    for mode in modes:
        assert contrast(mode["ink"], mode["paper"]) >= 4.5 and contrast(mode["ink"], mode["box"]) >= 4.5
        assert contrast(mode["edge"], mode["paper"]) >= 3 and contrast(mode["focus"], mode["paper"]) >= 3
    page = style.PAGES_CSS.read_text(encoding="utf-8")
    looked = 0
    for colour in re.findall(r"[ {;]color: (#\w+)", page):
        assert contrast(colour, "white") >= 4.5 and contrast(colour, "#f4f4f4") >= 4.5, colour
        looked += 1
    assert looked >= 3
    for colour in re.findall(r"outline: \dpx solid (#\w+)", page + FOCUS):
        assert contrast(colour, "white") >= 3, colour
