"""Your own workshop: readings of every kind through the panel, refusals in sentences, a logbook that keeps
everything."""

import datetime
import io
import json
import re

import ipywidgets as widgets
import numpy as np
import pytest
from bs4 import BeautifulSoup
from PIL import Image

from simulate.readings.logbook.entry import Entry, history
from simulate.readings.logbook.logbook import open_logbook, save_logbook
from simulate.readings.logbook.standing import job_standing
from simulate.readings.table.demo import demo_path
from simulate.readings.table.readings import KINDS
from simulate.show.own.readings_panel import LIMIT_BYTES
from simulate.show.own.stated import FOUND
from simulate.show.own.workshop.own_workshop import EXAMPLES, OwnWorkshopPanel

BARS = "lower,upper,position_mm,gap_um\n" + "".join(
    f"{a},{b},{x},{g}\n"
    for (a, b), g3 in ((("A", "B"), (4, 0, 4)), (("A", "C"), (2, 0, 2)), (("B", "C"), (2, 0, 2)))
    for x, g in zip((0, 50, 100), g3)
)

SQUARES = "lower,upper,height_mm,gap_um\n" + "".join(
    f"{pair},{h},{g * h / 100}\n" for pair, g in (("A,B", 4), ("A,C", 2), ("B,C", 2)) for h in (0, 100, 200)
)
"""A and B lean by 20 microradians, C by none."""


@pytest.fixture
def panel(tmp_path):
    made = OwnWorkshopPanel(example="wedge", logbook=str(tmp_path / "book.json"), units="mm")
    made.box.folder.value = str(tmp_path / "report")
    return made


def typed(panel, text):
    panel.typed.value = text
    panel.read_typed.click()
    assert panel.message.value == ""


def send(panel, data, name="mine.csv"):
    panel.upload.value = (
        {
            "name": name,
            "type": "text/csv",
            "size": len(data),
            "content": memoryview(data),
            "last_modified": datetime.datetime(2026, 1, 1),
        },
    )


def press(panel, *names):
    for name in names:
        panel.box.buttons[name].click()
        assert panel.message.value == "", panel.message.value


def said(panel):
    return BeautifulSoup(panel.box.said.value, "html.parser").get_text()


# -- every kind --------------------------------------------------------------------------------------------------------


def test_there_is_an_invented_example_of_every_kind_and_it_says_so(panel):
    assert set(EXAMPLES) == set(KINDS)
    pictures = set()
    for kind in EXAMPLES:
        panel.controls["example"].value = kind
        assert panel.message.value == "" and panel.found.kind == kind
        assert panel.sentence.startswith("Invented example.")
        assert Image.open(io.BytesIO(panel.png)).width == 1280
        shown = BeautifulSoup(panel.tables.value, "html.parser")
        heads = [h.get_text() for h in shown.find_all("h3")]
        assert {"What the readings say", "What is not known", "What to read next", "Cautions"} <= set(heads)
        assert shown.find("table") and all(th["scope"] for th in shown.find_all("th"))
        assert all(img["alt"] for img in shown.find_all("img"))
        pictures.add(panel.png)
    assert len(pictures) == len(EXAMPLES)


@pytest.mark.parametrize("kind", EXAMPLES)
def test_an_example_can_be_typed_back_in_inches_and_says_the_same(kind, tmp_path):
    panel = OwnWorkshopPanel(example=kind, logbook=str(tmp_path / "b.json"), units="inch")
    rows = panel.found.rows
    assert "thou" in panel.tables.value and "thou" in panel.sentence
    typed(panel, panel.typed.value + "\n")
    assert panel.controls["example"].value == "" and "Invented" not in panel.sentence and panel.found.rows == rows


def test_a_table_pasted_from_a_spreadsheet_is_read(panel):
    typed(panel, BARS.replace(",", "\t"))
    assert panel.found.kind == "bars"
    # a = (ab + ac - bc) / 2 by hand: bow 2 um of A and of B, none of C
    assert np.allclose(panel.found.solution.straightness_um, [2, 2, 0], atol=1e-6)


def test_the_round_menu_holds_the_rounds_of_the_file(panel):
    panel.controls["example"].value = "lands"
    assert list(panel.controls["round"].options) == [("the last", 0), ("1", 1), ("2", 2)]
    assert panel.found.round == 2 and "Round 2 of 1, 2." in panel.sentence
    panel.controls["round"].value = 1
    assert panel.found.round == 1 and "One round so far" in panel.beside.told.value
    panel.controls["round"].value = 0
    assert "After 1 round your worst" in panel.beside.told.value
    panel.controls["example"].value = "squares"
    assert [value for _, value in panel.controls["round"].options] == [0, 1] and panel.controls["round"].value == 0


def test_spread_and_target_are_in_the_unit_of_the_readings(tmp_path):
    panel = OwnWorkshopPanel(example="squares", logbook=str(tmp_path / "b.json"), units="inch")
    assert panel.controls["reading_sd"].description == "Repeatability of a reading (thou)"
    typed(panel, SQUARES)
    panel.controls["reading_sd"].value, panel.controls["target"].value = 0.01, 0.2
    assert panel.message.value == "" and np.isclose(panel.found.solution.reading_sd_um, 0.254)
    assert "Stop" in panel.found.stop.sentence and "5.08 um" in panel.found.stop.sentence
    panel.controls["example"].value = "union jack"
    assert panel.controls["reading_sd"].description == "Repeatability of a reading (arcsec)"
    assert panel.values()["reading_sd"] is None, "a spread in thou says nothing of an autocollimator"
    panel.controls["reading_sd"].value = 0.5
    assert np.isclose(panel.found.solution.reading_sd_arcsec, 0.5)
    panel.controls["example"].value = "wedge"
    assert panel.controls["reading_sd"].disabled


@pytest.mark.parametrize("name, value", [("reading_sd", -1.0), ("target", -3.0), ("reading_sd", float("nan"))])
def test_an_impossible_setting_is_refused_and_the_picture_stays(panel, name, value):
    typed(panel, SQUARES)
    before = panel.png, panel.sentence
    panel.controls[name].value = value
    assert "Not possible: " in panel.message.value and (panel.png, panel.sentence) == before
    panel.controls[f"{name}_given"].value = False
    assert panel.message.value == "" and panel.values()[name] is None


# -- bad input ---------------------------------------------------------------------------------------------------------

BAD = {
    "empty": b"",
    "words": b"lower,upper,position_mm,gap_um\nA,B,0,wide\n",
    "binary": bytes(range(256)) * 4,
    "one pair": b"lower,upper,position_mm,gap_um\nA,B,0,1\nA,B,50,0\nA,B,100,1\n",
    "too large": b"#" * (LIMIT_BYTES + 1),
    "no threshold": b"gap_um,looks,seen\n1,10,0\n2,10,10\n",
    "a hole in a line": b"line,station,x_mm,y_mm,reading_arcsec\na,0,0,0,\na,2,2,0,1\n",
    "decimal comma": b'lower,upper,position_mm,gap_um\nA,B,0,"1,5"\n',
}


@pytest.mark.parametrize("data", BAD.values(), ids=BAD.keys())
def test_a_bad_file_is_refused_in_a_sentence_and_nothing_is_lost(panel, data):
    typed(panel, SQUARES)
    before = panel.png, panel.sentence, panel.tables.value, panel.typed.value, panel.found
    send(panel, data)
    sentence = BeautifulSoup(panel.message.value, "html.parser").get_text()
    assert sentence.startswith("Not possible: ") and "Traceback" not in sentence and "\n" not in sentence.strip()
    assert (panel.png, panel.sentence, panel.tables.value, panel.typed.value, panel.found) == before
    panel.controls["target"].value = 1.0
    assert panel.message.value == "" and panel.found.kind == "squares"


def test_a_bad_file_leaves_every_control_as_it_was(panel):
    panel.controls["example"].value = "lands"
    panel.controls["round"].value = 1
    panel.controls["target"].value = 2.0
    before = {name: control.value for name, control in panel.controls.items()}
    send(panel, BAD["words"])
    assert "Not possible: " in panel.message.value
    assert {name: control.value for name, control in panel.controls.items()} == before
    assert panel.sentence.startswith("Invented example. Round 1 of 1, 2.")


def test_what_is_typed_and_refused_stays_in_the_field_to_be_mended(panel):
    panel.typed.value = SQUARES.replace("0,0.0", "0,wide", 1)
    panel.read_typed.click()
    assert "row 2" in panel.message.value and "wide" in panel.message.value and "wide" in panel.typed.value
    panel.box.buttons["add"].click()
    assert "wide" in panel.message.value and panel.box.entries == [], "half a thing is never put into the logbook"


def test_a_file_that_is_not_there_is_refused_at_once():
    with pytest.raises((ValueError, OSError), match="nowhere.csv"):
        OwnWorkshopPanel("nowhere.csv")
    with pytest.raises(ValueError, match="example is 'rods'; it must be 'bars'"):
        OwnWorkshopPanel(example="rods")


# -- the logbook -------------------------------------------------------------------------------------------------------


def test_add_edit_strike_history_and_back_are_all_kept_in_the_file(panel, tmp_path):
    box = panel.box
    typed(panel, SQUARES)
    box.note.value, box.taken.value = "cold shop", "Monday"
    press(panel, "add")
    assert said(panel) == "Added. 1 set in book.json."
    typed(panel, SQUARES.replace("A,B,100,4.0", "A,B,100,5.0"))
    box.note.value = "read again"
    press(panel, "edit")
    press(panel, "strike")
    assert "STRUCK OUT" in box.list.options[0] and "edited 2 times" in box.list.options[0]
    press(panel, "strike")
    assert len(box.wordings.options) == 4 and "cold shop" in box.wordings.options[0]
    box.wordings.index = 0
    press(panel, "back")
    assert panel.typed.value == SQUARES and box.note.value == "cold shop"
    [entry] = open_logbook(tmp_path / "book.json")
    assert [w.note for w in history(entry)] == ["cold shop", "read again", "read again", "read again", "cold shop"]
    assert entry.readings == SQUARES and entry.taken == "Monday" and not entry.struck
    typed(panel, panel.typed.value)
    press(panel, "add")
    assert len(open_logbook(tmp_path / "book.json")) == 2 or "It is there already" in said(panel)


def test_what_was_saved_opens_in_another_notebook_with_its_settings(panel, tmp_path):
    panel.controls["example"].value = "union jack"
    panel.controls["reading_sd"].value = 0.4
    panel.box.note.value = "evening"
    press(panel, "save")
    other = OwnWorkshopPanel(example="wedge", logbook=panel.box.file.value, units="inch")
    press(other, "open")
    assert (
        other.found.kind == "union jack"
        and other.controls["reading_sd"].value == 0.4
        and other.box.note.value == "evening"
    )
    assert other.found.rows == panel.found.rows
    assert "1. survey along eight lines, 70 rows, demo_survey.csv" in other.box.list.options[0]


def test_feel_place_and_step_go_into_the_findings_the_logbook_the_report_and_come_back(panel, tmp_path):
    panel.controls["example"].value = "bars"
    free = panel.found.rows
    said = {"feel_um": 20.0, "place_mm": 5.0}
    for name, value in said.items():
        panel.controls[name].value = value
    assert panel.found.rows != free and panel.found.solution.feel_um == pytest.approx(20, rel=0.1)
    press(panel, "save", "report")
    assert (
        "As stated: feel of blades 20 µm, place of a blade 5 mm." in (tmp_path / "report" / "report.html").read_text()
    )
    other = OwnWorkshopPanel(example="wedge", logbook=panel.box.file.value, units="inch")
    assert other.controls["feel_um"].disabled and other.controls["place_mm"].disabled
    press(other, "open")
    assert {name: other.controls[name].value for name in said} == said and other.found.rows == panel.found.rows
    typed(other, SQUARES)
    assert other.controls["feel_um"].value == FOUND and other.controls["place_mm"].disabled


SURVEY = demo_path("demo_survey.csv").read_text(encoding="utf-8")
FLATTER = re.sub(r",([0-9.]+)$", lambda m: f",{120 + (float(m[1]) - 120) / 3:.2f}", SURVEY, flags=re.MULTILINE)
"""The same lines with a third of the slopes."""


def test_two_plates_that_are_typed_without_a_name_are_two_plates_and_no_rounds_of_one(panel):
    typed(panel, SURVEY)
    press(panel, "add")
    assert "It has no name, so no later round can belong to it" in said(panel)
    typed(panel, FLATTER)
    press(panel, "add")
    assert panel.found.progress is None and len(job_standing(panel.box.entries)) == 2


def test_sets_of_one_name_are_rounds_of_one_work_and_those_of_another_are_not(panel):
    typed(panel, SURVEY)
    panel.box.work.value = "front plate"
    press(panel, "add")
    assert "no name" not in said(panel) and panel.box.entries[0].name == "front plate"
    typed(panel, FLATTER)
    panel.box.work.value = "Front  plate"
    press(panel, "add", "show")
    assert panel.found.progress.rounds.size == 2 and len(job_standing(panel.box.entries)) == 1
    panel.box.work.value = "back plate"
    press(panel, "edit")
    assert "Set 1 may be of the same work under another name" in said(panel)
    press(panel, "show")
    assert panel.found.progress is None and len(job_standing(panel.box.entries)) == 2
    assert [was.name for was in history(panel.box.entries[1])] == ["Front plate", "back plate"]


def test_two_notebooks_on_one_logbook_keep_both_and_say_so(panel):
    other = OwnWorkshopPanel(example="wedge", logbook=panel.box.file.value, units="mm")
    typed(panel, SQUARES)
    press(panel, "add")
    other.controls["example"].value = "lands"
    press(other, "add")
    assert "Another notebook had saved 1 set or edit in the meantime; it was kept, beside yours." in said(other)
    assert [o.split(",")[0] for o in other.box.list.options] == [
        "1. squares",
        "2. land gauges along a bar",
    ] and other.box.list.index == 1
    assert len(open_logbook(panel.box.file.value)) == 2


def test_a_disk_that_refuses_leaves_the_entry_in_the_list_to_be_saved_elsewhere(panel, tmp_path):
    typed(panel, SQUARES)
    panel.box.file.value = str(tmp_path / "no" / "book.json")
    panel.box.buttons["add"].click()
    assert "book.json was not saved" in panel.message.value and len(panel.box.entries) == 1
    panel.box.file.value = str(tmp_path / "book.json")
    press(panel, "save")
    assert open_logbook(tmp_path / "book.json")[0].readings == SQUARES and panel.message.value == ""


def test_a_damaged_logbook_gives_what_is_whole_and_stays_as_it_is(panel, tmp_path):
    path = tmp_path / "book.json"
    save_logbook(path, [Entry(SQUARES, "a.csv"), Entry(SQUARES, "b.csv", note="second")])
    torn = path.read_bytes()[:-40]
    path.write_bytes(torn)
    press(panel, "open")
    assert "book.json is damaged: 1 set of readings in it is whole" in said(panel)
    assert panel.box.file.value.endswith("book_rescued.json") and panel.found.kind == "squares"
    press(panel, "save")
    assert path.read_bytes() == torn and len(open_logbook(tmp_path / "book_rescued.json")) == 1


@pytest.mark.parametrize(
    "data, words",
    [
        (b"", "is damaged"),
        (b"{}", "is not a logbook"),
        (json.dumps({"format": "three-bar logbook", "version": 9, "entries": []}).encode(), "Update the course"),
    ],
)
def test_what_is_no_logbook_is_refused_in_a_sentence(panel, tmp_path, data, words):
    (tmp_path / "book.json").write_bytes(data)
    panel.box.buttons["open"].click()
    assert words in panel.message.value and panel.box.entries == []
    panel.box.buttons["show"].click()
    assert (
        "the list of sets holds no chosen set" in panel.message.value and panel.box.said.value == panel.message.value
    ), "said where the button is, too"


def test_progress_counts_the_sets_that_stand_before(panel):
    for left in (1, 0.4, 0.16):
        typed(
            panel,
            "lower,upper,height_mm,gap_um\n"
            + "".join(
                f"{pair},{h},{left * g * h / 100}\n"
                for pair, g in (("A,B", 4), ("A,C", 2), ("B,C", 2))
                for h in (0, 100, 200)
            ),
        )
        press(panel, "add")
    # each round leaves 0.4 of every angle by hand: a share of 70 %
    assert abs(panel.found.progress.factor - 0.4) < 1e-6 and "70 % of the metal of" in panel.beside.told.value
    panel.box.list.index = 1
    press(panel, "show")
    assert panel.found.progress.rounds.tolist() == [0, 1]
    panel.box.list.index = 0
    press(panel, "show", "strike")
    panel.box.list.index = 2
    press(panel, "show")
    assert panel.found.progress.rounds.tolist() == [0, 1], "what is struck out counts for nothing"


def test_the_report_holds_every_set_and_is_written_from_the_panel(panel, tmp_path):
    for kind in ("wedge", "squares"):
        panel.controls["example"].value = kind
        press(panel, "add")
    press(panel, "report")
    page = (tmp_path / "report" / "report.html").read_text()
    assert (
        "1. demo_wedge.csv" in page and "2. demo_squares.csv" in page and (tmp_path / "report" / "report.pdf").exists()
    )
    assert "report.html" in said(panel)
    panel.box.folder.value = str(tmp_path / "no" / "where")
    panel.box.buttons["report"].click()
    assert "report.html was not saved" in panel.message.value


def test_every_field_has_a_label_and_every_button_words(panel):
    fields = [
        w
        for w in walk(panel.view)
        if isinstance(w, (widgets.Text, widgets.Textarea, widgets.Select, widgets.Dropdown, widgets.FloatText))
    ]
    buttons = [w for w in walk(panel.view) if isinstance(w, (widgets.Button, widgets.FileUpload))]
    assert len(fields) >= 17 and len(buttons) == 21
    assert all(w.description for w in fields + buttons) and len({b.description for b in buttons}) == 21


def walk(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from walk(child)


def test_the_stored_panel_names_no_place_of_this_machine(panel):
    data, _ = panel._repr_mimebundle_()
    assert not re.search(r"/(tmp|home|root)/", data["text/plain"])


def test_the_spread_of_slopes_is_given_in_the_unit_of_their_file(tmp_path):
    panel = OwnWorkshopPanel(example="level", logbook=str(tmp_path / "b.json"))
    assert panel.controls["reading_sd"].description == "Repeatability of a reading (arcsec)"
    panel.controls["reading_sd"].value = 2.0
    asked = panel.found.solution.heights.spreads.sd[0]
    rows = ["line,station,x_mm,y_mm,reading_mm_m"]
    rows += [
        f"{name},{k},{100 * k},{y},{0.01 * k if k else ''}" for name, y in (("a", 0), ("b", 200)) for k in range(4)
    ]
    typed(panel, "\n".join(rows) + "\n")
    assert panel.controls["reading_sd"].description == "Repeatability of a reading (mm/m)"
    # 2 seconds of arc are 2 pi / 648 mm in a metre
    assert panel.controls["reading_sd"].value == pytest.approx(2 * np.pi / 648, rel=1e-4)
    assert panel.found.solution.heights.spreads.sd[0] == pytest.approx(asked, rel=1e-4) == pytest.approx(2.0, rel=1e-4)
    panel.controls["reading_sd"].value = 0.02
    press(panel, "add")
    panel.controls["example"].value = "bars"
    assert panel.values()["reading_sd"] is None
    entry = panel.box.entries[-1]
    assert entry.reading_sd_um == pytest.approx(0.02 * 648 / np.pi, rel=1e-6)
    panel._show(entry)
    assert panel.controls["reading_sd"].value == pytest.approx(0.02, rel=1e-6)
