"""Every word that a person reads, through codespell: misspellings, American spellings, words that were cleared.

`vocabulary.txt` holds the words and phrases that were cleared, each with what is said instead; `label_vocabulary.txt`
those that are cleared from labels alone. They are dictionaries of codespell, which have no room for remarks.
"""

import re
import subprocess
import sys
from pathlib import Path

import codespell_lib
import pytest
from package_words import everything
from plain_words import said_in, sentences
from test_package_words import LABELS
from test_plain_words import PAGES

HERE = Path(__file__).parent
OURS, OF_LABELS = HERE / "vocabulary.txt", HERE / "label_vocabulary.txt"
SPELLINGS = Path(codespell_lib.__file__).parent / "data" / "dictionary_en-GB_to_en-US.txt"
GLOSSARY = "terms.toml"
"""It explains words that elsewhere are cleared, and gives the American ones."""
LEFT = "Look"
"""A command of the practice bench: to look is what one does there."""
RIGHT = "fro,jupyter,planed,practice,program"
"""Words that codespell takes for others: a program of a computer and practice, the noun, are British too."""
MEANT = (
    r"\(US: [^()]*\)|millimeters?|(half round|half-round) file|(a|first|each) laying (on|out)|looks? at|"
    r"a look at|text-align:\w+|\bcolor[:=]"
)
"""What is meant as it stands: the American word in brackets, a spelling that an answer may have, style of a page."""


def lint(said: list[str], folder: Path, *dictionaries: Path | str) -> set[tuple[str, str]]:
    """What codespell finds in sentences, by the word found and the sentence that holds it."""
    text = folder / "said.txt"
    lines = [re.sub(r"\d[\d.]*", "9", " ".join(one.split())) for one in said]
    text.write_text("\n".join(lines), encoding="utf-8")
    keys = [line.split("->")[0] for one in dictionaries if one != "-" for line in Path(one).read_text().splitlines()]
    phrases = [re.escape(key) for key in sorted(keys, key=len, reverse=True) if " " in key]
    words = "|".join((*(rf"(?i:\b{phrase}\b)" for phrase in phrases), r"[\w\-'’]+"))
    given = [f"--dictionary={one}" for one in dictionaries]
    call = [sys.executable, "-m", "codespell_lib", *given, f"--regex={words}", f"--ignore-regex={MEANT}"]
    done = subprocess.run([*call, f"--ignore-words-list={RIGHT}", str(text)], capture_output=True, text=True)
    assert done.returncode in (0, 65) and not done.stderr, done.stderr
    found = [line.removeprefix(f"{text}:").split(": ", 1) for line in done.stdout.splitlines()]
    return {(what, said[int(number) - 1]) for number, what in found}


@pytest.fixture(scope="module")
def british(tmp_path_factory) -> Path:
    """The American spellings that codespell knows of, each with the British one."""
    path = tmp_path_factory.mktemp("spellings") / "american.txt"
    pairs = [line.split("->") for line in SPELLINGS.read_text(encoding="utf-8").splitlines()]
    turned = {us.strip(): gb for gb, many in pairs for us in many.split(",") if us.strip()}
    path.write_text("".join(f"{us}->{gb}\n" for us, gb in turned.items()), encoding="utf-8")
    return path


def pages() -> list[str]:
    """Sentences of lessons, README and DEVELOPERS; labels of panels and names of files are left out."""
    named = re.compile(r"(?<!\*)\*[^*]+\*(?!\*)")
    return [one for page in PAGES for one in sentences(named.sub("Xx", said_in(page)))]


def test_what_the_package_and_the_pages_say_is_spelt_well_and_holds_no_cleared_word(british, tmp_path):
    said = [text for at, text in everything(least=2).items() if GLOSSARY not in at] + pages()
    assert len(said) > 6000
    assert not lint(said, tmp_path, "-", british, OURS)


def test_labels_hold_no_word_that_is_cleared_from_them(british, tmp_path):
    assert not lint([text for text in LABELS.values() if text != LEFT], tmp_path, "-", british, OURS, OF_LABELS)


def test_words_that_were_planted_are_found(british, tmp_path):
    planted = {
        "Teh bars are straight.": "Teh",
        "A gray plate on the bench.": "gray",
        "Predict it afresh.": "afresh",
        "Read it in  place of\nthe other.": "in place of",
        "It shows 12 looks.": "9 looks",
        "Upwards of 3 µm.": "Upwards of",
    }
    right = ["A half round file in a vice (US: vise).", "A look at the plate.", "An uncertainty of 3 µm."]
    found = lint([*planted, *right], tmp_path, "-", british, OURS)
    assert {one: what.split(" ==> ")[0] for what, one in found} == planted
