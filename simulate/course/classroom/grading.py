"""Marks from what was handed in; nothing of it is run."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from simulate.course.asking.check_answer import SHOWN, Kind, Verdict, judge
from simulate.course.classroom.class_list import class_set, exercises_of, set_sign
from simulate.course.classroom.handed_in import HandedIn, collect
from simulate.course.classroom.judged import Judged, judged, which_counts
from simulate.course.classroom.noticed import noticed
from simulate.course.exercise.answer_record import Answer
from simulate.course.exercise.pre_question import asked, is_before
from simulate.show.units.switch import in_both


@dataclass(frozen=True, kw_only=True)
class Mark:
    """One answer handed in, or one exercise left out; below the class, what else is to be looked at.

    `first`, `first_misconception`: the first answer that the exercise took, and the way of thinking behind it where it
    has a name. `given`: the answer that counts: the first right one, or the last; empty where there is none. `right`,
    `right_at_first`: ``"yes"``, ``"no"``, or empty where nothing was answered. `tries`: up to the answer that counts.
    `told`: "Right", the misconception of the answer that counts, "Not yet", "not answered"; below the class a sentence.
    `at`: when it was answered, UTC; empty in records of older versions. `late`: ``"yes"`` or ``"no"`` where a time was
    set and the answer holds one. `course`: version of the course that took the answer. `file`: where it stood. `note`:
    what the instructor should look at. `shown`: ``"yes"`` where the exercise had shown the working before the answer
    was right: it brings no point.
    """

    name: str = ""
    word: str = ""
    lesson: str = ""
    exercise: str = ""
    first: str = ""
    first_misconception: str = ""
    given: str = ""
    right: str = ""
    right_at_first: str = ""
    tries: int = 0
    told: str = ""
    at: str = ""
    late: str = ""
    course: str = ""
    file: str = ""
    note: str = ""
    shown: str = ""


@dataclass(frozen=True, kw_only=True)
class Marked:
    """A class, marked.

    `rows`: one for each student and exercise. `before`: the same for the questions before the lessons, which are not
    part of any mark. `aside`: what else the hand-ins hold, and the files that gave nothing. `belongs`: whether any
    answer belongs to this class at all.
    """

    rows: list[Mark]
    before: list[Mark]
    aside: list[Mark]
    belongs: bool


def mark_class(
    folder: Path,
    names: Sequence[str],
    seed: int | str,
    lessons: Sequence[str] | None = None,
    units: str = "mm",
    counts: str = "best",
    until: datetime | None = None,
) -> Marked:
    """Mark what a class handed in, by each student's own figures.

    `folder`: searched with its folders for notebooks and files of answers, whatever they are called. Nothing in them is
    run. `lessons`: two digits each; all where not given. `units` ({"mm", "inch"}): ``"inch"`` puts inches beside the
    lengths of what an answer got back; answers count in any unit either way. `counts` ({"best", "latest"}): which of
    several hand-ins of one answer counts. ``"latest"`` goes by the times stored in the answers, and then the notebooks
    handed out to a student count before all others. `until`: what was answered later is late.

    It does not see who typed an answer. An answer under another student's word
    counts for that student, never for the file's. An answer whose seal does not
    fit was changed by hand and does not count.
    """
    words = class_set(names, seed)
    wanted = exercises_of(lessons)
    files = _owned(collect(folder), {set_sign(word, seed): word for word in words.values()})
    handed: dict[tuple[str, str], list[tuple[HandedIn, Answer]]] = {}
    for file in files:
        for record in file.records:
            handed.setdefault((record.student, record.exercise), []).append((file, record))
    rows = [
        _mark(name, word, lesson, asks, handed.get((word, asks), []), counts, until)
        for name, word in words.items()
        for lesson, asks in wanted
    ]
    rows = [replace(row, told=in_both(row.told, units)) for row in rows]
    aside = [Mark(told=n.told, file=n.file, word=n.word) for n in noticed(files, words)]
    return Marked(
        rows=[r for r in rows if not is_before(r.exercise)],
        before=[r for r in rows if is_before(r.exercise)],
        aside=aside,
        belongs=any(word in words.values() for word, _ in handed),
    )


def _owned(files: Sequence[HandedIn], signs: Mapping[str, str]) -> list[HandedIn]:
    """Give each notebook of this class set to whom it was handed out, whatever word was typed into it since."""
    return [
        replace(file, own=signs.get(file.sign, file.own), sign=file.sign if file.sign in signs else "")
        for file in files
    ]


def _mark(
    name: str,
    word: str,
    lesson: str,
    asks: str,
    handed: Sequence[tuple[HandedIn, Answer]],
    counts: str,
    until: datetime | None,
) -> Mark:
    """Return the row of one student and exercise."""
    question = asked(asks, word)
    whole = [one for file, record in handed if record.untouched and (one := judged(file, record, question))]
    notes = [
        f"changed by hand: {record.last[:80]!r} in {file.file} does not count"
        for file, record in handed
        if not record.untouched
    ][:3]
    row = Mark(name=name, word=word, lesson=lesson, exercise=asks)
    if not whole:
        return replace(row, told="not answered", note="; ".join(notes))
    best, others = which_counts(whole, word, counts)
    if others:
        notes.append(
            f"handed in {1 + len(others)} times, in different versions: the {counts} counts, not "
            + ", ".join(sorted({o.file.file for o in others})[:3])
        )
    foreign = {one.file.file: one.file.own for one in (best, *others) if one.file.own not in ("", word)}
    notes += [f"{file} is the notebook of {own!r}" for file, own in foreign.items()][:3]
    told = best.try_.kind
    if told and not is_before(asks) and (told == Kind.RIGHT) != best.right:
        notes.append(f"version {best.try_.course} of the course said {told!r} then: look at it")
    return _filled(row, best, until, "; ".join(notes), judge(question, best.first))


def _filled(row: Mark, best: Judged, until: datetime | None, note: str, first: Verdict) -> Mark:
    told = (
        f"Right, {SHOWN}"
        if best.right and best.shown
        else "Right"
        if best.right
        else best.verdict.misconception or "Not yet"
    )
    late = "" if until is None or not best.try_.at else "yes" if best.try_.at > stamp(until) else "no"
    return replace(
        row,
        first=best.first,
        first_misconception=first.misconception,
        given=best.try_.given,
        right="yes" if best.right else "no",
        right_at_first="yes" if best.right_at_first else "no",
        tries=best.tries,
        told=told,
        at=best.try_.at,
        late=late,
        course=best.try_.course,
        file=best.file.file,
        note=note,
        shown="yes" if best.right and best.shown else "",
    )


def stamp(when: datetime) -> str:
    """Return a time as the answers hold it.

    `when`: without a zone it is the time of this machine.
    """
    return when.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
