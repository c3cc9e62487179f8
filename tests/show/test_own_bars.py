"""The learner's own bars: readings come in three ways, refusals are sentences, and nothing is lost."""

import datetime
import io
from itertools import combinations

import numpy as np
import pytest
from PIL import Image

from simulate.readings.table.demo import demo_path
from simulate.show.own.bars.own_bars import LIMIT_BYTES, OwnBarsPanel
from simulate.show.own.pictures.finding_pictures import simulated_bars
from simulate.show.own.workshop.own_workshop import OwnWorkshopPanel


@pytest.fixture
def panel(tmp_path):
    return OwnBarsPanel(logbook=str(tmp_path / "book.json"))


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


def demo(name):
    with open(demo_path(name), "rb") as opened:
        return opened.read()


def test_the_demo_is_said_to_be_invented(panel):
    assert panel.sentence.startswith("Demo file, invented readings. North is the best bar")
    assert Image.open(io.BytesIO(panel.png)).size == (1280, 560)


def test_the_panel_says_where_to_file_which_bar_is_best_what_to_read_next_and_whether_to_stop(panel):
    panel.controls["reading_sd_um"].value = 2.0
    for words in ("file from", "By these readings North is the straightest now", "Read ", "Go on:"):
        assert words in panel.sentence


def test_an_uploaded_file_is_solved_and_its_intervals_give_bounds(panel):
    before = panel.png
    assert panel.solution.low_um is None
    send(panel, demo("demo_bars_light.csv"))
    assert panel.message.value == "" and panel.png != before
    assert (panel.solution.low_um <= panel.solution.height_um).all()
    assert "invented" not in panel.sentence


def test_typed_readings_are_solved(panel):
    gaps = {"A,B": (4, 0, 4), "A,C": (2, 0, 2), "B,C": (2, 0, 2)}
    rows = [f"{pair},{x},{g}" for pair, read in gaps.items() for x, g in zip((0, 50, 100), read)]
    panel.typed.value = "\n".join(["lower,upper,position_mm,gap_um", *rows])
    panel.read_typed.click()
    assert panel.message.value == "" and panel.solution.names == ("A", "B", "C")
    # a = (ab + ac - bc) / 2 by hand: bow 2 um of A and of B, none of C
    assert np.allclose(panel.solution.straightness_um, [2, 2, 0], atol=1e-6)


def test_a_file_is_read_by_its_path(panel, tmp_path):
    (tmp_path / "shop.csv").write_bytes(demo("demo_bars_light.csv"))
    panel.path.value = str(tmp_path / "shop.csv")
    panel.read_path.click()
    assert panel.message.value == "" and panel.solution.low_um is not None


BAD = {
    "empty": b"",
    "words": b"lower,upper,position_mm,gap_um\nA,B,0,wide\n",
    "one pair": b"lower,upper,position_mm,gap_um\nA,B,0,1\nA,B,50,0\nA,B,100,1\n",
    "binary": bytes(range(256)) * 4,
    "too large": b"#" * (LIMIT_BYTES + 1),
    "itself": b"lower,upper,position_mm,gap_um\nA,A,0,1\n",
}


@pytest.mark.parametrize("data", BAD.values(), ids=BAD.keys())
def test_a_bad_file_is_refused_in_a_sentence_and_what_was_there_stays(panel, data):
    picture, sentence, solution = panel.picture.value, panel.sentence, panel.solution
    send(panel, data)
    assert "Not possible: " in panel.message.value and "Traceback" not in panel.message.value
    assert panel.picture.value == picture and panel.sentence == sentence and panel.solution is solution
    panel.controls["target_um"].value = 100
    assert panel.message.value == "" and "North" in panel.sentence


def test_a_path_to_nothing_is_refused(panel):
    for path in ("nowhere.csv", "", "/", "a\0b"):
        panel.path.value = path
        panel.read_path.click()
        assert "Not possible: " in panel.message.value


def test_every_control_answers_at_both_ends(panel):
    send(panel, demo("demo_bars_light.csv"), "light.csv")  # blades have a feel and a place
    swept = 0
    for name, widget in panel.controls.items():
        if name in ("reading_sd_um", "reading_sd_um_given", "target_um_given", "resolution_um"):
            continue  # of gaps read as numbers: swept below
        said, first = set(), widget.value
        ends = {"whole": (False, True), "feel_um": (0.0, 20.0)}
        for value in ends[name] if name in ends else (widget.min, widget.max):
            widget.value = value
            assert panel.message.value == ""
            said.add((panel.sentence, panel.png))
        assert len(said) == 2, name
        widget.value = first
        swept += 1
    assert swept == 4
    panel.controls["target_um"].value = 500
    assert "within 500" in panel.sentence
    panel.controls["target_um_given"].value = False
    assert "within 500" not in panel.sentence and panel.values()["target_um"] is None
    send(panel, demo("demo_bars.csv"), "points.csv")
    assert "No band is drawn" in panel.sentence
    panel.controls["reading_sd_um"].value = 200
    for words in ("the repeatability of a reading is 200 µm", "each station by itself 95 times in 100"):
        assert words in panel.sentence


def test_a_logbook_is_saved_and_opened_again(panel):
    send(panel, demo("demo_bars_light.csv"), "light.csv")
    panel.note.value = "cold shop"
    panel.save.click()
    assert "Saved: 1 set of readings" in panel.said.value
    other = OwnBarsPanel(logbook=panel.logbook.value)
    other.open.click()
    assert other.message.value == "" and other.note.value == "cold shop"
    assert np.array_equal(other.solution.height_um, panel.solution.height_um)


def test_a_logbook_that_is_not_there_is_refused_in_a_sentence(panel):
    panel.open.click()
    assert "Not possible: book.json" in panel.message.value


def test_a_refused_argument_names_the_file():
    with pytest.raises((ValueError, OSError), match="nowhere.csv"):
        OwnBarsPanel("nowhere.csv")


def test_a_logbook_with_other_kinds_opens_at_its_last_set_of_bars(panel):
    from simulate.readings.logbook.logbook import Entry, edited, save_logbook

    light, wedge = (Entry(demo(name).decode(), name) for name in ("demo_bars_light.csv", "demo_wedge.csv"))
    save_logbook(panel.logbook.value, [light, wedge, edited(Entry(demo("demo_bars.csv").decode()), struck=True)])
    panel.open.click()
    assert panel.message.value == "" and panel.solution.low_um is not None and len(panel.entries) == 3
    save_logbook(panel.logbook.value, [edited(light, struck=True)])
    panel.open.click()
    assert "no set of bars that counts" in panel.message.value and panel.solution.low_um is not None


def rounds_of_bars(start=120.0, left=0.4, rounds=3):
    """Sets of readings of three bars of which every round leaves the same part."""
    sets = []
    for k in range(rounds):
        x, u = np.linspace(0, 400, 9), np.linspace(-1, 1, 9)
        bodies = [start * left**k * part * u**2 for part in (1.0, -0.4, 0.5)]
        rows = ["round,lower,upper,position_mm,gap_um"]
        for (i, a), (j, b) in combinations(enumerate(bodies), 2):
            gap = -(a + b)
            rows += [f"{k},{'ABC'[i]},{'ABC'[j]},{at:g},{g:.2f}" for at, g in zip(x, gap - gap.min())]
        sets.append("\n".join(rows) + "\n")
    return sets


def test_sets_saved_in_lesson_23_are_rounds_in_lesson_06_and_the_other_way(tmp_path):
    book, sets = str(tmp_path / "book.json"), rounds_of_bars()
    all_kinds, six = OwnWorkshopPanel(logbook=book), OwnBarsPanel(logbook=book)
    for text in sets[:2]:
        all_kinds.typed.value = text
        all_kinds.box.buttons["add"].click()
    six.open.click()
    assert six.found.progress.rounds.tolist() == [0, 1] and "after 1 round of filing" in six.said.value
    six.typed.value = sets[2].replace(",A,", ",a,")
    six.save.click()
    assert six.message.value == "" and six.found.progress.rounds.tolist() == [0, 1, 2]
    assert [slip.kind for slip in six.found.slips] == ["names joined"] and "taken as one name" in six.slips.value
    all_kinds.box.buttons["open"].click()
    np.testing.assert_allclose(all_kinds.found.progress.form_um, six.found.progress.form_um)


@pytest.mark.parametrize("left", [0.15, 0.4, 0.75])
def test_lesson_06_compares_with_workshops_that_share_as_the_learner_does_as_lesson_23_does(tmp_path, left):
    book = str(tmp_path / "book.json")
    six, all_kinds = OwnBarsPanel(logbook=book), OwnWorkshopPanel(logbook=book)
    for text in rounds_of_bars(left=left):
        six.typed.value = text
        six.save.click()
    all_kinds.box.buttons["open"].click()
    (band, share), (other, same) = simulated_bars(six.found), simulated_bars(all_kinds.found)
    assert share == same == pytest.approx((1 + left) / 2, abs=0.02) and np.array_equal(band.value_um, other.value_um)
    assert f"share every split as your own rounds do, {100 * share:.0f} to {100 * (1 - share):.0f}" in six.sentence
    assert "worse than nine" not in six.sentence, "who shares so is no worse than others who share so"


def test_two_rounds_that_tell_no_share_are_held_against_an_even_one_and_that_is_said(tmp_path):
    six = OwnBarsPanel(logbook=str(tmp_path / "book.json"))
    for text in rounds_of_bars(left=1.1, rounds=2):
        six.typed.value = text
        six.save.click()
    assert "share every split evenly, which yours may not" in six.sentence
