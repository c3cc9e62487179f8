"""A logbook as the bytes of its file: versions 1 to 5, and what is still whole in a damaged one.

Versions 2 to 5 are JSON with one entry on a line. Each entry carries the SHA-256 stamp of its own text, and the file
that of all stamps, so that a changed byte is noticed and every other entry can still be read. Version 3 says what a
body is known from, version 4 the feel, place and step that were stated, version 5 of what kind a known body is. What an
entry leaves unsaid is not written, and the file has the lowest version that says all, so that older courses read
whatever they can know of.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Sequence
from dataclasses import asdict, fields
from typing import Any

from simulate.core.atomic_files import LARGEST_BYTES, LogbookError
from simulate.core.refusal import a_kind_of
from simulate.readings.logbook.entry import WORDING, DependsOn, Entry, history, with_history

FORMAT, VERSION = "three-bar logbook", 5
ALLOWED = "a logbook that this course saved"
_OLD = ("readings", "name", "note", "units", "reading_sd_um", "taken")
_NUMBERS = ("reading_sd_um", "target_um", "resolution_um")
_STATED = ("feel_um", "place_mm", "resolution_um")
_SINCE = {"depends_on": 3, **dict.fromkeys(_STATED, 4)}
"""Field that may be left out to the version it came with."""
_PLAIN = tuple(name for name in WORDING if name not in _SINCE)


def written(name: str, entries: Sequence[Entry]) -> bytes:
    """Give a logbook as the bytes of its file.

    `name`: of the file, for the sentence.
    """
    lines, stamps, version = [], [], 2
    for place, entry in enumerate(entries):
        if not isinstance(entry, Entry):
            raise LogbookError("type", where=f"{name}, entry {place + 1}", found=a_kind_of(entry), must_be="an Entry")
        wordings = [_plain(wording) for wording in history(entry)]
        for wording in wordings:
            _check_wording(name, place, wording, _fields_of(wording))
        version = max(version, *(_SINCE.get(field, 2) for wording in wordings for field in wording))
        if any("kind" in one for wording in wordings for one in wording.get("depends_on", ())):
            version = max(version, 5)
        plain = {"identity": entry.identity, "wordings": wordings}
        stamps.append(_stamp(_text(plain)))
        lines.append(f'{{"stamp": "{stamps[-1]}", "entry": {_text(plain)}}}')
    head = f'{{"format": "{FORMAT}", "version": {version}, "stamp": "{_stamp("".join(stamps))}", "entries": ['
    data = "\n".join([head, ",\n".join(lines), "]}", ""]).encode("ascii")
    if len(data) > LARGEST_BYTES:
        raise LogbookError(
            "large",
            where=name,
            found=f"{len(data) / 1e6:.1f} MB",
            must_be=f"at most {LARGEST_BYTES / 1e6:g} MB",
            do="Begin a new logbook under another name",
        )
    return data


def version_of(
    name: str, book: object, form: str, newest: int, what: str, allowed: str
) -> tuple[object, dict[str, Any]]:
    """Return what a file says of its version, and the file; refuse one of another kind, or of a later course."""
    if not isinstance(book, dict) or book.get("format") != form:
        raise LogbookError("file", where=name, found=f"is not {what} (its format is not {form!r})", must_be=allowed)
    version = book.get("version")
    if type(version) is int and version > newest:
        raise LogbookError(
            "file",
            where=name,
            found=f"has version {version}",
            must_be=f"of version {newest} or lower",
            do="Update the course to open it",
        )
    return version, book


def read(name: str, data: bytes) -> tuple[Entry, ...]:
    """Read a logbook of any version up to this one."""
    try:
        book = json.loads(data.decode("utf-8"))
    except (ValueError, RecursionError) as error:
        where = f"line {error.lineno}" if isinstance(error, json.JSONDecodeError) else "its text"
        raise LogbookError(
            "damaged", where=name, found=f"it breaks off or is unreadable at {where}", must_be=ALLOWED
        ) from None
    version, book = version_of(name, book, FORMAT, VERSION, "a logbook", ALLOWED)
    entries = book.get("entries")
    if type(version) is not int or version < 1:
        raise LogbookError(
            "damaged", where=name, found=f"its version is {str(version)[:40]!r}", must_be=f"of version 1 to {VERSION}"
        )
    if not isinstance(entries, list):
        raise LogbookError("damaged", where=name, found="it has no list of entries", must_be=ALLOWED)
    if version == 1:
        return tuple(_old(name, place, entry) for place, entry in enumerate(entries))
    found = tuple(_stamped(name, place, entry) for place, entry in enumerate(entries))
    if book.get("stamp") != _stamp("".join(entry["stamp"] for entry in entries)):
        raise LogbookError("damaged", where=name, found="its stamp does not fit its entries", must_be=ALLOWED)
    return found


def whole_entries(data: bytes) -> tuple[Entry, ...]:
    """Read every entry that is still whole in a damaged logbook.

    Returns: in version 1 no entry carries a stamp, so that a letter changed inside one is not noticed there.

    >>> data = written("mine.json", [Entry("a"), Entry("b"), Entry("c")])
    >>> [entry.readings for entry in whole_entries(data[:-200])]
    ['a', 'b']
    """
    found: list[Entry] = []
    text, decoder, place = data.decode("utf-8", "replace"), json.JSONDecoder(), 0
    starts = re.compile(r'\{\s*"(?:stamp": "[0-9a-f]{64}", "entry|readings)"')
    while (start := starts.search(text, place)) is not None:
        try:
            plain, place = decoder.raw_decode(text, start.start())
            found.append(_stamped("", 0, plain) if "stamp" in plain else _old("", len(found), plain))
        except (ValueError, RecursionError):
            place = start.start() + 1
    return tuple(found)


def _old(name: str, place: int, plain: Any) -> Entry:
    """An entry of version 1; who it is follows from what it says and where, so that it stays the same if read again."""
    _check_wording(name, place, plain, _OLD)
    return Entry(**plain, written="", identity=_stamp(f"{place} {_text(plain)}")[:32])


def _stamped(name: str, place: int, plain: object) -> Entry:
    where = f"{name}, entry {place + 1}"
    if not isinstance(plain, dict) or set(plain) != {"stamp", "entry"}:
        found = ", ".join(sorted(map(str, plain))) if isinstance(plain, dict) else type(plain).__name__
        raise LogbookError(
            "damaged", where=where, found=f"it holds {found[:80]}", must_be="an entry of stamp and entry"
        )
    entry = plain["entry"]
    if plain["stamp"] != _stamp(_text(entry)):
        raise LogbookError("damaged", where=where, found="its stamp does not fit what it says", must_be=ALLOWED)
    if not isinstance(entry, dict) or set(entry) != {"identity", "wordings"} or not isinstance(entry["identity"], str):
        raise LogbookError("damaged", where=where, found="it has no identity and no versions", must_be=ALLOWED)
    if not isinstance(entry["wordings"], list) or not entry["wordings"]:
        raise LogbookError("damaged", where=where, found="it has no version", must_be="an entry of one version or more")
    wordings = [_without_no_step(wording) for wording in entry["wordings"]]
    for wording in wordings:
        _check_wording(name, place, wording, _fields_of(wording))
    return with_history(entry["identity"], [_wording(plain, entry["identity"]) for plain in wordings])


def _without_no_step(wording: Any) -> Any:
    """Leave out a step of 0, which was written once and which no solver takes: the figures tell the step."""
    none = isinstance(wording, dict) and wording.get("resolution_um") == 0
    return {field: value for field, value in wording.items() if field != "resolution_um"} if none else wording


def _plain(wording: Entry) -> dict:
    """A wording as JSON holds it; what it leaves unsaid is not written."""
    plain = {field: getattr(wording, field) for field in _PLAIN}
    more = {field: value for field in _STATED if (value := getattr(wording, field)) is not None}
    known = [{name: v for name, v in asdict(one).items() if name != "kind" or v} for one in wording.depends_on]
    return plain | more | ({"depends_on": known} if known else {})


def _fields_of(wording: object) -> Sequence[str]:
    return (*_PLAIN, *(field for field in _SINCE if isinstance(wording, dict) and field in wording))


def _wording(plain: dict, identity: str) -> Entry:
    known = tuple(DependsOn(**one) for one in plain.get("depends_on", ()))
    return Entry(**(plain | {"depends_on": known, "identity": identity}))


def _text(plain: object) -> str:
    return json.dumps(plain, sort_keys=True, allow_nan=False)


def _stamp(text: str) -> str:
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def _check_wording(name: str, place: int, wording: object, known: Sequence[str]) -> None:
    if not isinstance(wording, dict) or set(wording) != set(known):
        found = ", ".join(sorted(map(str, wording))) if isinstance(wording, dict) else type(wording).__name__
        raise LogbookError(
            "damaged",
            where=f"{name}, entry {place + 1}",
            found=f"it holds {found[:80]}",
            must_be=f"an entry of {', '.join(sorted(known))}",
        )
    for field, value in wording.items():
        where = f"{name}, entry {place + 1}, {field}"
        if field in _NUMBERS:
            if value is not None and not (type(value) in (int, float) and 0 < value < 1e6):
                raise LogbookError("number", where=where, found=str(value)[:40], must_be="a number above 0, or none")
        elif field in _STATED:
            if not (type(value) in (int, float) and 0 <= value < 1e6):
                raise LogbookError("number", where=where, found=str(value)[:40], must_be="a number of 0 or more")
        elif field == "depends_on":
            _check_depends(where, value)
        elif type(value) is not (bool if field == "struck" else str):
            raise LogbookError(
                "type", where=where, found=str(value)[:40], must_be="true or false" if field == "struck" else "text"
            )


def _check_depends(where: str, value: object) -> None:
    """What bodies are known from: a list of records with the fields of `DependsOn`, each of its type."""
    types = {field.name: str if field.type == "str" else float for field in fields(DependsOn)}
    for one in value if isinstance(value, list) else [None]:
        if (
            not isinstance(one, dict)
            or set(one) | {"kind"} != set(types)
            or not all(
                type(value) is str if types[name] is str else type(value) in (int, float) and abs(value) < 1e6
                for name, value in one.items()
            )
        ):
            raise LogbookError(
                "type", where=where, found=str(value)[:40], must_be=f"records of {', '.join(types)}, figures below 1e6"
            )
