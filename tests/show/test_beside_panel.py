"""Own rounds beside simulated workshops, as the panels show them."""

import html
import re

import pytest

from simulate.readings.findings import findings
from simulate.readings.rounds.beside import Without
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import read_readings
from simulate.show.own.beside_words import ONE_ROUND, beside_words
from simulate.show.own.lands.own_lands import OwnLandsPanel
from simulate.show.own.squares.own_squares import OwnSquaresPanel
from simulate.show.own.survey.own_survey import SurveyPanel
from simulate.show.own.workshop.own_workshop import OwnWorkshopPanel
from simulate.show.own.workshop.report_content import finding_parts, rounds_part


def words(panel):
    return html.unescape(re.sub(r"<[^>]+>", " ", panel.beside.told.value))


@pytest.fixture
def lands(tmp_path):
    return OwnWorkshopPanel(example="lands", logbook=str(tmp_path / "book.json"))


def test_two_rounds_are_laid_beside_simulated_workshops_and_the_sentence_says_what_is_assumed(lands):
    said = words(lands)
    assert "After 1 round your worst, 2.4 µm, lies inside the band. Of 500 simulated workshops" in said
    assert "take off 97 % of what they read in each round, as your own 2 figures show" in said
    assert "read each error to ±" in said and "with hands that" in said
    assert lands.beside.told.value.count("<img") == 1 and lands.beside.lists.layout.display == ""
    assert "Progress over your rounds" not in lands.tables.value, "told once, and under the answer"


def test_a_share_that_is_stated_is_what_the_simulated_workshops_take(lands):
    lands.beside.share.value = 0.5
    said = words(lands)
    assert "lies below the band" in said and "take off 50 % of what they read in each round, as you stated" in said
    lands.beside.hands.value = 20.0
    assert "hands that leave 20 µm at each place" in words(lands)
    lands.controls["example"].value = "head"
    lands.controls["example"].value = "lands"
    assert "as you stated" in words(lands), "what was chosen stays"


@pytest.mark.parametrize("example", ["head", "joint", "one square"])
def test_one_round_says_how_a_second_one_comes_to_be_compared(tmp_path, example):
    panel = OwnWorkshopPanel(example=example, logbook=str(tmp_path / "book.json"))
    assert ONE_ROUND in words(panel) and panel.beside.lists.layout.display == "none"


def test_a_test_of_the_eye_has_no_rounds(tmp_path):
    panel = OwnWorkshopPanel(example="wedge", logbook=str(tmp_path / "book.json"))
    assert panel.beside.told.value == "" and panel.beside.lists.layout.display == "none"


def test_a_report_holds_the_comparison_and_an_inch_workshop_reads_thou():
    found = findings(read_readings(demo_path("demo_surveys.csv")))
    part = rounds_part(found, "inch")
    assert "After 2 rounds your worst, 0.75 thou, lies inside the band" in part.sentences[0]
    assert part.sentences[1] == "Before that, every round lies inside."
    assert "Grey: where 90 of 100 simulated workshops lie" in part.alt
    assert part.heading in [one.heading for one in finding_parts(found)]
    assert part.heading not in [one.heading for one in finding_parts(found, rounds=False)]


@pytest.mark.parametrize("why", list(Without))
def test_what_cannot_be_compared_is_said_with_the_reason(why):
    (said,) = beside_words(why)
    assert said.startswith("No simulated workshops beside your rounds: ") and said.endswith(".")


@pytest.mark.parametrize(
    ("made", "says"),
    [
        (OwnLandsPanel, "After 1 round your worst, "),
        (
            lambda: SurveyPanel(path=demo_path("demo_surveys.csv")),
            "After 2 rounds your worst, 19 µm, lies inside the band",
        ),
    ],
)
def test_panels_of_one_kind_say_it_at_the_end_of_their_sentence(made, says):
    panel = made()
    assert says in panel.sentence and "They start from your first readings" in panel.sentence
    assert panel.sentence.index(says) > len(panel.sentence) / 2


def test_a_panel_of_one_kind_says_nothing_of_one_round():
    assert "simulated workshops" not in SurveyPanel().sentence + OwnSquaresPanel().sentence
