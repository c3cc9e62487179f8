"""The voice of the package: what every panel, question, card, refusal and label says, future ones among them."""

import re

import pytest
from package_words import PACKAGE, everything, labels, templates
from plain_words import length, parted

SAID = everything()
LABELS = {at: text for path in sorted(PACKAGE.glob("*/**/*.py")) for at, text in labels(path).items()}
OF_LABELS = {
    "starting error": r"\b(is|starts?|start) out by\b",
    "a noun phrase": r"\b(by|to|of|at|with|from|is|are)$",
}
"""What a label does not say, by what it says instead."""
FIELD = re.compile("^(or |Enter |Readings of$)")
"""Lines that lead into a field or a list and read on there: "or type readings here", "Readings of bars"."""


def test_the_walk_finds_what_is_said():
    assert len(SAID) > 3000 and len(LABELS) > 250
    assert any("must be" in text or "Read it again" in text for text in SAID.values())
    for words in ("Starting error of each bar", "Repeatability of a land fit", "Add a link", "Stations"):
        assert words in LABELS.values(), words


def test_no_sentence_of_the_package_is_over_thirty_words():
    long = {at: s for at, text in SAID.items() for s in parted(text) if length(s) > 30}
    assert not long


def test_a_label_has_five_words_at_most():
    assert not {at: text for at, text in LABELS.items() if length(text) > 5 and not FIELD.match(text)}


@pytest.mark.parametrize("say", OF_LABELS)
def test_a_label_is_a_noun_phrase_in_the_words_of_the_trade(say):
    held = {at: text for at, text in LABELS.items() if not FIELD.match(text)}
    assert not {at: text for at, text in held.items() if re.search(OF_LABELS[say], text, re.I)}


def test_a_long_template_and_a_clause_for_a_label_are_seen(monkeypatch):
    path = PACKAGE / "made_up.py"
    monkeypatch.setattr("pathlib.Path.read_text", lambda self, encoding=None: MADE_UP)
    label, said = templates(path).values()
    assert label.startswith("Each bar")
    assert said == "Xx um is what the whole of it comes to. Xx And so many looks that you are unsure."
    assert [length(s) for s in parted(said)] == [10, 9]
    assert list(labels(path).values()) == ["Each bar starts out by", "Xx out"]


MADE_UP = '''
def words(panel, um, more):
    """No words of this docstring count, however many there are."""
    panel.height_slider("start_um", "Each bar starts out by (mm)", 1, 0, 2, 1)
    panel.tick("a", f"{um} out")
    return f"{um:.1f} um is what the whole of it comes to.{more} And so many looks " + "that you are unsure."
'''
