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
    found = []
    for block in blocks(markdown):
        marked = SHORT.sub("\\1\u2024", plain(block))
        found += [s.strip().replace("\u2024", ".") for s in STOPS.split(marked) if re.search("[a-zA-Z]{2}", s)]
    return found


def length(sentence: str) -> int:
    """How many words a sentence has: a figure with its unit counts as it is spoken, a sign between two figures not."""
    return sum(bool(re.search(r"\w", w)) for w in sentence.split())


def said_in(path: Path) -> str:
    """The text of a page; of a lesson its markdown cells down to the sources, a list of works and no prose."""
    if path.suffix == ".md":
        return path.read_text(encoding="utf-8")
    cells = nbformat.read(path, as_version=4).cells
    return "\n\n".join(c.source for c in cells if c.cell_type == "markdown").split("## Sources")[0]
