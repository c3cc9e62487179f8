"""What an instructor has to look at beside the marks: files that gave nothing, copies, words of nobody, other
versions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath

from simulate.course.classroom.class_list import exercises_of
from simulate.course.classroom.handed_in import HandedIn
from simulate.course.exercise.standing import is_again

_MOST_NAMED = 5


@dataclass(frozen=True, kw_only=True)
class Noticed:
    """One sentence below the class.

    `file`, `word`: what it is about; empty where it is about neither.
    """

    file: str = ""
    word: str = ""
    told: str


def noticed(files: Sequence[HandedIn], words: Mapping[str, str]) -> list[Noticed]:
    """Return what is to be looked at, file by file.

    `words`: name -> word of each student.
    """
    names = {word: name for name, word in words.items()}
    known = {name for _, name in exercises_of()}
    found = [
        Noticed(file=file.file, word=file.own, told=f"{file.file} {told}")
        for file in files
        for told in _of_file(file, names, known)
    ]
    if not any(r.student in names for file in files for r in file.records):
        found.insert(
            0, Noticed(told="no answer belongs to this class: is the seed the one that the class set was made with?")
        )
    return found + list(_copies(files, names))


def _of_file(file: HandedIn, names: Mapping[str, str], known: set[str]) -> Iterator[str]:
    yield from file.told
    students = list(dict.fromkeys(r.student for r in file.records))
    strangers = [s for s in students if s not in names]
    if strangers:
        yield f"holds answers under {_listed(strangers)}: this word belongs to nobody in the class"
    others = [names[s] for s in students if s in names and s != file.own]
    if file.own and others:
        yield (
            f"holds answers of {_listed(others)}, but the notebook is that of "
            f"{names.get(file.own, 'nobody in the class')!r}"
        )
    elif file.own and file.own not in names:
        yield f"is the notebook of {file.own!r}, a word that belongs to nobody in the class"
    place = [
        part for part in PurePosixPath(file.file).parts[:-1] if part in names and part not in (file.own, *students)
    ]
    if place and (file.own or students):
        yield f"lies in the folder of {names[place[-1]]!r} and holds none of their answers"
    strange = list(
        dict.fromkeys(r.exercise for r in file.records if r.exercise not in known and not is_again(r.exercise))
    )
    if strange:
        made = sorted({t.course for r in file.records if r.exercise in strange for t in r.tries if t.course})
        yield (
            f"holds answers to {_listed(strange)}, which this version of the course does not "
            f"ask{f' (made by {_listed(made)})' if made else ''}"
        )


def _copies(files: Sequence[HandedIn], names: Mapping[str, str]) -> Iterator[Noticed]:
    """Name notebooks of one lesson that hold the very same answers of the same student."""
    seen: dict[tuple, str] = {}
    for file in files:
        ours = tuple(sorted((r.student, r.exercise, r.seal) for r in file.records))
        if not ours or not file.lesson:
            continue
        earlier = seen.setdefault((file.lesson, file.own, ours), file.file)
        if earlier != file.file:
            yield Noticed(
                file=file.file,
                word=file.own,
                told=f"{file.file} is a copy of {earlier}: the same answers of "
                f"{_listed(dict.fromkeys(names.get(s, s) for s, _, _ in ours))}; did somebody hand in another's file?",
            )


def _listed(words: Iterable[str]) -> str:
    every = [word[:60] for word in words]
    more = len(every) - _MOST_NAMED
    return ", ".join(map(repr, every[:_MOST_NAMED])) + (f" and {more} more" if more > 0 else "")
