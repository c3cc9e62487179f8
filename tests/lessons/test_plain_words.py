"""The voice of lessons, README, DEVELOPERS: how long a sentence is, at what age it reads with ease."""

import statistics

import pytest
from plain_words import length, reading_age, said_in, sentences, syllables
from test_lessons import LESSONS

ROOT = LESSONS[0].parents[1]
PAGES = [*LESSONS, ROOT / "README.md", ROOT / "DEVELOPERS.md"]
every_page = pytest.mark.parametrize("page", PAGES, ids=lambda p: p.stem)


@every_page
def test_no_sentence_is_over_thirty_words_and_half_are_under_seventeen(page):
    lengths = {s: length(s) for s in sentences(said_in(page))}
    assert len(lengths) > 20
    assert not {s: n for s, n in lengths.items() if n > 30}
    limit = 16 if page in LESSONS else 20  # a page of commands and options names more in one sentence
    assert statistics.median(lengths.values()) <= limit


@every_page
def test_a_reader_of_fourteen_reads_every_page_with_ease(page):
    age = reading_age(sentences(said_in(page)))
    assert 6 < age < 14, f"{age:.1f} years"


def test_syllables_and_reading_age_are_those_of_published_examples():
    """The passage of the article in an encyclopaedia has a reading ease of 69, so 23 syllables in 16 words: Wikipedia,
    English edition, *Flesch-Kincaid readability tests*, 2024 (from memory); the formula is that of Kincaid and others.
    """
    said = "This sentence, taken as a reading passage unto itself, is being used to prove a point."
    counted = sum(map(syllables, said.split()))
    assert round(206.835 - 1.015 * 16 - 84.6 * counted / 16) == 69
    assert reading_age([said]) == pytest.approx(0.39 * 16 + 11.8 * counted / 16 - 15.59 + 5)
    assert reading_age(["The cat sat on the mat."]) == pytest.approx(-1.45 + 5)
    known = {"edges": 2, "plates": 1, "table": 2, "uncertainty": 4, "twisted": 2, "filed": 1, "measure": 2}
    assert {word: syllables(word) for word in known} == known


def test_a_long_sentence_is_seen_and_an_abbreviation_ends_none():
    assert sentences("| a | table |\n\n    code\n\n- See Fig. 3 here. Then `x` goes.\n- Next.") == [
        "See Fig. 3 here.",
        "Then Code goes.",
        "Next.",
    ]
    assert length("Take 40 - 2 = 38 µm off.") == 6
