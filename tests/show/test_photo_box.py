"""A photograph of a print in a panel: corners, marks, a map, and rows in the cells; nothing typed is lost."""

import io

import numpy as np
import pytest
from photos_rendered import rendered_edge
from PIL import Image
from test_print_photo import CORNERS, DEEP, WIDE, counted, marks, photographed, vast

from simulate.readings.table.read import read_readings
from simulate.show.own.bars.own_bars import OwnBarsPanel
from simulate.show.own.photo.corner_picker import MOST_SENT, corner_picker, corners_said
from simulate.show.own.plates.own_plates import OwnPlatesPanel
from simulate.show.own.workshop.own_workshop import OwnWorkshopPanel

FACE = marks(0.15, seed=5, apart_mm=0.6)
FACE[:, : FACE.shape[1] // 5] = False  # one side of it did not print


@pytest.fixture(scope="module")
def photo():
    out = io.BytesIO()
    Image.fromarray(photographed(FACE)).save(out, "JPEG", quality=90)
    return out.getvalue()


def box_with(photo, panel=None):
    panel = panel or OwnPlatesPanel()
    box = panel.photo
    box.picker._handle_custom_msg({"name": "print.jpg"}, [memoryview(photo)])
    box.picker.corners = [list(corner) for corner in CORNERS]  # as the page does
    unit = 25.4 if panel.units == "inch" else 1.0
    box.size[0].value, box.size[1].value = WIDE / unit, DEEP / unit
    return panel, box


def test_a_photograph_becomes_points_a_share_a_map_and_cells(photo):
    panel, box = box_with(photo)
    assert box.picker.said.startswith("print.jpg: 1040 by 800 pixels") and box.picker.size == [1040, 800]
    assert box.picker.shown.startswith("data:image/jpeg;base64,") and len(box.picker.shown) < 400_000
    assert box.corners.value == corners_said(CORNERS)
    box.find.click()
    assert box.message.value == "" and "points to a square inch" in box.result.value and "<img" in box.result.value
    assert box.told.points_mean[1] == pytest.approx(counted(FACE)[1].mean(), rel=0.1)
    assert box.result.value.count("<td>") == box.told.points.size
    assert "20 of 25 places printed" in box.result.value
    box.add.click()
    assert "B on A, 25 places" in box.message.value
    table = read_readings(panel.typed.value.encode(), "typed")
    assert len(table) == 25 and np.count_nonzero(np.isinf(table.high_um)) == 5
    assert set(table.position_mm[np.isinf(table.high_um)]) == {table.position_mm.min()}
    assert panel.entry.way.value == "grid" and "value='x'" in panel.entry.grid_view.value
    kept = panel.typed.value
    box.add.click()
    assert "is there already" in box.message.value and panel.typed.value == kept
    box.names[1].value = "C"
    box.add.click()
    assert panel.typed.value.startswith(kept) and len(panel.typed.value.splitlines()) == 51


def test_what_was_added_and_where_the_corners_lie_is_kept_when_the_kernel_dies(photo):
    panel, box = box_with(photo)
    box.find.click()
    box.add.click()
    again = OwnPlatesPanel()
    assert again.typed.value == panel.typed.value and "Brought back" in again.draft.line.value
    assert again.photo.corners.value == corners_said(CORNERS)
    again.photo.take(photo, "print.jpg")  # corners that were placed stay on the same photograph
    assert again.photo.picker.corners == [list(corner) for corner in CORNERS]


def test_in_inches_sizes_are_inches_and_film_is_thou(photo):
    panel, box = box_with(photo, OwnPlatesPanel(units="inch"))
    box.film.value = 0.2
    box.find.click()
    box.add.click()
    assert panel.typed.value.startswith("round,lower,upper,turned,slide_x_in,x_in,y_in,printed,film_thou")
    table = read_readings(panel.typed.value.encode(), "typed")
    assert table.position_mm.max() == pytest.approx(0.4 * WIDE, rel=1e-3)
    assert np.nanmin(table.high_um) == pytest.approx(0.2 * 25.4)
    box.size[0].value = 400
    box.find.click()
    assert "at most 196.9 in" in box.message.value


def test_what_was_typed_goes_on_below_a_print_and_bars_take_none(photo):
    panel, box = box_with(photo)
    mine = "lower,upper,x_mm,y_mm,gap_um\nOak,Ash,0,0,12\n"
    panel.typed.value = mine
    box.find.click()
    box.add.click()
    assert "Oak,Ash,0,0,12" in panel.typed.value and len(panel.typed.value.splitlines()) == 27
    workshop, box = box_with(photo, OwnWorkshopPanel())
    box.find.click()
    workshop.typed.value = before = "lower,upper,position_mm,gap_um\nA,B,0,12\n"
    box.add.click()
    assert "not a table of plates" in box.message.value and workshop.typed.value == before


def test_an_edge_of_a_bar_becomes_stations_and_cells_of_bars():
    one = rendered_edge(1, glare=False)
    panel = OwnBarsPanel()
    box = panel.photo
    assert [field.value for field in box.size] == [500, 10] and box.many[0].description == "Stations along"
    assert "not on a real photograph" in box.how.value and "left end" in box.how.value
    box.take(one.data, "edge.jpg")
    box.corners.value = corners_said(one.corner_px.tolist())
    box.find.click()
    assert box.message.value == "" and "9 of 20 stations printed" in box.result.value
    box.turned.value = 180
    box.add.click()
    assert "B on A, 20 stations" in box.message.value
    table = read_readings(panel.typed.value.encode(), "typed")
    assert table.kind == "bars" and len(table) == 20 and table.turned.all()
    assert np.count_nonzero(np.isinf(table.high_um)) == 11 and set(table.high_um[table.low_um == 0]) == {3.0}
    box.size[0].value = 20
    box.find.click()
    assert "times as long as deep" in box.message.value
    assert [option for option, _ in OwnWorkshopPanel().photo.kind.options] == ["a plate", "the edge of a bar"]


def test_what_tells_nothing_says_why_and_runs_nothing(photo, tmp_path):
    panel, box = box_with(photo)
    shown, kept = box.picker.shown, panel.typed.value
    for data in (b"", b"no photograph", b"<svg onload='alert(1)'/>", vast(), photo[:300]):
        box.take(data, "<b>x</b>.jpg")
        assert "Not possible" in box.message.value and "<b>" not in box.message.value
    assert box.picker.shown == shown and panel.typed.value == kept
    box.picker._handle_custom_msg({"name": "a"}, [])
    box.picker._handle_custom_msg("no picture", [memoryview(photo)])
    for corners in ("", "1,2", "a,b c,d e,f g,h", "nan,0 1,1 2,2 3,3"):
        box.corners.value = corners
        box.find.click()
        assert "four pairs" in box.message.value
    box.corners.value = "0,0 10,0 10,10 0,10"
    box.find.click()
    assert "not in order round the face" in box.message.value
    box.add.click()
    assert "Find the marks first" in box.message.value and panel.typed.value == kept
    box.path.value = str(tmp_path / "none.jpg")
    box.read_path.click()
    assert "none.jpg cannot be opened" in box.message.value
    box.path.value = ""
    box.read_path.click()
    assert "Not possible" in box.message.value
    (tmp_path / "good.jpg").write_bytes(photo)
    box.path.value = str(tmp_path / "good.jpg")
    box.read_path.click()
    assert "good.jpg: 1040 by 800 pixels" in box.picker.said


def test_a_size_that_was_changed_asks_for_the_marks_anew(photo):
    _, box = box_with(photo)
    box.add.click()
    assert "Find the marks first" in box.message.value
    box.find.click()
    box.size[0].value = WIDE / 2
    box.add.click()
    assert "Find the marks first" in box.message.value


def test_a_page_sends_no_more_than_a_server_takes():
    assert corner_picker(lambda *_: None).most_bytes == MOST_SENT < 10_000_000
