"""Sentences of a page as a reader meets them: no code, no table, no formula on a line of its own."""

import re
from pathlib import Path

import nbformat

STOPS = re.compile(r"(?<=[.?!])[*)”\"]*\s+(?=[*(“\"A-Zµ0-9])")
SHORT = re.compile(r"\b(No|Fig|Figs|vol|pp|ed)\.(?=\s)")  # a full stop that ends no sentence


def blocks(markdown: str) -> list[str]:
    """Paragraphs and the entries of lists, each on one line, without headings, tables, code and pictures."""
    markdown = re.sub(r"```.*?```|\$\$.*?\$\$|<!--.*?-->", "\n", markdown, flags=re.S)
    kept, open_block = [], False
    for line in markdown.split("\n"):
        text = line.strip()
        entry = re.match(r"([-*]|\d+\.)\s+", text)
        if not text or text.startswith(("#", "|", "!", "<")) or (line.startswith("    ") and not open_block):
            open_block = False
        elif entry or not open_block:
            kept.append(text[entry.end() :] if entry else text)
            open_block = True
        else:
            kept[-1] += " " + text
    return kept


def plain(text: str) -> str:
    """Words alone: a piece of code or the target of a link counts for nothing, its name as one word."""
    text = re.sub(r"`[^`]*`", "Code", text)
    text = re.sub(r"!?\[([^\]]*)\]\([^)]*\)", r"\1", text)
    return re.sub(r"\*+", "", text)


def sentences(markdown: str) -> list[str]:
    """Every sentence of a page. An abbreviation ends none."""
    return [s for block in blocks(markdown) for s in parted(plain(block))]


def parted(text: str) -> list[str]:
    """The sentences of one running text."""
    marked = SHORT.sub("\\1\u2024", text)
    return [s.strip().replace("\u2024", ".") for s in STOPS.split(marked) if re.search("[a-zA-Z]{2}", s)]


def length(sentence: str) -> int:
    """How many words a sentence has: a figure with its unit counts as it is spoken, a sign between two figures not."""
    return sum(bool(re.search(r"\w", w)) for w in sentence.split())


def said_in(path: Path) -> str:
    """The text of a page; of a lesson its markdown cells down to the sources, a list of works and no prose."""
    if path.suffix == ".md":
        return path.read_text(encoding="utf-8")
    cells = nbformat.read(path, as_version=4).cells
    return "\n\n".join(c.source for c in cells if c.cell_type == "markdown").split("## Sources")[0]


def syllables(word: str) -> int:
    """How many syllables a word has, by its groups of vowels: a silent e counts for none, the -ing of being for one."""
    word = re.sub(r"[^a-z]", "", word.lower())
    word = re.sub(r"(?<=[aeiouy])ing$", "-ing", word)
    voiced = re.sub(r"(?<![aeiouyl])e$|(?<![aeiouylsxzcgh])es$|(?<=[^aeiouytd])ed$", "", word)
    return max(len(re.findall(r"[aeiouy]+", voiced)), 1)


def reading_age(said: list[str]) -> float:
    """Years of age at which a text is read with ease: the grade of Kincaid and others (1975), a pupil of grade n being
    n + 5.

    The grade is 0.39 words a sentence + 11.8 syllables a word - 15.59 (J. P. Kincaid, R. P. Fishburne, R. L. Rogers,
    B. S. Chissom, *Derivation of New Readability Formulas*, Research Branch Report 8-75, 1975).
    """
    words = [word for sentence in said for word in sentence.split() if re.search("[a-zA-Z]{2}|^[aAI]$", word)]
    return 0.39 * len(words) / len(said) + 11.8 * sum(map(syllables, words)) / len(words) - 15.59 + 5
