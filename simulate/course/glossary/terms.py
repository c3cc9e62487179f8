"""The terms of the trade, from ``terms.toml``: a table in lesson 00, and notes in the text of every lesson."""

from __future__ import annotations

import json
import tomllib
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from pathlib import Path

_HERE = Path(__file__).resolve().parent


@dataclass(frozen=True, kw_only=True)
class Term:
    """One term of the trade.

    `word`: the trade's own word. `meaning`: one sentence. `forms`: how it stands in the lessons; whole words, capitals
    or not. `also`: what this course or another shop calls it. `us`: the word in the United States; empty where it is
    the same. `standard`: term and number of a published standard, from memory; empty where there is none.
    """

    word: str
    meaning: str
    forms: tuple[str, ...]
    also: tuple[str, ...] = ()
    us: str = ""
    standard: str = ""


@lru_cache(maxsize=1)
def terms() -> tuple[Term, ...]:
    """Return all terms in the order of the file, which is by subject."""
    found = tomllib.loads((_HERE / "terms.toml").read_text(encoding="utf-8"))["term"]
    return tuple(Term(**{k: tuple(v) if isinstance(v, list) else v for k, v in one.items()}) for one in found)


class Glossary:
    """The terms of the trade as a table, by the alphabet.

    Examples
    --------
    >>> Glossary()
    62 words of the trade, each with its meaning.
    """

    def __repr__(self) -> str:
        """Return how many there are."""
        return f"{len(terms())} words of the trade, each with its meaning."

    def _repr_html_(self) -> str:
        """Return the table."""
        cell = '<td style="text-align:left">'
        rows = "".join(
            f'<tr><th scope="row" style="text-align:left">{escape(one.word)}</th>'
            + "".join(f"{cell}{escape(words)}</td>" for words in (", ".join(one.also), _elsewhere(one), one.meaning))
            + "</tr>"
            for one in sorted(terms(), key=lambda one: one.word.lower())
        )
        heads = "".join(
            f'<th scope="col" style="text-align:left">{words}</th>'
            for words in ("the trade's word", "also", "US word; standard†", "what it means")
        )
        how = "Each word is underlined where a lesson first uses it: point at it, or touch it, and its note appears."
        return f"<p>{how}</p><table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>"


def _elsewhere(term: Term) -> str:
    return "; ".join(part for part in (f"US: {term.us}" if term.us else "", term.standard) if part)


def note(term: Term) -> str:
    """Return what is shown beside a term.

    >>> note(next(one for one in terms() if one.word == "vice"))
    'vice (US: vise): Holds the work; soft jaws keep its faces clean, and a tight grip bends a bar.'
    """
    elsewhere = _elsewhere(term)
    return f"{term.word}{f' ({elsewhere})' if elsewhere else ''}: {term.meaning}"


def notes_script() -> str:
    """Return the script that underlines the first use of each term in a lesson and shows its note; a page runs it
    once."""
    told = json.dumps([[one.word, list(one.forms), note(one)] for one in terms()]).replace("<", "\\u003c")
    return (_HERE / "notes.js").read_text(encoding="utf-8").replace("TERMS", told)
