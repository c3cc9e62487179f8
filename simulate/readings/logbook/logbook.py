"""The learner's logbook: raw readings and notes of every kind, with their history, in one file.

It is written whole or not at all, and two notebooks that write into one lose nothing of each other.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from simulate.core.atomic_files import LARGEST_BYTES, LogbookError, locked, read_bytes, write_whole
from simulate.readings.logbook.entry import Entry, edited, gone_back, history
from simulate.readings.logbook.file_format import ALLOWED, FORMAT, VERSION, read, whole_entries, written
from simulate.readings.logbook.merge import Merged, merge

__all__ = [
    "FORMAT",
    "LARGEST_BYTES",
    "VERSION",
    "Entry",
    "LogbookError",
    "Merged",
    "Rescued",
    "edited",
    "example_job",
    "gone_back",
    "history",
    "open_logbook",
    "rescue_logbook",
    "save_logbook",
    "write_whole",
]


@dataclass(frozen=True)
class Rescued:
    """What is still whole in a damaged logbook, and the sentence that says so."""

    entries: tuple[Entry, ...]
    sentence: str


def example_job() -> Path:
    """Return where the logbook of a whole invented job lies, from three black bars to an aligned headstock.

    >>> len(open_logbook(example_job()))
    15
    """
    return Path(__file__).with_name("example_job.json")


def save_logbook(path: str | os.PathLike, entries: Sequence[Entry]) -> Merged:
    """Save entries into a logbook, whole or not at all, beside those that another notebook saved there.

    Returns: what the logbook holds now. An entry that stands in the file and was not given stays there: a logbook never
    shrinks. To take an entry out of every result, strike it out: ``edited(entry, struck=True)``.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     saved = save_logbook(f"{folder}/mine.json", [Entry("lower,upper,position_mm,gap_um", note="cold shop")])
    ...     open_logbook(f"{folder}/mine.json")[0].note
    'cold shop'
    """
    name = os.path.basename(os.fspath(path))
    written(name, entries)  # refuses what is no entry before anything is touched
    with locked(path):
        theirs: tuple[Entry, ...] = ()
        if os.path.isfile(path):
            try:
                theirs = read(name, read_bytes(path, ALLOWED))
            except LogbookError as refusal:
                raise LogbookError(
                    "file",
                    where=name,
                    found=f"was not saved, and the file there is unchanged: {refusal.clause}",
                    must_be="a logbook that this course saved",
                    do="Save under another name",
                ) from None
        merged = merge(theirs, entries)
        write_whole(path, written(name, merged.entries))
    return merged


def open_logbook(path: str | os.PathLike) -> tuple[Entry, ...]:
    """Open a logbook that was saved before, by this version of the course or an older one."""
    return read(os.path.basename(os.fspath(path)), read_bytes(path, ALLOWED))


def rescue_logbook(path: str | os.PathLike) -> Rescued:
    """Read what is still whole in a damaged logbook; the file itself stays as it is.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     saved = save_logbook(f"{folder}/mine.json", [Entry("a"), Entry("b")])
    ...     with open(f"{folder}/mine.json", "r+b") as opened:
    ...         size = opened.truncate(600)
    ...     print(rescue_logbook(f"{folder}/mine.json").sentence)
    mine.json is damaged: 1 set of readings in it is whole and was read, and the file stays as it is.
    """
    name = os.path.basename(os.fspath(path))
    found = whole_entries(read_bytes(path, ALLOWED))
    if not found:
        raise LogbookError("damaged", where=name, found="no set of readings in it is whole", must_be=ALLOWED)
    many = len(found) > 1
    return Rescued(
        found,
        f"{name} is damaged: {len(found)} set{'s' if many else ''} of readings in it {'are' if many else 'is'} "
        f"whole and {'were' if many else 'was'} read, and the file stays as it is.",
    )
