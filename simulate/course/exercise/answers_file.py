"""The file that keeps what was answered, beside the notebooks: one record a line, written whole."""

from __future__ import annotations

import itertools
import json
from collections.abc import Iterable
from pathlib import Path

from simulate.core.atomic_files import LogbookError, locked, read_bytes, write_whole
from simulate.core.refusal import Refusal
from simulate.course.exercise.answer_record import VERSION, Answer, merged_all
from simulate.course.exercise.answer_text import as_json, read_record

ANSWERS_FILE = Path("my_answers.json")
"""Stands in the learner's own folder, beside the logbook."""

FORMAT = "three-bar answers"
_ALLOWED = "a file that the exercises of this course wrote"


def save_answers(path: Path, records: Iterable[Answer]) -> tuple[Answer, ...]:
    """Put records into the file, beside those that another notebook put there.

    Returns: what the file holds now. It never holds less than before.

    A file that is damaged is copied to another name beside it, and what is whole in it is taken over.
    """
    with locked(path):
        theirs, damaged = _read(path)
        together = merged_all((*theirs, *records))
        if damaged:
            write_whole(_free(path), damaged)
        if damaged or together != theirs:
            write_whole(path, written(together))
    return together


def open_answers(path: Path) -> tuple[Answer, ...]:
    """Read what the file holds; of a damaged one, what is whole in it.

    Returns: none where there is no file.
    """
    return _read(path)[0]


def written(records: Iterable[Answer]) -> bytes:
    """Return the file that holds these records.

    Returns: JSON, with one record a line.
    """
    head = f'{{"format": {json.dumps(FORMAT)}, "version": {VERSION}, "answers": [\n'
    return (head + ",\n".join(map(as_json, records)) + "\n]}\n").encode("ascii")


def read_written(data: bytes) -> tuple[tuple[Answer, ...], bool]:
    """Read the bytes of such a file.

    Returns `whole`: false where something in it is damaged and was passed over.
    """
    text = data.decode("utf-8", "replace")
    try:
        book = json.loads(text)
    except (ValueError, RecursionError):
        found = [_line(line) for line in text.split("\n")]
        return merged_all(r for r in found if r), False
    return read_book(book)


def read_book(book: object) -> tuple[tuple[Answer, ...], bool]:
    """Read such a file out of what JSON gave.

    Returns `whole`: false where something in it is damaged and was passed over.
    """
    if not isinstance(book, dict) or book.get("format") != FORMAT or not isinstance(book.get("answers"), list):
        raise Refusal("file", found=f"it is not {_ALLOWED}")
    if not isinstance(book.get("version"), int) or book["version"] > VERSION:
        raise Refusal(
            "file",
            found=f"it has version {str(book.get('version'))[:20]}, and this course reads versions up to {VERSION}",
        )
    found = [read_record(part) for part in book["answers"]]
    return merged_all(r for r in found if r), all(found)


def _line(line: str) -> Answer | None:
    try:
        return read_record(json.loads(line.rstrip(",\r")))
    except (ValueError, RecursionError):
        return None


def _read(path: Path) -> tuple[tuple[Answer, ...], bytes]:
    """Return what the file holds, and its bytes where it is damaged."""
    if not path.exists():
        return (), b""
    data = read_bytes(path, _ALLOWED)
    try:
        records, whole = read_written(data)
    except Refusal as refused:
        raise LogbookError(
            "file",
            where=path.name,
            found=f"stays as it is: {str(refused).rstrip('.')}",
            do="Move it to another folder, or update the course",
        ) from None
    return records, b"" if whole else data or b"\n"


def _free(path: Path) -> Path:
    """Return a name for a damaged file that is not taken yet."""
    names = (path.with_name(f"{path.stem}_damaged_{k}{path.suffix}") for k in itertools.count(1))
    return next(p for p in names if not p.exists())
