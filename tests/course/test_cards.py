"""Bench cards: one page for each lesson, with the lesson's own steps and cautions as text that can be read out."""

import io
import re

import nbformat
import pytest
from pypdf import PdfReader

from simulate.__main__ import main
from simulate.course.notebook.manifest import manifest
from simulate.course.notebook.refresh import find
from simulate.course.publish.bench_cards import card_of, card_pdf, write_cards
from simulate.course.publish.paper import PAGES

TABLES = {one.number: one.card for one in manifest() if one.card}
LESSONS = [p for p in find(()) if p.name[:2] in TABLES]
CAUTIONS = ("not safety training", "person responsible")


def text_of(data):
    pages = PdfReader(io.BytesIO(data)).pages
    assert len(pages) == 1
    return " ".join(pages[0].extract_text().split())


def test_every_lesson_for_the_bench_has_a_card():
    missing = [
        p.name for p in find(()) if p.name[:2] not in TABLES and "## At the bench" in p.read_text(encoding="utf-8")
    ]
    assert len(LESSONS) >= 22 and not missing


@pytest.mark.parametrize("path", LESSONS, ids=lambda p: p.stem)
def test_a_card_is_one_page_with_steps_table_and_cautions(path):
    card = card_of(path)
    looked = 0
    for units, small in (("mm", "µm"), ("inch", "thou")):
        said = text_of(card_pdf(card, units))
        heads = " ".join(
            head.format(small=small, long="mm" if units == "mm" else "in") for head in TABLES[card.lesson].heads
        )
        squeezed = said.replace(" ", "")
        assert [word for word in heads.split() if word not in squeezed] == []
        for words in (card.title, *CAUTIONS):
            assert words in said
        for step in card.steps:
            assert step.removeprefix("- ").replace(" ", "") in squeezed
        looked += 1
    assert looked == len(PAGES)


def test_the_steps_are_those_of_the_lesson_without_marks_of_the_notebook():
    card = card_of(find(["04"])[0])
    assert [s[:2] for s in card.steps[:5]] == ["1.", "2.", "3.", "4.", "5."]
    assert card.cautions[0].startswith("Cautions. A tight handle on every tang")
    assert not [s for s in (*card.steps, *card.cautions) if "*" in s or "`" in s]


def test_a_card_names_itself_and_its_language_to_a_reader():
    pdf = PdfReader(io.BytesIO(card_pdf(card_of(find(["04"])[0]))))
    assert pdf.metadata.title == "Bench card 04: Three bars"
    assert pdf.trailer["/Root"]["/Lang"] == "en"
    assert pdf.outline[0].title == "04 Three bars"


def test_paper_follows_the_unit():
    card = card_of(find(["02"])[0])
    wide, high = (float(v) for v in PdfReader(io.BytesIO(card_pdf(card, "inch"))).pages[0].mediabox[2:])
    assert (round(wide), round(high)) == (612, 792)
    wide, high = (float(v) for v in PdfReader(io.BytesIO(card_pdf(card))).pages[0].mediabox[2:])
    assert (round(wide / 72 * 25.4), round(high / 72 * 25.4)) == (210, 297)


def test_refusals_are_sentences_and_write_nothing(tmp_path):
    card = card_of(find(["04"])[0])
    with pytest.raises(ValueError, match=r"units is 'cubit'; it must be 'mm' or 'inch'\."):
        card_pdf(card, "cubit")
    long = type(card)(card.lesson, card.title, card.question, card.steps * 9, card.cautions)
    with pytest.raises(
        ValueError, match=r"part 'At the bench' of lesson 04 is longer than one page; it must be short enough for one\."
    ):
        card_pdf(long)
    bare = tmp_path / "04_bare.ipynb"
    nbformat.write(nbformat.v4.new_notebook(cells=[nbformat.v4.new_markdown_cell("# 04 Bare")]), bare)
    with pytest.raises(
        ValueError,
        match=r"04_bare\.ipynb holds no part 'At the bench' with cautions; it must hold both, for a bench card\.",
    ):
        card_of(bare)
    with pytest.raises(ValueError, match=r"'77' is the start of 0 files in lessons/; it must be the start of one\."):
        write_cards(tmp_path / "out", ["77"])
    assert not (tmp_path / "out").exists()


def test_the_command_writes_the_named_cards(tmp_path, capsys):
    assert main(["cards", str(tmp_path / "cards"), "04", "--inch"]) == 0
    assert [p.name for p in (tmp_path / "cards").iterdir()] == ["04_three_bars.pdf"]
    assert "1 bench card written" in capsys.readouterr().out


def test_no_mark_of_a_notebook_reaches_the_paper_of_any_card():
    looked = 0
    for path in LESSONS:
        card = card_of(path)
        for words in (card.title, card.question, *card.steps, *card.cautions):
            assert not re.search(r"[#*`$|]|\]\(|__|^ *---", words), (path.name, words)
            looked += 1
    assert looked > 7 * len(LESSONS)


def test_a_card_asks_the_lesson_s_question_and_ends_with_its_cautions():
    # the question of lesson 00 is followed by a part of its own, and the bench part of lesson 14 by the learner's
    # squares
    assert (
        card_of(find(["00"])[0]).question
        == "How does a lesson of this course work, and what do I need beside me at the bench?"
    )
    assert card_of(find(["14"])[0]).cautions[-1].endswith("the person responsible for it come first.")
