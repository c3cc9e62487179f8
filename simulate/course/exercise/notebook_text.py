"""What a stored notebook says about answers, read as text: bounded, and without running or drawing anything of it."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from simulate.core.refusal import Refusal

LARGEST_BYTES = 50_000_000
KEPT, SET = "three_bar_answers", "three_bar_set"
"""What a notebook's metadata call the lines that are kept in it, and the sign of the class set that it came from."""

_OWN = re.compile(r"""^student\s*=\s*["']([^"'\n]{0,200})["']""", re.MULTILINE)
_TITLE = re.compile(r"\A#\s+(\d\d)\b")
_MARK = "answer {"


@dataclass(frozen=True, kw_only=True)
class Stored:
    """What one notebook holds.

    `lists`: texts in which a line begins as an answer does: what the notebook keeps itself, and stored outputs. `own`:
    the word that the notebook's own `student` is set to; empty where it is not. `sign`: what the class set put in;
    empty where it put nothing. `lesson`: two digits from its first heading; empty where there are none. `ran`: whether
    a cell of it was run.
    """

    lists: tuple[str, ...]
    own: str
    sign: str
    lesson: str
    ran: bool


def read_json(data: bytes) -> object:
    """Read JSON that came from anybody.

    `data`: UTF-8 or UTF-16, with or without a byte order mark. Returns: whole numbers of more than 300 digits become
    infinite.

    >>> read_json(b"[" * 100_000)
    Traceback (most recent call last):
        ...
    simulate.core.refusal.Refusal: is nested too deeply.
    """
    wide = data[:2] in (b"\xff\xfe", b"\xfe\xff")
    text = data.decode("utf-16" if wide else "utf-8-sig", "replace")  # what is no text spoils its own words and no more
    try:
        return json.loads(text, parse_int=lambda digits: int(digits) if len(digits) < 300 else math.inf)
    except RecursionError:
        raise Refusal("file", found="is nested too deeply") from None
    except ValueError:
        raise Refusal("file", found="is cut short or is not a notebook") from None


def read_notebook(book: object) -> Stored:
    """Read what a notebook holds, of any version of the format.

    `book`: what JSON gave.
    """
    cells = list(_cells(book))
    sources = [_text(cell.get("source", cell.get("input", ""))) for cell in cells]
    about = book.get("metadata") if isinstance(book, Mapping) else None
    kept, sign = (about.get(name, "") for name in (KEPT, SET)) if isinstance(about, Mapping) else ("", "")
    lists = tuple(text for text in (_lines(kept), *(t for cell in cells for t in _outputs(cell))) if _MARK in text)
    found = (_OWN.search(s) for s, cell in zip(sources, cells) if cell.get("cell_type") == "code")
    titles = (_TITLE.match(s) for s in sources)
    return Stored(
        lists=lists,
        own=next((m[1] for m in found if m), ""),
        sign=_text(sign)[:200],
        lesson=next((m[1] for m in titles if m), ""),
        ran=any(cell.get("execution_count") or cell.get("prompt_number") for cell in cells),
    )


def stored_lists(folder: Path) -> Iterator[str]:
    """Give the lists of answers that the notebooks of a folder hold."""
    for path in sorted(folder.glob("*.ipynb")):
        try:
            if path.stat().st_size <= LARGEST_BYTES and _MARK.encode() in (data := path.read_bytes()):
                yield from read_notebook(read_json(data)).lists
        except (OSError, Refusal):
            continue


def _cells(book: object) -> Iterator[Mapping]:
    if not isinstance(book, Mapping):
        raise Refusal("file", found="is not a notebook")
    sheets = book.get("worksheets")  # as up to version 3 of the format
    held = [book] if "cells" in book or not isinstance(sheets, list) else [s for s in sheets if isinstance(s, Mapping)]
    if not all(isinstance(sheet.get("cells"), list) for sheet in held):
        raise Refusal("file", found="is not a notebook")
    return (cell for sheet in held for cell in sheet["cells"] if isinstance(cell, Mapping))


def _outputs(cell: Mapping) -> Iterator[str]:
    outputs = cell.get("outputs")
    for output in outputs if isinstance(outputs, list) else ():
        if isinstance(output, Mapping):
            data = output.get("data")
            yield _text(data.get("text/plain", "") if isinstance(data, Mapping) else output.get("text", ""))


def _lines(value: object) -> str:
    return "\n".join(part for part in value if isinstance(part, str)) if isinstance(value, list) else ""


def _text(value: object) -> str:
    if isinstance(value, list):
        return "".join(part for part in value if isinstance(part, str))
    return value if isinstance(value, str) else ""
