"""Pictures of different heights in one film: laid on sheets of one size, the film judged and blended as any other."""

import base64
import io
import json
import re

import numpy as np
import pytest
from PIL import Image

from simulate.course.wall.one_size import of_one_size
from simulate.course.wall.projector import build, film_page
from simulate.show.drawing.canvas import encode


def opened(png):
    return Image.open(io.BytesIO(png))


@pytest.fixture
def low_and_high():
    low, high = np.full((60, 96, 3), 250, np.uint8), np.full((90, 96, 3), 250, np.uint8)
    low[10:20, 10:20], high[70:80, 10:20] = 0, (200, 30, 30)
    return encode(low), encode(high)


def test_the_lower_picture_keeps_every_dot_and_gets_paper_below(low_and_high):
    low, high = low_and_high
    found = of_one_size([low, b"", high])
    assert found[1:] == [b"", high], "the largest and the empty one stay as they are"
    before, after = (np.asarray(opened(p).convert("RGB")) for p in (low, found[0]))
    assert after.shape == (90, 96, 3) and (after[:60] == before).all() and (after[60:] == 250).all()
    assert opened(found[0]).getpalette() == opened(low).getpalette(), "its colours turn dark as before"


def test_pictures_of_one_size_are_not_touched(low_and_high):
    low, _ = low_and_high
    assert of_one_size([low, low]) == [low, low] and of_one_size([]) == []


def test_a_film_of_pictures_of_two_heights_is_written(low_and_high):
    page = film_page(low_and_high, ["two bars", "three bars"], "Bars", {})
    frames = json.loads(re.search(r'id="workshop-player-\w+-frames">(.*?)</script>', page, re.DOTALL)[1])
    assert {opened(base64.b64decode(f.split(",", 1)[1])).size for f in frames} == {(96, 90)}


def test_the_wall_has_the_panel_of_the_lesson_whose_picture_grows_with_what_is_read(tmp_path):
    pages = build(tmp_path, ["23"])
    assert [p.name for p in pages] == [f"23_your_own_workshop_{page}.html" for page in (1, 2)]
    assert pages[0].stat().st_size > 300_000
