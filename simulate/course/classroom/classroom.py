"""What is done for a class: every student's own figures, an answer key, and marks from what is handed in.

    python -m simulate class ACT [FOLDER] CLASS.csv SEED OUT

The seed is the instructor's: without it nobody can tell another student's word. Names, keys and marks are not written
into a folder that the course's server shows.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable

from simulate.core.refusal import Refusal, counted
from simulate.course.classroom.class_list import answer_key, folders, read_class, with_earlier
from simulate.course.classroom.exercise_sheets import write_sheets
from simulate.course.classroom.feedback import points, write_feedback
from simulate.course.classroom.grading import Marked, mark_class
from simulate.course.classroom.hand_out import hand_out
from simulate.course.classroom.learning_gain import gain
from simulate.course.classroom.served import keep_private, shown_by_server
from simulate.course.classroom.summary import write_summary
from simulate.course.classroom.tables import write_table


def _set(given: argparse.Namespace) -> str:
    names, out = read_class(given.list), given.out
    words = keep_private(out.parent / "words.csv", given.force)
    rows = with_earlier(words, folders(names, given.seed))
    written = hand_out(
        keep_private(out, given.force), names, given.seed, units=given.units, chosen=given.lessons, add=given.add
    )
    write_table(words, rows, given.semicolon)
    return f"{counted(len(written), 'notebook')} written. {words} says whose folder is whose; it is for you alone."


def _key(given: argparse.Namespace) -> str:
    rows = answer_key(read_class(given.list), given.seed, given.lessons, given.units)
    write_table(keep_private(given.out, given.force), rows, given.semicolon)
    return f"{len(rows)} answers written. They are for you alone."


def _sheets(given: argparse.Namespace) -> str:
    key = keep_private(given.out.with_name(f"{given.out.name}_key.pdf"), given.force)
    out = keep_private(given.out, given.force)
    written = write_sheets(out, key, read_class(given.list), given.seed, given.lessons, given.units)
    return f"{counted(len(written), 'sheet')} written, each named by its student's word. {key} is for you alone."


def _mark(given: argparse.Namespace) -> str:
    marked = _marked(given)
    write_table(keep_private(given.out, given.force), marked.rows + marked.aside, given.semicolon)
    return (
        f"{sum(bool(m.right) for m in marked.rows)} of {counted(len(marked.rows), 'question')} answered, "
        f"{counted(len(marked.aside), 'notice')} below the class."
    )


def _summary(given: argparse.Namespace) -> str:
    return (
        f"{write_summary(keep_private(given.out, given.force), _marked(given), given.semicolon, given.units)[0]} "
        "is for you alone."
    )


def _feedback(given: argparse.Namespace) -> str:
    pages = write_feedback(keep_private(given.out, given.force), _marked(given), given.units)
    return f"{counted(len(pages), 'page')} written, each named by its student's word."


def _points(given: argparse.Namespace) -> str:
    rows = points(_marked(given).rows, given.weights, given.late, given.pass_percent)
    write_table(keep_private(given.out, given.force), rows, given.semicolon)
    passed = sum(one.passed == "yes" for one in rows)
    return (
        f"{counted(len(rows), 'student')} written, {passed} of them at the pass mark of "
        f"{given.pass_percent:g} % or above."
    )


def _gain(given: argparse.Namespace) -> str:
    marked = _marked(given)
    found = gain(marked.before + marked.rows)
    if not found:
        raise Refusal(
            "missing",
            where="what was handed in",
            found="no lesson that anybody answered both before and after",
            must_be="both answers of one student at least",
        )
    write_table(given.out, found, given.semicolon)
    return f"{counted(len(found), 'lesson')} written."


def _marked(given: argparse.Namespace) -> Marked:
    marked = mark_class(
        given.folder, read_class(given.list), given.seed, given.lessons, given.units, given.counts, given.until
    )
    if not marked.belongs:
        print(marked.aside[0].told, file=sys.stderr)
    return marked


_ACTS: dict[str, Callable[[argparse.Namespace], str]] = {
    "set": _set,
    "key": _key,
    "sheets": _sheets,
    "mark": _mark,
    "summary": _summary,
    "feedback": _feedback,
    "points": _points,
    "gain": _gain,
}


def done_for_class(given: argparse.Namespace) -> str:
    """Make a class set, its key, its marks or what follows from them; say what was written."""
    if shown_by_server(given.list) and not given.force:
        print(
            f"{given.list} holds names, and the course's server shows it to whoever is on it: move it out of there.",
            file=sys.stderr,
        )
    if given.out.resolve() == given.list.resolve():
        raise Refusal("place", where=str(given.out), found="the class list itself", must_be="another file")
    return _ACTS[given.act](given)
