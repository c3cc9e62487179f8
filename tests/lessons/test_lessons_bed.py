"""Lessons on squares, faces, bed and chain hold to the nine parts, and their questions to the rules of questions."""

import re
from pathlib import Path

import nbformat
import pytest
from test_lessons import read_words

from simulate.course.asking.check_answer import check
from simulate.course.exercise.exercise import names, question

FOLDER = Path(__file__).parents[2] / "lessons"
PANELS = {
    "14_square_from_three": "SquaresPanel()",
    "15_faces_in_order": "FacesPanel()",
    "16_a_bed_from_your_references": "BedPanel()",
    "17_the_chain": "ChainPanel()",
}
PARTS = [
    "The question",
    "What you will be able to do",
    "Predict first",
    "Try it",
    "What happened, and why",
    "At the bench",
    "Check yourself",
    "What still hides",
    "Sources",
]
CAUTIONS = [
    "every tang",
    "never",
    "low and firm",
    "soft jaws",
    "eye",
    "brush",
    "blow",
    "edges",
    "not safety training",
    "person responsible",
]

every = pytest.mark.parametrize("stem", PANELS)


def cells(stem):
    return nbformat.read(FOLDER / f"{stem}.ipynb", as_version=4).cells


def words(stem):
    return " ".join("\n".join(c.source for c in cells(stem) if c.cell_type == "markdown").replace("**", "").split())


@every
def test_nine_parts_stand_in_order_at_a_length_that_is_read(stem):
    text = "\n\n".join(c.source for c in cells(stem) if c.cell_type == "markdown")
    assert re.findall(r"^## (.+)$", text, re.M) == PARTS
    assert 500 <= read_words(words(stem)) <= 1250


@every
def test_a_prediction_comes_before_the_panel_and_the_panel_is_stored(stem):
    sources = [c.source for c in cells(stem)]
    predict = next(i for i, s in enumerate(sources) if s.startswith("## Predict first"))
    place = sources.index(PANELS[stem])
    assert predict < place and "?" in sources[predict]
    output = cells(stem)[place].outputs[0]
    assert len(output.data["image/png"]) > 1000 and len(output.metadata["image/png"]["alt"]) > 40


@every
def test_the_exercises_are_those_of_the_lesson(stem):
    asked = re.findall(r'^Exercise\("([^"]+)", student\)$', "\n".join(c.source for c in cells(stem)), re.M)
    assert len(asked) >= 4 and tuple(asked) == names(stem[:2])


@every
def test_cautions_and_what_hides_and_sources_are_there(stem):
    said = words(stem)
    bench = said[said.index("## At the bench") : said.index("## Check yourself")].lower()
    assert [c for c in CAUTIONS if c not in bench] == []
    assert re.search(r"[Ll]esson \d\d", said[said.index("## What still hides") : said.index("## Sources")])
    assert re.search(r"published|†|common practice|derived", said[said.index("## Sources") :])


def test_known_answers_by_hand():
    # 2 e h and half of a reversal: derived by hand from the words of the question
    looked = 0
    for seed in range(50):
        q = question("square-double", seed)
        e, h = int(q.text.split("leans by ")[1].split()[0]), int(q.text.split("end, ")[1].split()[0])
        assert q.answer == pytest.approx(2 * e * h / 1000)
        q = question("square-reverse", seed)
        d = int(q.text.split("lines are ")[1].split()[0])
        assert check(q, d / 2).startswith("Right") and "doubles" in check(q, d)
        looked += 1
    assert looked == 50
