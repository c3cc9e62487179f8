"""The voice of lessons, README, DEVELOPERS: how long a sentence is, which words stay away."""

import re
import statistics

import pytest
from plain_words import length, reading_age, said_in, sentences, syllables
from test_lessons import LESSONS

ROOT = LESSONS[0].parents[1]
PAGES = [*LESSONS, ROOT / "README.md", ROOT / "DEVELOPERS.md"]
every_page = pytest.mark.parametrize("page", PAGES, ids=lambda p: p.stem)

CLEARED = {
    "foretell": r"\bforet(ell|old)\w*",
    "again, and not afresh or anew": r"\b(afresh|anew)\b",
    "instead of": r"\bin (the )?place of\b",
    "at least": r"\bat the least\b",
    "more than": r"\bupwards of\b",
    "uncertain": r"\b(unsure|sureness|surer|least sure|how sure)\b",
    "uncertainty": r"\bdoubts?\b",
    "redundant": r"\breadings? ((is|are) )?(to spare|more than needed)\b",
    "vertical and horizontal plane": r"\b(upright|level) plane\b",
    "fixed ends": r"\b(held ends?|ends held)\b",
    "a fit, and not a laying": r"\b(layings|(a|each|one|every|first|second) laying)\b(?! (on|out))",
    "a spotting, and not a marking": r"\b(markings|a marking|(next|last|every) marking|marking (\d|Xx))\b",
    "half a turn": r"\bhalf round\b(?! file)",
    "standard deviations": r"\bits own deviations\b",
    "attempt": r"\b(go before|goes at|this go|your go)\b",
    "the repeatability is not known": r"\btells? how good\b",
    "disagree": r"\bquarrels?\b",
    "a link does not wake up": r"\bwakes? up\b",
    "stress is released": r"\bstress (let|lets) go\b",
    "should": r"\bpoints want\b",
    "check, and not a look": r"\b(an?|each|every|the last|the first|at the|of a|of the|\d+) looks?\b(?! at)",
    "animation": r"\b(as a film|films)\b",
    "error amplification": r"\bthe gain\b",
    "symbols of a map are said by a verb": r"\bsquares (are marking|mark)\b",
    "10 %": r"\b(a|slowest|quickest) tenth\b",
    "without an Internet connection": r"\bthe net\b",
}


@every_page
def test_no_sentence_is_over_thirty_words_and_half_are_under_seventeen(page):
    lengths = {s: length(s) for s in sentences(said_in(page))}
    assert len(lengths) > 20
    assert not {s: n for s, n in lengths.items() if n > 30}
    limit = 16 if page in LESSONS else 20  # a page of commands and options names more in one sentence
    assert statistics.median(lengths.values()) <= limit


@every_page
def test_words_that_were_cleared_do_not_come_back(page):
    text = re.sub(r"`[^`]*`|(?<!\*)\*[^*]+\*(?!\*)", " ", said_in(page))  # a name in a file, a label of a panel
    found = {
        say: re.findall(f".{{0,30}}{word}", text, re.I) for say, word in CLEARED.items() if re.search(word, text, re.I)
    }
    assert not found


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
