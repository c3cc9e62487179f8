"""The entry grid in the panels of own work: it says what the text says, keeps drafts, lays out and prints cards."""

import io
import json
import re

import pytest
from pypdf import PdfReader

from simulate import read_readings
from simulate.__main__ import main
from simulate.readings.entry.cell_grid import entry_grid
from simulate.readings.entry.head_words import column_words, row_words
from simulate.readings.entry.laying_out import FIELDS, UNITS_ALLOWED, laid_out
from simulate.readings.table.demo import demo_path
from simulate.readings.table.units import SLOPE
from simulate.show import (
    OwnBarsPanel,
    OwnEyePanel,
    OwnLandsPanel,
    OwnPlatesPanel,
    OwnSquaresPanel,
    OwnWorkshopPanel,
    SurveyPanel,
)
from simulate.show.own import draft_keeper
from simulate.show.own.entry import entry_box
from simulate.show.own.entry.card_pdf import entry_card_pdf

PANELS = {
    "bars": OwnBarsPanel,
    "lands": OwnLandsPanel,
    "plates": OwnPlatesPanel,
    "squares": OwnSquaresPanel,
    "union jack": SurveyPanel,
    "wedge": OwnEyePanel,
}


@pytest.fixture(autouse=True)
def beside(tmp_path, monkeypatch):
    monkeypatch.setattr(draft_keeper, "FOLDER", tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def send(panel, cells, number=1, stamp=None, page="one", since=None):
    """What a page sends: every cell that was typed into there, and since which of its messages it says so."""
    box = panel.entry
    said = {"page": page, "number": number, "stamp": box._stamp if stamp is None else stamp, "cells": cells}
    said["since"] = dict.fromkeys(cells, 1) if since is None else since
    box.cells.value = json.dumps(said)


def shown_cells(panel) -> dict[str, str]:
    return dict(re.findall(r"data-at='(\d+,\d+)'[^>]* value='([^']*)'", panel.entry.grid_view.value))


@pytest.mark.parametrize("kind", PANELS)
def test_every_panel_of_own_work_shows_its_readings_as_a_grid_that_can_be_typed_into(kind):
    panel = PANELS[kind]()
    grid = entry_grid(panel.typed.value)
    assert grid.kind == kind and panel.entry.way.value == "grid" and panel.entry.layout.kinds == (kind,)
    cells = shown_cells(panel)
    assert cells == {
        f"{r},{c}": place.typed.replace("<", "&lt;")
        for r, row in enumerate(grid.places)
        for c, place in enumerate(row)
        if not place.closed
    }
    at = next(name for name, word in cells.items() if word)
    send(panel, {at: "7"}, number=4)
    r, c = map(int, at.split(","))
    assert entry_grid(panel.typed.value).typed()[r][c] == "7" and "{&quot;one&quot;: 4}" in panel.entry.told.value
    assert "kept as a draft" in panel.draft.line.value and panel.message.value == ""


def test_the_workshop_s_grid_follows_the_kind_of_its_readings_and_lays_out_all_of_them():
    panel = OwnWorkshopPanel()
    assert panel.entry.layout.kinds == tuple(FIELDS)
    panel.controls["example"].value = "squares"
    assert panel.entry.grid.kind == "squares" and "Elm on Ash" in panel.entry.grid_view.value
    panel.entry.way.value = "new"
    assert panel.entry.layout.kind.value == "squares"
    for kind in FIELDS:
        panel.entry.way.value = "new"
        panel.entry.layout.kind.value = kind
        panel.entry.layout.button.click()
        assert panel.message.value == "" and panel.entry.way.value == "grid"
        assert panel.entry.grid.kind == kind and re.search(r"<p>0 of \d+ cells", panel.entry.told.value)


def test_a_grid_that_is_laid_out_filled_and_read_is_what_the_file_says():
    panel = OwnBarsPanel()
    panel.entry.layout.fields["stations"].value = "0 to 100 every 50"
    panel.entry.layout.button.click()
    figures = {f"{r},{c}": str((0, 30 + 5 * c, 0)[r]) for r in range(3) for c in range(4)}
    send(panel, figures)
    panel.read_typed.click()
    assert panel.message.value == "" and "Read: 12 rows of bars" in panel.told.value
    rows = [
        f"{lower},{upper},{turned},{x},{figures[f'{r},{c}']}"
        for c, (lower, upper, turned) in enumerate(
            (("A", "B", "no"), ("A", "C", "no"), ("B", "C", "no"), ("B", "C", "yes"))
        )
        for r, x in enumerate((0, 50, 100))
    ]
    file = read_readings("\n".join(["lower,upper,turned,position_mm,gap_um", *rows]).encode())
    assert (
        panel._table.gap_um.tolist() == file.gap_um.tolist()
        and panel._table.position_mm.tolist() == file.position_mm.tolist()
    )
    assert panel._table.upper.tolist() == file.upper.tolist() and panel._table.turned.tolist() == file.turned.tolist()


def test_each_message_of_the_page_holds_all_that_was_typed_so_that_a_lost_one_loses_nothing():
    panel = OwnBarsPanel()
    loaded = panel.typed.value
    send(panel, {"0,0": "5"}, 1)
    send(panel, {"0,0": "5", "1,0": "6", "2,0": "thin"}, 3)  # the second never came
    typed = entry_grid(panel.typed.value).typed()
    assert [row[0] for row in typed[:3]] == ["5", "6", "thin"]
    assert (
        "South on North at 100 mm is &#x27;thin&#x27;" in panel.entry.told.value
        and "[&quot;2,0&quot;]" in panel.entry.told.value
    )
    drawn = shown_cells(panel)
    send(panel, {at: drawn[at] for at in ("0,0", "1,0", "2,0")}, 4)
    assert panel.typed.value == loaded and panel.draft.path is None, "all taken back is what was loaded"


def waiting(*cells: str) -> str:
    return "lower,upper,position_mm,gap_um\n" + "".join(f"# not read: {cell},\n" for cell in cells)


@pytest.mark.parametrize("pages", [("one", "two"), ("", "")], ids=["two windows", "two messages"])
def test_what_another_page_typed_stays_whoever_types_next(pages):
    """A page that is loaded again, or a second window, says nothing of the cells that the first one filled."""
    panel = OwnBarsPanel()
    panel.typed.value = waiting("A,B,0", "A,B,50")
    send(panel, {"0,0": "12"}, page=pages[0])
    send(panel, {"1,0": "34"}, page=pages[1])
    assert panel.typed.value == "lower,upper,position_mm,gap_um\nA,B,0,12\nA,B,50,34\n"
    assert OwnBarsPanel().typed.value == panel.typed.value, "the draft has both"
    assert "{&quot;0,0&quot;: &quot;12&quot;, &quot;1,0&quot;: &quot;34&quot;}" in panel.entry.told.value


def test_in_a_cell_that_two_pages_typed_into_the_later_words_count():
    panel = OwnBarsPanel()
    panel.typed.value = waiting("A,B,0", "A,B,50")

    def says(page, cells, number, since):
        send(panel, cells, number, page=page, since=since)
        return [row[0] for row in entry_grid(panel.typed.value).typed()]

    assert says("one", {"0,0": "12"}, 1, {"0,0": 1}) == ["12", ""]
    assert says("two", {"0,0": "13"}, 1, {"0,0": 1}) == ["13", ""]
    assert says("one", {"0,0": "12", "1,0": "5"}, 2, {"0,0": 1, "1,0": 2}) == ["13", "5"], "said before, not typed now"
    assert says("one", {"0,0": "12", "1,0": "5"}, 3, {"0,0": 3, "1,0": 2}) == ["12", "5"], "typed once more"


def test_a_page_that_holds_an_older_grid_is_not_heard_and_told_so():
    panel = OwnBarsPanel()
    stamp = panel.entry._stamp
    panel.typed.value = panel.typed.value.replace("North", "Northern")
    now = panel.typed.value
    assert "South on Northern" in panel.entry.grid_view.value and panel.entry._stamp > stamp
    send(panel, {"0,0": "5"}, 9, stamp)
    assert panel.typed.value == now and "look at them again" in panel.told.value


def test_text_and_grid_are_two_views_and_turning_from_one_to_the_other_changes_nothing():
    panel = OwnBarsPanel()
    text = panel.typed.value + "1,North,South,no,far,8\n# said at the end\n"
    panel.typed.value = text
    for way in ("text", "grid", "new", "text", "grid"):
        panel.entry.way.value = way
        assert panel.typed.value == text
    line = len(text.splitlines()) - 1
    assert f"Line {line} of the text cannot be shown as cells" in panel.entry.told.value
    send(panel, {"1,1": "44"})
    assert panel.typed.value.endswith("1,North,South,no,far,8\n# said at the end\n") and panel.typed.value != text
    panel.typed.value = "no table at all"
    assert "No grid: " in panel.entry.grid_view.value and panel.typed.value == "no table at all"


def test_what_was_typed_into_a_grid_comes_back_as_a_draft_and_goes_under_another_name_before_a_new_grid(beside):
    first = OwnBarsPanel()
    send(first, {"0,0": "77"})
    again = OwnBarsPanel()
    assert "Brought back" in again.draft.line.value and shown_cells(again)["0,0"] == "77"
    again.entry.layout.button.click()
    assert "my_draft_bars_put_away_1.json" in again.draft.line.value
    kept = (beside / "my_draft_bars_put_away_1.json").read_text()
    assert "North,South,no,0,77" in kept and "# not read: A,B,no,0," in again.typed.value


def test_a_field_that_cannot_be_taken_is_refused_and_what_is_there_stays():
    panel = OwnBarsPanel()
    text = panel.typed.value
    panel.entry.layout.fields["stations"].value = "here and there"
    panel.entry.layout.button.click()
    assert "stations is &#x27;here and there&#x27;" in panel.message.value and panel.typed.value == text
    panel.entry.layout.fields["stations"].value = "0 to 100 every 50"
    panel.entry.layout.unit.value = "div"
    panel.entry.layout.button.click()
    assert "the value of one division" in panel.message.value and panel.typed.value == text
    panel.entry.layout.division.value = "0,01 mm"
    panel.entry.layout.film.value = "3 um"
    panel.entry.layout.button.click()
    assert (
        panel.typed.value.startswith("# division: 0,01 mm\n# film: 3 um\n")
        and "div of 10 µm" in panel.entry.grid_view.value
    )


def test_inches_are_laid_out_in_inches_and_thou():
    panel = SurveyPanel(units="inch")
    panel.entry.layout.unit.value = "thou_ft"
    panel.entry.layout.button.click()
    assert panel.typed.value.startswith("line,station,x_in,y_in,reading_thou_ft\n")
    assert OwnBarsPanel(units="inch").entry.layout.unit.value == "thou"


@pytest.mark.parametrize("kind", FIELDS)
def test_a_card_has_a_line_for_each_row_of_the_grid_and_a_head_for_each_column(kind):
    unit = "mm_m" if UNITS_ALLOWED.get(kind) is SLOPE else "um"
    text = laid_out(kind, unit, **{field.name: field.mm for field in FIELDS[kind]})
    grid, pages = entry_grid(text), PdfReader(io.BytesIO(entry_card_pdf(text))).pages
    said = "".join("".join(page.extract_text().split()) for page in pages)
    most = 1 + len(grid.down) // 25 if grid.axes.listed else 2
    assert len(pages) <= most and "notsafetytraining" in said
    for c in range(len(grid.across)):
        assert "".join(column_words(grid, c).split()) in said
    lines = [line.strip() for page in pages for line in page.extract_text().splitlines()]
    rows = [row_words(grid, r) for r in range(len(grid.down))]
    assert sorted(line for line in lines if line in rows) == sorted(rows)


def test_a_card_is_written_beside_the_lesson_and_by_the_command(beside, capsys):
    panel = OwnBarsPanel()
    panel.entry.card.click()
    assert f"Written: {entry_box.CARD}" in panel.told.value
    assert (beside / entry_box.CARD).read_bytes().startswith(b"%PDF-")
    assert main(["cards", str(beside / "cards"), "--own", str(demo_path("demo_survey.csv")), "--inch"]) == 0
    assert [path.name for path in (beside / "cards").iterdir()] == ["demo_survey_card.pdf"]
    assert main(["cards", str(beside / "cards"), "--own", str(beside / "nothing.csv")]) == 2
    assert "nothing.csv" in capsys.readouterr().err
    panel.typed.value = "no table"
    panel.entry.card.click()
    assert "no grid shows" in panel.message.value or "without a header" in panel.message.value


def test_rows_that_a_sentence_speaks_of_are_told_as_cells():
    panel = OwnBarsPanel()
    lines = panel.typed.value.splitlines()
    at = next(k for k, line in enumerate(lines) if "North,Pole,no,100," in line)
    lines[at] = "1,North,Pole,no,100,far"
    panel.typed.value = "\n".join(lines)
    panel.read_typed.click()
    assert (
        f"row {at + 1}" in panel.message.value and f"Row {at + 1} is Pole on North at 100 mm." in panel.entry.rows.value
    )
    lines[at] = "1,North,Pole,no,100,dark"
    panel.typed.value = "\n".join(lines)
    panel.read_typed.click()
    assert panel.message.value == "" and "is Pole on North at 100 mm" in panel.entry.rows.value  # the slip of 'dark'
