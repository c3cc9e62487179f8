"""What was handed in, file by file: read within bounds, nothing of it run or opened, and every file that gave nothing
named."""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from simulate.core.refusal import Refusal
from simulate.course.exercise.answer_record import Answer, merged_all
from simulate.course.exercise.answer_text import read_lines
from simulate.course.exercise.answers_file import FORMAT, read_book, read_written
from simulate.course.exercise.notebook_text import read_json, read_notebook

LARGEST_BYTES = 20_000_000
"""Of one file: a lesson with every film of it has less than a fifth."""

MOST_FILES, MOST_ANSWERS = 20_000, 5_000
_PASSED_OVER = re.compile(
    r"\.(?!ipynb).*|my_(practice|units|logbook|links|draft).*\.(json|csv|txt)|thumbs\.db|desktop\.ini", re.IGNORECASE
)
"""What systems and lessons leave in a folder; a notebook is read whatever it is called."""
_PACKED = re.compile(r".*\.(zip|7z|rar|tar|gz|tgz|bz2|xz|zipx)", re.IGNORECASE)
_UNPACK = "is an archive: unpack it, and mark again"


@dataclass(frozen=True, kw_only=True)
class HandedIn:
    """One file.

    `file`: its path in the folder. `own`: the word of the notebook's own `student`; empty for a file of answers.
    `sign`: what the class set put into the notebook. `lesson`: two digits; empty where the file does not say. `told`:
    what is wrong with it, each as a sentence that the file's name begins.
    """

    file: str
    records: tuple[Answer, ...] = ()
    own: str = ""
    sign: str = ""
    lesson: str = ""
    told: tuple[str, ...] = ()


def collect(folder: Path) -> list[HandedIn]:
    """Read every file of a folder and of the folders in it.

    Returns: in the order of their paths, whatever they hold.

    Links are not followed, and what is packed is not unpacked. A name counts for
    nothing: a notebook that mail or a phone called ``x.ipynb.txt`` is read too.
    """
    if not folder.is_dir():
        raise Refusal(
            "file",
            where=folder.name,
            found="is not a folder that can be read",
            must_be="the folder of what was handed in",
        )
    found = []
    for path in _files(folder):
        if len(found) == MOST_FILES:
            raise Refusal(
                "count",
                where=f"{folder.name!r}",
                found=f"more than {MOST_FILES} files",
                must_be="the files of one class",
                do="Take another folder",
            )
        found.append(_read(path, _name(path.relative_to(folder))))
    if not found:
        raise Refusal(
            "missing", where=f"{folder.name!r}", found="no notebook", must_be="the files handed in, which end in .ipynb"
        )
    return found


def _files(folder: Path) -> Iterator[Path]:
    for place, folders, files in os.walk(folder, followlinks=False):
        linked = [f for f in folders if os.path.islink(os.path.join(place, f)) or f.lower().endswith(".ipynb")]
        folders[:] = sorted(f for f in folders if not f.startswith(".") and f not in linked)
        yield from (Path(place, f) for f in sorted([*files, *linked]) if not _PASSED_OVER.fullmatch(f))


def _name(path: Path) -> str:
    return path.as_posix().encode("utf-8", "surrogateescape").decode("utf-8", "replace")[:300]


def _read(path: Path, name: str) -> HandedIn:
    try:
        data = _bytes(path)
        return _take(data, name)
    except Refusal as refused:
        return HandedIn(file=name, told=(refused.found,))
    except Exception as fault:  # of whatever kind: one bad file must not stop the marks of the others, and it is named
        return HandedIn(file=name, told=(f"could not be read ({type(fault).__name__})",))


def _bytes(path: Path) -> bytes:
    """Return what a plain file of bearable size holds."""
    about = path.lstat()
    if stat.S_ISLNK(about.st_mode):
        raise Refusal("file", found="is a link, and links are not followed")
    if not stat.S_ISREG(about.st_mode):
        raise Refusal("file", found="is not an ordinary file")
    if _PACKED.fullmatch(path.name):
        raise Refusal("file", found=_UNPACK)
    if about.st_size > LARGEST_BYTES:
        raise Refusal("large", found=f"is larger than {LARGEST_BYTES // 1_000_000} MB")
    with open(path, "rb") as opened:
        data = opened.read(LARGEST_BYTES + 1)
    if not data.strip():
        raise Refusal("file", found="is empty")
    if data[:4] in (b"PK\x03\x04", b"Rar!", b"7z\xbc\xaf") or data[:2] == b"\x1f\x8b":
        raise Refusal("file", found=_UNPACK)
    return data


def _take(data: bytes, name: str) -> HandedIn:
    """Read a notebook, or a file of answers."""
    answers = FORMAT.encode() in data[:200]
    try:
        book = read_json(data)
    except Refusal:
        if not answers:
            raise
        records, _ = read_written(data)
        return HandedIn(file=name, records=records[:MOST_ANSWERS], told=("is damaged: what is whole in it counts",))
    if isinstance(book, dict) and book.get("format") == FORMAT:
        records, whole = read_book(book)
        return HandedIn(
            file=name, records=records[:MOST_ANSWERS], told=() if whole else ("is damaged: what is whole in it counts",)
        )
    stored = read_notebook(book)
    found, broken = read_lines("\n".join(stored.lists))
    told = []
    if broken:
        told.append(
            f"holds {broken} "
            f"line{'s that begin like answers but are not' if broken > 1 else ' that begins like an answer but is not'}"
        )
    if len(found) > MOST_ANSWERS:
        told.append(f"holds {len(found)} answers, of which the first {MOST_ANSWERS} were read")
    if not found:
        told.append(
            "holds no answer: was its first cell run, and the file saved?"
            if stored.ran
            else "holds no answer: it was never run, or its outputs were cleared"
        )
    return HandedIn(
        file=name,
        records=merged_all(found[:MOST_ANSWERS]),
        own=stored.own,
        sign=stored.sign,
        lesson=stored.lesson,
        told=tuple(told),
    )
