"""The learner's logbook: raw readings and notes, in a file that is written whole or not at all."""

from __future__ import annotations

import errno
import json
import os
import secrets
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields
from pathlib import Path

FORMAT, VERSION = "three-bar logbook", 1
LARGEST_BYTES = 50_000_000
PART_AGE_S = 60.0
_ALLOWED = "a logbook that this course saved"


class LogbookError(ValueError):
    """A logbook cannot be saved or opened, in one sentence."""


@dataclass(frozen=True)
class Entry:
    """One set of readings as it was taken.

    Attributes
    ----------
    readings : str
        The whole text of the readings file, unchanged.
    name : str
        What the file was called.
    note : str
        The learner's own words.
    units : str
        What the figures are in.
    reading_sd_um : float or None
        The spread of one reading, where the learner gave it.
    taken : str
        When, in the learner's own words or as a date.
    """

    readings: str
    name: str = "readings.csv"
    note: str = ""
    units: str = "heights in um, positions in mm"
    reading_sd_um: float | None = None
    taken: str = ""


def save_logbook(path: str | os.PathLike, entries: Sequence[Entry]) -> None:
    """Save a logbook whole or not at all.

    A new file is written beside the old one, brought to the disk, and then takes the old one's name in one step:
    whoever is killed half way leaves the old logbook as it was. What such a one left lying is swept away later.

    Parameters
    ----------
    path : str or os.PathLike
    entries : sequence of Entry

    Raises
    ------
    LogbookError
        Where an entry is not one, or the folder or the disk refuses; the old logbook then stands unchanged.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     save_logbook(f"{folder}/mine.json", [Entry("lower,upper,position_mm,gap_um", note="cold shop")])
    ...     open_logbook(f"{folder}/mine.json")[0].note
    'cold shop'
    """
    write_whole(path, _written(os.path.basename(os.fspath(path)), entries))


def write_whole(path: str | os.PathLike, data: bytes) -> None:
    """Write a file whole or not at all.

    Parameters
    ----------
    path : str or os.PathLike
    data : bytes

    Raises
    ------
    LogbookError
        Where the folder or the disk refuses; what was there before then stands unchanged.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     write_whole(f"{folder}/mine.json", b"{}")
    ...     os.listdir(folder)
    ['mine.json']
    """
    target = Path(os.path.realpath(path))
    part = target.with_name(f".{target.name}.{secrets.token_hex(8)}.part")
    try:
        if target.is_dir():
            raise IsADirectoryError(errno.EISDIR, "it is a folder")
        _sweep(target)
        _write_through(part, data)
        os.replace(part, target)
        _sync_folder(target.parent)
    except OSError as error:
        raise LogbookError(f"{target.name} was not saved ({_reason(error)}), and what was there before is unchanged; "
                           "allowed is a folder that can be written to, with room on the disk.") from None
    finally:
        try:
            part.unlink(missing_ok=True)
        except OSError:
            pass


def open_logbook(path: str | os.PathLike) -> tuple[Entry, ...]:
    """Open a logbook that was saved before.

    Parameters
    ----------
    path : str or os.PathLike

    Returns
    -------
    tuple of Entry

    Raises
    ------
    LogbookError
        Where it is missing, damaged, no logbook, or from a newer version of this course.
    """
    name = os.path.basename(os.fspath(path))
    try:
        with open(path, "rb") as opened:
            data = opened.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        raise LogbookError(f"{name} cannot be opened ({_reason(error)}); allowed is {_ALLOWED}.") from None
    if len(data) > LARGEST_BYTES:
        raise LogbookError(f"{name} is larger than {LARGEST_BYTES // 1_000_000} MB; allowed is {_ALLOWED}.")
    return _read(name, data)


def _written(name: str, entries: Sequence[Entry]) -> bytes:
    for place, entry in enumerate(entries):
        if not isinstance(entry, Entry):
            raise LogbookError(f"{name}, entry {place + 1}: a {type(entry).__name__} was given; allowed is an Entry.")
        _check_fields(name, place, asdict(entry))
    book = {"format": FORMAT, "version": VERSION, "entries": [asdict(entry) for entry in entries]}
    data = json.dumps(book, indent=1, allow_nan=False).encode("ascii")
    if len(data) > LARGEST_BYTES:
        raise LogbookError(f"{name} would be {len(data)} bytes; allowed are {LARGEST_BYTES}.")
    return data


def _read(name: str, data: bytes) -> tuple[Entry, ...]:
    try:
        book = json.loads(data.decode("utf-8"))
    except (ValueError, RecursionError) as error:
        where = f"line {error.lineno}" if isinstance(error, json.JSONDecodeError) else "its text"
        raise LogbookError(f"{name} is damaged at {where}; allowed is {_ALLOWED}.") from None
    if not isinstance(book, dict) or book.get("format") != FORMAT:
        raise LogbookError(f"{name} is no logbook (its format is not {FORMAT!r}); allowed is {_ALLOWED}.")
    version, entries = book.get("version"), book.get("entries")
    if type(version) is int and version > VERSION:
        raise LogbookError(f"{name} has version {version}; this course opens versions up to {VERSION}, so update the course.")
    if type(version) is not int or version < 1:
        raise LogbookError(f"{name} is damaged: its version is {str(version)[:40]!r}; allowed is 1 to {VERSION}.")
    if not isinstance(entries, list):
        raise LogbookError(f"{name} is damaged: it has no list of entries; allowed is {_ALLOWED}.")
    for place, entry in enumerate(entries):
        _check_fields(name, place, entry)
    return tuple(Entry(**entry) for entry in entries)


def _check_fields(name: str, place: int, entry: object) -> None:
    known = {field.name for field in fields(Entry)}
    if not isinstance(entry, dict) or set(entry) != known:
        found = ", ".join(sorted(map(str, entry))) if isinstance(entry, dict) else type(entry).__name__
        raise LogbookError(f"{name}, entry {place + 1} holds {found[:80]}; allowed are {', '.join(sorted(known))}.")
    for field, value in entry.items():
        if field == "reading_sd_um":
            number = type(value) in (int, float) and 0 < value < 1e6
            if value is not None and not number:
                raise LogbookError(f"{name}, entry {place + 1}, {field} is {str(value)[:40]}; allowed is a number above 0, or none.")
        elif not isinstance(value, str):
            raise LogbookError(f"{name}, entry {place + 1}, {field} is {str(value)[:40]}; allowed is text.")


def _write_through(part: Path, data: bytes) -> None:
    descriptor = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    with os.fdopen(descriptor, "wb") as opened:
        opened.write(data)
        opened.flush()
        os.fsync(opened.fileno())


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":  # a folder cannot be opened there
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):  # some shared folders know no such thing
            raise
    finally:
        os.close(descriptor)


def _sweep(target: Path) -> None:
    """Remove what a save that was killed left lying, but not what another is writing now."""
    for left in target.parent.iterdir():
        if not (left.name.startswith(f".{target.name}.") and left.name.endswith(".part")):
            continue
        try:
            if time.time() - left.stat().st_mtime > PART_AGE_S:
                left.unlink()
        except OSError:
            continue


def _reason(error: Exception) -> str:
    return (getattr(error, "strerror", None) or "no such path").lower()
