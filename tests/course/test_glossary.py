"""The words of the trade: what the list must hold, and that every lesson has notes from it."""

import re

import pytest

from simulate.course import Glossary
from simulate.course.glossary.terms import note, notes_script, terms

LESSONS = "[0-9][0-9]_*.ipynb"
ASKED = (
    "high spot", "bearing", "spotting", "surface plate", "dial test indicator", "headstock", "tailstock", "parallelism",
    "squareness", "hinge test", "draw-filing", "cross-filing", "points per square inch", "repeatability", "datum",
    "uncertainty", "marking compound",
)  # fmt: skip


def texts(root):
    import nbformat

    for path in sorted((root / "lessons").glob(LESSONS)):
        cells = nbformat.read(path, as_version=4).cells
        yield path.stem, "\n".join(cell.source for cell in cells if cell.cell_type == "markdown")


def stands_in(term, text) -> bool:
    forms = "|".join(map(re.escape, term.forms))
    return bool(re.search(rf"(?<![\w-])(?:{forms})(?![\w-])", text, re.IGNORECASE))


def test_the_list_holds_what_the_trade_asks_for_once_each():
    words = [one.word for one in terms()]
    assert len(words) == len(set(words)) >= 55
    assert set(ASKED) <= set(words)


def test_no_form_belongs_to_two_terms():
    forms = [form.lower() for one in terms() for form in one.forms]
    assert len(forms) == len(set(forms))


@pytest.mark.parametrize("term", terms(), ids=lambda one: one.word)
def test_a_meaning_is_one_sentence_of_at_most_thirty_words(term):
    assert term.meaning.endswith(".") and ". " not in term.meaning
    assert 5 <= len(term.meaning.split()) <= 30
    assert note(term).startswith(term.word)


def test_every_lesson_has_words_to_note_and_nearly_every_word_stands_in_a_lesson(root):
    found = {stem: {one.word for one in terms() if stands_in(one, text)} for stem, text in texts(root)}
    assert len(found) >= 24
    assert {stem: len(words) for stem, words in found.items() if len(words) < 3} == {}
    missing = {one.word for one in terms()} - set().union(*found.values())
    assert missing <= {"residual stress", "cross-filing", "redundant reading", "light gap"}, missing


def test_the_table_holds_every_word_and_the_script_no_closing_tag():
    html = Glossary()._repr_html_()
    assert html.count("<tr>") == len(terms()) + 1
    assert "</" not in notes_script().replace("<\\u002f", "")
