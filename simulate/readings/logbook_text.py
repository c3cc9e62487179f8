"""A logbook as the bytes of its file: versions 1 and 2, and what is still whole in a damaged one.

Version 2 is JSON with one entry on a line. Each entry carries the SHA-256 stamp of its own text, and the file that
of all stamps, so that a changed byte is noticed and every other entry can still be read.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Sequence
from dataclasses import fields

from simulate.readings.entry import WORDING, Entry, history, with_history
from simulate.readings.whole import LARGEST_BYTES, LogbookError

FORMAT, VERSION = "three-bar logbook", 2
ALLOWED = "a logbook that this course saved"
_OLD = ("readings", "name", "note", "units", "reading_sd_um", "taken")
_NUMBERS = ("reading_sd_um", "target_um")


def written(name: str, entries: Sequence[Entry]) -> bytes:
    """Give a logbook as the bytes of its file.

    Parameters
    ----------
    name : str
        Of the file, for the sentence.
    entries : sequence of Entry

    Returns
    -------
    bytes

    Raises
    ------
    LogbookError
        Where an entry is not one, or they are too large together.
    """
    lines, stamps = [], []
    for place, entry in enumerate(entries):
        if not isinstance(entry, Entry):
            raise LogbookError(found=f"{name}, entry {place + 1}: a {type(entry).__name__} was given; allowed is an Entry.")
        wordings = [{field: getattr(w, field) for field in WORDING} for w in history(entry)]
        for wording in wordings:
            _check_wording(name, place, wording, WORDING)
        plain = {"identity": entry.identity, "wordings": wordings}
        stamps.append(_stamp(_text(plain)))
        lines.append(f'{{"stamp": "{stamps[-1]}", "entry": {_text(plain)}}}')
    head = f'{{"format": "{FORMAT}", "version": {VERSION}, "stamp": "{_stamp("".join(stamps))}", "entries": ['
    data = "\n".join([head, ",\n".join(lines), "]}", ""]).encode("ascii")
    if len(data) > LARGEST_BYTES:
        raise LogbookError(found=f"{name} would be {len(data)} bytes; allowed are {LARGEST_BYTES}.")
    return data


def read(name: str, data: bytes) -> tuple[Entry, ...]:
    """Read a logbook of any version up to this one.

    Parameters
    ----------
    name : str
    data : bytes

    Returns
    -------
    tuple of Entry

    Raises
    ------
    LogbookError
        Where it is damaged, no logbook, or from a newer version of this course.
    """
    try:
        book = json.loads(data.decode("utf-8"))
    except (ValueError, RecursionError) as error:
        where = f"line {error.lineno}" if isinstance(error, json.JSONDecodeError) else "its text"
        raise LogbookError(found=f"{name} is damaged at {where}; allowed is {ALLOWED}.") from None
    if not isinstance(book, dict) or book.get("format") != FORMAT:
        raise LogbookError(found=f"{name} is no logbook (its format is not {FORMAT!r}); allowed is {ALLOWED}.")
    version, entries = book.get("version"), book.get("entries")
    if type(version) is int and version > VERSION:
        raise LogbookError(found=f"{name} has version {version}; this course opens versions up to {VERSION}, so update the course.")
    if type(version) is not int or version < 1:
        raise LogbookError(found=f"{name} is damaged: its version is {str(version)[:40]!r}; allowed is 1 to {VERSION}.")
    if not isinstance(entries, list):
        raise LogbookError(found=f"{name} is damaged: it has no list of entries; allowed is {ALLOWED}.")
    if version == 1:
        return tuple(_old(name, place, entry) for place, entry in enumerate(entries))
    found = tuple(_stamped(name, place, entry) for place, entry in enumerate(entries))
    if book.get("stamp") != _stamp("".join(entry["stamp"] for entry in entries)):
        raise LogbookError(found=f"{name} is damaged: its stamp does not fit its entries; allowed is {ALLOWED}.")
    return found


def whole_entries(data: bytes) -> tuple[Entry, ...]:
    """Read every entry that is still whole in a damaged logbook.

    Parameters
    ----------
    data : bytes

    Returns
    -------
    tuple of Entry
        In version 1 no entry carries a stamp, so that a letter changed inside one is not noticed there.

    Examples
    --------
    >>> data = written("mine.json", [Entry("a"), Entry("b"), Entry("c")])
    >>> [entry.readings for entry in whole_entries(data[:-200])]
    ['a', 'b']
    """
    text, decoder, found, place = data.decode("utf-8", "replace"), json.JSONDecoder(), [], 0
    starts = re.compile(r'\{\s*"(?:stamp": "[0-9a-f]{64}", "entry|readings)"')
    while (start := starts.search(text, place)) is not None:
        try:
            plain, place = decoder.raw_decode(text, start.start())
            found.append(_stamped("", 0, plain) if "stamp" in plain else _old("", len(found), plain))
        except (ValueError, RecursionError):
            place = start.start() + 1
    return tuple(found)


def _old(name: str, place: int, plain: object) -> Entry:
    """An entry of version 1; who it is follows from what it says and where, so that it stays the same if read again."""
    _check_wording(name, place, plain, _OLD)
    return Entry(**plain, written="", identity=_stamp(f"{place} {_text(plain)}")[:32])


def _stamped(name: str, place: int, plain: object) -> Entry:
    where = f"{name} is damaged in entry {place + 1}"
    if not isinstance(plain, dict) or set(plain) != {"stamp", "entry"}:
        found = ", ".join(sorted(map(str, plain))) if isinstance(plain, dict) else type(plain).__name__
        raise LogbookError(found=f"{where}, which holds {found[:80]}; allowed are stamp and entry.")
    entry = plain["entry"]
    if plain["stamp"] != _stamp(_text(entry)):
        raise LogbookError(found=f"{where}: its stamp does not fit what it says; allowed is {ALLOWED}.")
    if not isinstance(entry, dict) or set(entry) != {"identity", "wordings"} or not isinstance(entry["identity"], str):
        raise LogbookError(found=f"{where}: it has no identity and wordings; allowed is {ALLOWED}.")
    if not isinstance(entry["wordings"], list) or not entry["wordings"]:
        raise LogbookError(found=f"{where}: it has no wording; allowed is one or more.")
    for wording in entry["wordings"]:
        _check_wording(name, place, wording, WORDING)
    return with_history(entry["identity"], [Entry(**wording, identity=entry["identity"]) for wording in entry["wordings"]])


def _text(plain: object) -> str:
    return json.dumps(plain, sort_keys=True, allow_nan=False)


def _stamp(text: str) -> str:
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def _check_wording(name: str, place: int, wording: object, known: Sequence[str]) -> None:
    if not isinstance(wording, dict) or set(wording) != set(known):
        found = ", ".join(sorted(map(str, wording))) if isinstance(wording, dict) else type(wording).__name__
        raise LogbookError(found=f"{name}, entry {place + 1} holds {found[:80]}; allowed are {', '.join(sorted(known))}.")
    for field, value in wording.items():
        where = f"{name}, entry {place + 1}, {field} is {str(value)[:40]}"
        if field in _NUMBERS:
            if value is not None and not (type(value) in (int, float) and 0 < value < 1e6):
                raise LogbookError(found=f"{where}; allowed is a number above 0, or none.")
        elif type(value) is not (bool if field == "struck" else str):
            raise LogbookError(found=f"{where}; allowed is {'true or false' if field == 'struck' else 'text'}.")
