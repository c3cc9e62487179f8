"""A photograph of a print in a real JupyterLab: chosen, its corners put by keys and by mouse, counted, added; axe."""

import io
import os

import pytest
from PIL import Image
from test_print_photo import CORNERS, DEEP, WIDE, marks, photographed

pytestmark = pytest.mark.browser
PLACED = """([field, k, wanted]) => {
    const placed = field.value.trim().split(/\\s+/)[k].split(',').map(Number);
    return wanted.every((at, i) => Math.abs(at - placed[i]) < 2.5);
}"""
"""Whether a corner stands where it was taken, within what a pixel of the screen is worth."""


@pytest.fixture
def axe():
    if not os.environ.get("CI"):
        pytest.importorskip("axe_playwright_python")
    from axe_playwright_python.sync_playwright import Axe

    return Axe()


@pytest.fixture
def box(lesson, tmp_path):
    """The panel of plates in lesson 23 with its box open, and a photograph chosen after a file that is none."""
    out = io.BytesIO()
    Image.fromarray(photographed(marks(0.15, seed=5, apart_mm=0.6))).save(out, "JPEG", quality=90)
    (tmp_path / "print.jpg").write_bytes(out.getvalue())
    (tmp_path / "no.jpg").write_bytes(b"no picture")
    lesson.page.set_viewport_size({"width": 1366, "height": 768})
    lesson.open("lessons/23_your_own_workshop.ipynb").run_all()
    way = lesson.page.get_by_text("A print from a photograph")
    panel = lesson.page.locator(".jp-OutputArea .workshop-panel").filter(has=way).last
    panel.get_by_role("button", name="Readings", exact=True).click()
    opens = panel.get_by_role("button", name="A print from a photograph")
    opens.click()
    chosen = panel.get_by_label("Photograph of the print")
    chosen.wait_for()
    assert 0 <= chosen.bounding_box()["y"] - opens.bounding_box()["y"] < 300, "what a press opens lies under it"
    chosen.set_input_files(tmp_path / "no.jpg")
    panel.get_by_role("alert").filter(has_text="cannot be opened").wait_for()
    chosen.set_input_files(tmp_path / "print.jpg")
    panel.get_by_text("print.jpg: 1040 by 800 pixels").wait_for()
    return panel


def drag(page, panel, k, column, row):
    """Take a corner by the mouse to a place of the photograph."""
    handle = panel.get_by_role("button", name=f"Corner {k + 1},")
    handle.scroll_into_view_if_needed()
    picture = panel.get_by_alt_text("The photograph, with the four corners of the face marked").bounding_box()
    at = handle.bounding_box()
    page.mouse.move(at["x"] + at["width"] / 2, at["y"] + at["height"] / 2)
    page.mouse.down()
    x, y = (column + 0.5) / 1040 * picture["width"], (row + 0.5) / 800 * picture["height"]
    page.mouse.move(picture["x"] + x, picture["y"] + y, steps=4)
    page.mouse.up()


def test_corners_are_placed_by_keys_and_by_mouse_and_the_print_goes_into_the_cells(lesson, box, axe):
    page, corners = lesson.page, box.get_by_label("Corners, column,row")
    first = box.get_by_role("button", name="Corner 1, near left")
    column, row = map(float, corners.input_value().split()[0].split(","))
    for key in ("ArrowLeft", "ArrowDown", "Shift+ArrowRight", "Shift+ArrowUp"):
        first.press(key)
    by_keys = f"{column - 9:g},{row + 9:g} "
    page.wait_for_function("([f, words]) => f.value.startsWith(words)", arg=[corners.element_handle(), by_keys])
    first.scroll_into_view_if_needed()
    lesson.shot("lesson_23_photograph_corners_at_1366_by_768")
    for k, (column, row) in enumerate(CORNERS):
        drag(page, box, k, column, row)  # the next one once this is there: the page may still be moving
        page.wait_for_function(PLACED, arg=[corners.element_handle(), k, [float(column), float(row)]])
    box.get_by_label("Width, near side").fill(f"{WIDE:g}")
    box.get_by_label("Depth, away").fill(f"{DEEP:g}")
    box.get_by_label("Depth, away").press("Tab")
    box.get_by_role("button", name="Find the marks").click()
    told = box.locator("img[alt*='points to a square inch']").first
    told.wait_for(timeout=90_000)
    told.scroll_into_view_if_needed()
    lesson.shot("lesson_23_photograph_counted_at_1366_by_768")
    box.get_by_role("button", name="Add to the readings").click()
    box.get_by_text("Added to the cells above: B on A, 25 places").wait_for()
    cells = "panel => panel.querySelectorAll('.workshop-grid input').length === 25"  # the sentence may come before them
    page.wait_for_function(cells, arg=box.element_handle())
    found = axe.run(page, context={"include": [[".workshop-panel"]]}).response
    assert len(found["passes"]) >= 5, "axe looked at something"
    assert [v["id"] for v in found["violations"] if v["impact"] in ("serious", "critical")] == []
    assert lesson.errors() == []
