"""Class sets: every student's own figures, an answer key, and marks from what is handed in.

    python -m simulate.show.classroom set CLASS.csv SEED OUT_FOLDER
    python -m simulate.show.classroom key CLASS.csv SEED KEY.csv
    python -m simulate.show.classroom mark FOLDER CLASS.csv SEED MARKS.csv
    python -m simulate.show.classroom summary FOLDER CLASS.csv SEED OUT_FOLDER
    python -m simulate.show.classroom feedback FOLDER CLASS.csv SEED OUT_FOLDER
    python -m simulate.show.classroom points FOLDER CLASS.csv SEED POINTS.csv
    python -m simulate.show.classroom gain FOLDER CLASS.csv SEED GAIN.csv

The seed is the instructor's: without it nobody can tell another student's word. Names, keys and marks are not written into a
folder that the course's server shows.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path

from simulate.core.refusal import Refusal
from simulate.show.class_list import answer_key, folders, read_class
from simulate.show.exercise import lessons as every_lesson
from simulate.show.feedback import points, write_feedback
from simulate.show.gain import gain
from simulate.show.hand_out import hand_out
from simulate.show.marking import COUNTS, Marked, mark_class
from simulate.show.served import keep_private, shown_by_server
from simulate.show.summary import write_summary
from simulate.show.tables import write_table

_USAGE = __doc__.split("\n\n")[1]


def _set(given: argparse.Namespace) -> str:
    names, out = read_class(given.list), given.out
    words = keep_private(out.parent / "words.csv", given.force)
    written = hand_out(keep_private(out, given.force), names, given.seed, units=given.units, chosen=given.lessons, add=given.add)
    write_table(words, folders(names, given.seed), given.semicolon)
    return f"{len(written)} notebooks written. {words} says whose folder is whose; it is for you alone."


def _key(given: argparse.Namespace) -> str:
    rows = answer_key(read_class(given.list), given.seed, given.lessons, given.units)
    write_table(keep_private(given.out, given.force), rows, given.semicolon)
    return f"{len(rows)} answers written. They are for you alone."


def _mark(given: argparse.Namespace) -> str:
    marked = _marked(given)
    write_table(keep_private(given.out, given.force), marked.rows + marked.aside, given.semicolon)
    return (f"{sum(bool(m.right) for m in marked.rows)} of {len(marked.rows)} questions answered, {len(marked.aside)} "
            f"notice{'' if len(marked.aside) == 1 else 's'} below the class.")


def _summary(given: argparse.Namespace) -> str:
    return f"{write_summary(keep_private(given.out, given.force), _marked(given), given.semicolon, given.units)[0]} is for you alone."


def _feedback(given: argparse.Namespace) -> str:
    pages = write_feedback(keep_private(given.out, given.force), _marked(given), given.units)
    return f"{len(pages)} pages written, each named by its student's word."


def _points(given: argparse.Namespace) -> str:
    rows = points(_marked(given).rows, given.weights, given.late)
    write_table(keep_private(given.out, given.force), rows, given.semicolon)
    return f"{len(rows)} students written."


def _gain(given: argparse.Namespace) -> str:
    marked = _marked(given)
    found = gain(marked.before + marked.rows)
    if not found:
        raise Refusal("missing", where="what was handed in",
                      found="no lesson that anybody answered both before and after",
                      must_be="both answers of one student at least")
    write_table(given.out, found, given.semicolon)
    return f"{len(found)} lessons written."


def _marked(given: argparse.Namespace) -> Marked:
    marked = mark_class(given.folder, read_class(given.list), given.seed, given.lessons, given.units, given.counts, given.until)
    if not marked.belongs:
        print(marked.aside[0].told, file=sys.stderr)
    return marked


_ACTS: dict[str, Callable[[argparse.Namespace], str]] = {
    "set": _set, "key": _key, "mark": _mark, "summary": _summary, "feedback": _feedback, "points": _points, "gain": _gain}


def _lessons(text: str) -> list[str]:
    found = text.replace(",", " ").split()
    unknown = [lesson for lesson in found if lesson not in every_lesson()]
    if unknown or not found:
        raise argparse.ArgumentTypeError(f"{text!r} names no lessons; two digits each, with commas, such as 03,04")
    return found


def _parts(text: str) -> tuple[float, ...]:
    found = tuple(float(part) for part in text.split(","))
    if not all(0 <= part <= 1000 for part in found):
        raise argparse.ArgumentTypeError(f"{text!r}: each weight is 0 to 1000")
    return found


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m simulate.show.classroom", usage=f"\n{_USAGE}\n")
    acts = parser.add_subparsers(dest="act", required=True)
    for act in _ACTS:
        one = acts.add_parser(act)
        if act not in ("set", "key"):
            one.add_argument("folder", type=Path)
        one.add_argument("list", type=Path)
        one.add_argument("seed")
        one.add_argument("out", type=Path)
        one.add_argument("--inch", dest="units", action="store_const", const="inch", default="mm", help="lengths in thou and inches")
        one.add_argument("--lessons", type=_lessons, help="only these, such as 03,04")
        one.add_argument("--semicolon", action="store_true", help="tables parted by semicolons, with decimal commas")
        one.add_argument("--force", action="store_true", help="write where the course's server shows it, all the same")
        one.add_argument("--add", action="store_true", help="of a set, write only what is missing, as for a late joiner")
        one.add_argument("--counts", choices=COUNTS, default="best", help="which of several hand-ins counts")
        one.add_argument("--until", type=datetime.fromisoformat, help="later is late, such as 2026-01-31T12:00; the time of this machine")
        one.add_argument("--weights", type=_parts, default=(1.0,), help="points at the first try, the second, ..., such as 1,0.5,0.25")
        one.add_argument("--late", type=float, default=1.0, help="part left of a late answer, such as 0.5")
    return parser


def main(arguments: Sequence[str]) -> int:
    """Make a class set, its key, its marks and what follows from them; return 0 where that went well.

    Parameters
    ----------
    arguments : sequence of str

    Returns
    -------
    int
    """
    try:
        given = _parser().parse_args(arguments)
    except SystemExit as refused:
        return int(refused.code or 0)
    if shown_by_server(given.list) and not given.force:
        print(f"{given.list} holds names, and the course's server shows it to whoever is on it: move it out of there.", file=sys.stderr)
    try:
        print(_ACTS[given.act](given))
    except (Refusal, OSError) as refused:
        print(refused, file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
