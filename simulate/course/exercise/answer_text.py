"""A record of an answer as text, and records out of text; what is no record is none, whatever it holds."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict

from simulate.course.exercise.answer_record import LONGEST_TEXT, MOST_TRIES, VERSION, Answer, Try

_LINE = "answer "


def as_line(answer: Answer) -> str:
    """Write a record as one line of text."""
    return _LINE + as_json(answer)


def as_json(answer: Answer) -> str:
    """Write a record as JSON on one line."""
    part = asdict(answer)
    part["tries"] = [{k: v for k, v in one.items() if v} | {"given": one["given"]} for one in part["tries"]]
    return json.dumps(part, ensure_ascii=True)


def read_record(part: object) -> Answer | None:
    """Read one record, of this version or version 1.

    `part`: what JSON gave. Returns: none where it is no record.

    >>> read_record({"exercise": "two-gap", "student": "bako-rimu", "first": "12", "last": "14", "tries": 3}).unlisted
    1
    >>> read_record({"exercise": "two-gap", "tries": float("inf")}) is None
    True
    """
    if not isinstance(part, Mapping):
        return None
    try:
        key = {name: _text(part[name]) for name in ("exercise", "student")}
        closing = _text(part.get("seal", ""))
        if isinstance(part["tries"], list):
            tries = tuple(Try(**{k: _text(v) for k, v in one.items()}) for one in part["tries"][: 2 * MOST_TRIES])
            version, unlisted = int(part["version"]), int(part["unlisted"])
        else:
            count, version = int(part["tries"]), 1
            first, last = (Try(given=_text(part[name])) for name in ("first", "last"))
            tries = (first,) if count == 1 and first == last else (first, last)
            unlisted = max(0, count - len(tries))
    except (ValueError, KeyError, TypeError, OverflowError, AttributeError):
        return None
    if not tries or not 0 <= unlisted < 1_000_000 or version not in (1, VERSION):
        return None
    return Answer(**key, tries=tries, unlisted=unlisted, seal=closing, version=version)


def _text(value: object) -> str:
    """Return a short text; anything else is no part of a record."""
    if not isinstance(value, str) or len(value) > 4 * LONGEST_TEXT:
        raise TypeError
    return value


def read_lines(text: str) -> tuple[list[Answer], int]:
    """Read the records out of the text of a stored list.

    Returns `broken`: how many lines begin as a record and are none.
    """
    lines = [line.removeprefix(_LINE) for line in text.split("\n") if line.startswith(_LINE)]
    records = [record for record in map(_read_line, lines) if record]
    return records, len(lines) - len(records)


def _read_line(line: str) -> Answer | None:
    try:
        return read_record(json.loads(line))
    except (ValueError, RecursionError):
        return None
