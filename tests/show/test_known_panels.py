"""A body that is known already, said in the panels of own readings by keys alone."""

from datetime import UTC, datetime

import numpy as np
import pytest
from chains_read import RAIL, THREE, WAY, X

from simulate.core.refusal import Refusal
from simulate.readings.logbook.entry import DependsOn, Entry
from simulate.readings.logbook.known_bodies import known_bodies
from simulate.readings.logbook.logbook import open_logbook, save_logbook
from simulate.readings.reference.certificate import from_certificate
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import read_readings
from simulate.show.own.bars.own_bars import OwnBarsPanel
from simulate.show.own.known_box import CERTIFICATE
from simulate.show.own.plates.own_plates import OwnPlatesPanel
from simulate.show.own.squares.own_squares import OwnSquaresPanel
from simulate.show.own.workshop.own_work import OwnBedPanel, OwnEdgePanel
from simulate.show.own.workshop.own_workshop import OwnWorkshopPanel
from simulate.show.own.workshop.report_content import content


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def typed(panel, text):
    panel.typed.value = text
    panel.read_typed.click()


def known_from_certificate(panel, body, value, expanded, words=""):
    panel.known.body.value, panel.known.source.value = body, CERTIFICATE
    panel.known.value.value, panel.known.expanded.value, panel.known.words.value = value, expanded, words
    panel.known.keep.click()


def test_a_way_that_was_refused_is_solved_as_soon_as_its_straightedge_is_known():
    panel = OwnBarsPanel()
    typed(panel, WAY)
    assert "known already" in panel.message.value and "North" in panel.sentence
    assert panel.known.body.options == ("way", "edge")
    known_from_certificate(panel, "edge", 2.0, 1.0, "May")
    assert panel.message.value == "" and panel.solution.names == ("way",)
    assert "way depends on edge, known from the certificate of May" in panel.sentence
    assert "edge is known from the certificate of May" in panel.known.said.value
    panel.known.drop.click()  # without it the way is unsettled again, so it stays known, and the sentence says why
    assert "shapes of the bars unseen" in panel.message.value and panel.known.links
    panel.save.click()
    assert open_logbook("my_logbook.json")[0].depends_on == panel.known.of(read_readings(WAY.encode()))
    again = OwnBarsPanel()
    again.open.click()
    assert again.solution.names == ("way",) and "edge is known from" in again.known.said.value
    np.testing.assert_allclose(again.solution.height_um, panel.solution.height_um)


def test_a_set_of_the_logbook_is_chosen_and_inches_are_turned():
    save_logbook("my_logbook.json", [Entry(THREE, "three.csv", reading_sd_um=1.0, taken="3 May")])
    panel = OwnBarsPanel(units="inch")
    typed(panel, WAY)
    panel.known.body.value, panel.known.source.value = "edge", "A in set 1 (3 May)"
    panel.known.keep.click()
    assert panel.solution.names == ("way",) and "known from A in set 1 (3 May)" in panel.sentence
    known_from_certificate(panel, "edge", 0.1, 0.0)  # in thou
    expected = from_certificate("edge", "bars", 2.54, 0.0, x_mm=X)
    assert panel.solution.depends.references[0].sd == pytest.approx(expected.sd)


def test_the_workshop_keeps_what_a_set_depends_on_and_says_what_a_stroke_does():
    panel = OwnWorkshopPanel()
    typed(panel, THREE)
    panel.box.buttons["add"].click()
    typed(panel, WAY)
    panel.known.body.value = "edge"
    panel.known.source.value = next(w for w in panel.known.source.options if w.startswith("A in set 1"))
    panel.known.keep.click()
    assert panel.found.solution.names == ("way",)
    panel.box.buttons["add"].click()
    typed(panel, RAIL)
    for body, start in (("way", "way in set 2"), ("edge", "edge in set 2")):
        panel.known.body.value = body
        panel.known.source.value = next(w for w in panel.known.source.options if w.startswith(start))
        panel.known.keep.click()
    assert panel.found.solution.names == ("rail",)
    panel.box.buttons["add"].click()
    book = open_logbook("my_logbook.json")
    assert [len(entry.depends_on) for entry in book] == [0, 1, 2]
    chapters = content(book).chapters
    assert len(chapters) == 3
    said = " ".join(s for chapter in chapters for part in chapter.parts for s in part.sentences)
    assert "rail depends on way, known from way in set 2" in said
    panel.box.list.index = 0
    panel.box.buttons["strike"].click()
    assert "Sets 2 and 3 depend on it and are not worked out" in panel.box.said.value
    struck = content(open_logbook("my_logbook.json")).chapters
    assert [chapter.heading.split(": ")[1] for chapter in struck] == ["not worked out", "not worked out"]
    assert "struck out" in struck[0].parts[0].sentences[0]


SQUARES = demo_path("demo_squares.csv").read_text()
for one, other in (("Ash", "A"), ("Elm", "B"), ("Yew", "C")):
    SQUARES = SQUARES.replace(one, other)
OTHERS = {  # the same names, of another body or of another kind
    "upload": THREE,
    "path": THREE,
    "kind": SQUARES,
}


@pytest.mark.parametrize("way", OTHERS)
def test_a_certificate_does_not_pass_to_readings_of_another_source_and_that_is_said(way, tmp_path):
    panel = OwnWorkshopPanel()
    typed(panel, THREE)
    known_from_certificate(panel, "A", 5.0, 1.0, "May")
    assert panel.known.of(panel._table)
    if way == "upload":
        panel.upload.value = ({"name": "next.csv", "type": "", "size": 1, "content": OTHERS[way].encode(),
                               "last_modified": datetime.now(UTC)},)  # fmt: skip
    elif way == "path":
        (tmp_path / "next.csv").write_text(OTHERS[way])
        panel.path.value = "next.csv"
        panel.read_path.click()
    else:
        typed(panel, OTHERS[way])
    assert panel.message.value == "" and panel._table.names == ("A", "B", "C")
    assert panel.known.of(panel._table) == () and "No longer taken as known: A." in panel.told.value
    assert "known" not in panel.known.said.value


def test_figures_that_are_typed_on_keep_what_is_known_and_an_example_does_not():
    panel = OwnWorkshopPanel()
    typed(panel, THREE)
    known_from_certificate(panel, "A", 5.0, 1.0, "May")
    typed(panel, THREE + "# looked at again\n")
    assert [one.body for one in panel.known.of(panel._table)] == ["A"]
    panel.controls["example"].value = "bars"
    assert not panel.known.links and "No longer taken as known: A." in panel.told.value


def test_a_body_known_among_one_kind_is_refused_among_another():
    table = read_readings(OTHERS["kind"].encode())
    with pytest.raises(Refusal, match="A is taken as known among bars, and here one of squares"):
        known_bodies(table, (DependsOn(body="A", value=3.0, expanded=1.0, kind="bars"),), ())
    assert known_bodies(table, (DependsOn(body="A", value=3.0, expanded=1.0),), ())[0].name == "A"  # an older logbook


def test_the_kind_of_a_known_body_is_kept_and_older_files_say_none(tmp_path):
    panel = OwnWorkshopPanel()
    typed(panel, THREE)
    known_from_certificate(panel, "A", 5.0, 1.0, "May")
    panel.box.buttons["add"].click()
    assert open_logbook("my_logbook.json")[0].depends_on[0].kind == "bars"
    assert '"version": 5' in (tmp_path / "my_logbook.json").read_text()
    save_logbook("old.json", [Entry(THREE, depends_on=(DependsOn(body="A", value=5.0, expanded=1.0),))])
    assert '"version": 3' in (tmp_path / "old.json").read_text() and "kind" not in (tmp_path / "old.json").read_text()
    assert open_logbook("old.json")[0].depends_on[0].kind == ""


def test_a_set_cannot_be_made_known_from_itself():
    panel = OwnWorkshopPanel()
    typed(panel, THREE)
    panel.box.buttons["add"].click()
    panel.known.follow(panel._table)
    panel.known.body.value = "B"
    panel.known.source.value = next(w for w in panel.known.source.options if w.startswith("A in set 1"))
    panel.known.keep.click()
    assert "known from itself" in panel.message.value and not panel.known.links


def test_plates_and_squares_take_a_certificate():
    squares = OwnSquaresPanel()
    first = squares.solution.names[0]
    known_from_certificate(squares, first, 10.0, 4.0)
    assert first not in squares.solution.names and f"depends on {first}" in squares.sentence.replace(
        "depend on", "depends on"
    )
    plates = OwnPlatesPanel()
    first = plates.found.solution.names[0]
    known_from_certificate(plates, first, 4.0, 1.0)
    assert first not in plates.found.solution.names and first in plates.sentence


def test_a_plate_by_straightedge_and_a_bed_take_a_straightedge_of_the_logbook_or_a_certificate():
    panel = OwnEdgePanel()
    assert panel.known.body.options == ("the straightedge", "the plate")
    before = panel.found.solution.heights.sd_um.mean()
    known_from_certificate(panel, "the straightedge", 5.0, 2.0, "May")
    assert panel.message.value == "", panel.message.value
    assert panel.found.solution.depends is not None and panel.found.solution.heights.sd_um.mean() > before
    assert "known from the certificate of May" in panel.tables.value
    panel.box.buttons["add"].click()
    saved = open_logbook("my_logbook.json")[-1]
    assert saved.depends_on[0].body == "the straightedge"
    panel.known.drop.click()
    assert panel.found.solution.depends is None
    typed(panel, THREE)
    panel.box.buttons["add"].click()
    assert any(words.startswith("A in set 2") for words in panel.known.source.options)  # as soon as it is kept
    bed = OwnBedPanel()
    bed.box.buttons["open"].click()
    typed(bed, demo_path("demo_bed.csv").read_text())
    assert bed.known.body.options[0] == "the straightedge" and "front" in bed.known.body.options
    bed.known.body.value = "the straightedge"
    assert any(words.startswith("A in set 2") for words in bed.known.source.options)
    assert any(words.startswith("line") for words in bed.known.source.options)


def test_squares_take_the_flat_from_a_survey_of_the_logbook_and_not_from_a_certificate():
    text = demo_path("demo_survey.csv").read_text()
    save_logbook("my_logbook.json", [Entry(text, "survey.csv", taken="5 May")])
    panel = OwnSquaresPanel()
    before = panel.solution.angle_urad
    assert panel.known.body.value != "the flat" and panel.known.body.options[-1] == "the flat"
    panel.known.body.value = "the flat"
    assert panel.known.source.options == ("the plate in set 1 (5 May)", CERTIFICATE)
    panel.known.source.value = CERTIFICATE
    panel.known.keep.click()
    assert "known from a set of the logbook" in panel.message.value and not panel.known.links
    panel.known.source.value = "the plate in set 1 (5 May)"
    panel.known.keep.click()
    assert panel.message.value == "", panel.message.value
    assert np.ptp(panel.solution.angle_urad - before) < 1e-6 < np.abs(panel.solution.angle_urad - before).max()
    assert "the flat" in panel.known.said.value
