"""The one command line of the course: ``python -m simulate --help``.

What a command needs is loaded when it runs, so that help comes at once.
"""

from __future__ import annotations

import argparse
import sys
import webbrowser
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from simulate.core.refusal import Refusal

ACTS = {
    "set": "each student's own notebooks, and words.csv, which says whose folder is whose",
    "key": "the right answers, for the instructor only",
    "sheets": "exercises of each student to print, with room to write, and their key",
    "mark": "one row for each student and exercise of what was handed in",
    "summary": "one page of students, questions and beliefs",
    "feedback": "a page for each student",
    "points": "a table for a learning platform",
    "gain": "the question before each lesson against the same kind after it",
}
"""What can be done for a class; `simulate.course.classroom.classroom` does it."""


def _refresh(given: argparse.Namespace) -> int:
    from simulate.course.notebook.manifest import write_readme
    from simulate.course.notebook.refresh import refresh_all

    write_readme()
    return 1 if refresh_all(given.lessons) else 0


def _new_lesson(given: argparse.Namespace) -> int:
    from simulate.course.notebook.new_lesson import new_lesson
    from simulate.course.notebook.refresh import refresh_all

    made = new_lesson(given.number, given.name, given.panel)
    lessons = [path.stem[:2] for path in made if path.suffix == ".ipynb"]
    failed = refresh_all(lessons)
    print("Made or changed:", *made, sep="\n")
    print("Fill in each TODO but those of README and of stored outputs, then: python -m simulate refresh", *lessons)
    return 1 if failed else 0


def _pages(given: argparse.Namespace) -> int:
    from simulate.course.publish import static_pages

    built = static_pages.build(given.out, positions=0 if given.still else 4, units=given.units)
    print(static_pages.size_in_words(built))
    return 0


def _projector(given: argparse.Namespace) -> int:
    from simulate.course.wall.projector import build

    pages = build(given.out, given.lessons, given.units, lambda words: print(words, file=sys.stderr, flush=True))
    size = sum(page.stat().st_size for page in pages) / 1e6
    print(f"{len(pages)} pages, {size:.1f} megabytes. Open index.html there; presenter.html is for you.")
    if given.open and pages:
        webbrowser.open(pages[0].resolve().as_uri())
    return 0


def _cards(given: argparse.Namespace) -> int:
    from simulate.course.publish.bench_cards import write_cards, write_own_card

    if given.own:
        written = write_own_card(given.out, given.own, given.units)
    else:
        written = write_cards(given.out, given.lessons, given.units)
    print(f"{len(written)} bench card{'s' * (len(written) != 1)} written to {given.out}.")
    return 0


def _plan(given: argparse.Namespace) -> int:
    from simulate.course.teaching.course_records import course_of
    from simulate.course.teaching.plan_sheets import write_plans

    written = write_plans(
        given.out, [course_of(key) for key in given.courses], given.students, given.pass_percent, given.units
    )
    print(f"{len(written)} plan{'s' * (len(written) != 1)} written to {given.out}.")
    return 0


def _browser(given: argparse.Namespace) -> int:
    from simulate.course.publish.browser_site import build

    build(given.out, *([given.pyodide] if given.pyodide else []))
    size = sum(p.stat().st_size for p in given.out.rglob("*") if p.is_file()) / 1e6
    print(
        f"A site of {size:.0f} megabytes. Serve the folder as plain files, and open "
        "lab/index.html?path=lessons/00_start_here.ipynb."
    )
    return 0


def _bench_page(given: argparse.Namespace) -> int:
    from simulate.show.own.phone.bench_page import LOGBOOK, PORT, served

    print(served(given.folder, given.address, given.port or PORT, given.logbook or LOGBOOK, given.hours))
    return 0


def _print_photo(given: argparse.Namespace) -> int:
    from simulate.readings.logbook.logbook import write_whole
    from simulate.readings.photo.edge_stations import RIM, print_stations
    from simulate.readings.photo.print_photo import read_print_photo
    from simulate.readings.photo.print_places import Laid, print_text, with_print
    from simulate.show.own.photo.print_photo import outlined, places_hidden, print_photo_sentences

    told = read_print_photo(given.photo, given.corners, *given.size, RIM * given.size[1] if given.edge else 0.0)
    if given.edge:
        places = print_stations(told, given.stations)
        laid = Laid(lower=given.lower, upper=given.upper, film_um=given.film, turned=180 if given.turned else 0)
        write_whole(given.edge, with_print(print_text(kind="bars"), places, laid).encode())
        printed, seen = int(places.printed.sum()), int(places.seen.sum())
        print(f"{printed} of {seen} stations printed; readings of bars in {given.edge}.", *places_hidden(places))
    write_whole(given.out, outlined(told))
    print(
        *print_photo_sentences(told), f"Every mark that was counted is outlined in {given.out}: look at it.", sep="\n"
    )
    return 0


def _class(given: argparse.Namespace) -> int:
    from simulate.course.classroom.classroom import done_for_class

    print(done_for_class(given))
    return 0


def _hub(given: argparse.Namespace) -> int:
    from simulate.course.hub.homes import collect_homes, fill_homes

    act, told = {"fill": (fill_homes, "written"), "collect": (collect_homes, "collected")}[given.act]
    print(f"{len(act(given.source, given.out))} files {told}.")
    return 0


def _lessons(text: str) -> list[str]:
    found = text.replace(",", " ").split()
    if not found:
        raise argparse.ArgumentTypeError("names no lessons; two digits each, with commas, such as 03,04")
    return found


def _weights(text: str) -> tuple[float, ...]:
    return tuple(_number(part, 1000.0) for part in text.split(","))


def _part(text: str) -> float:
    return _number(text, 1.0)


def _number(text: str, most: float) -> float:
    try:
        found = float(text)
    except ValueError:
        found = float("nan")
    if not 0 <= found <= most:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number from 0 to {most:g}")
    return found


def _hours(text: str) -> float:
    found = _number(text, 48.0)
    if not found:
        raise argparse.ArgumentTypeError("0 hours serve nobody")
    return found


def _port(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 1024 <= int(text) <= 65535):
        raise argparse.ArgumentTypeError(f"{text!r} is not a port from 1024 to 65535")
    return int(text)


def _corners(text: str) -> list[list[float]]:
    try:
        found = [[float(part) for part in corner.split(",")] for corner in text.split()]
    except ValueError:
        found = []
    if [len(corner) for corner in found] != [2, 2, 2, 2]:
        raise argparse.ArgumentTypeError(f"{text!r} is not four corners such as '12,880 1190,860 1100,90 95,100'")
    return found


def _size(text: str) -> list[float]:
    wide, _, deep = text.lower().partition("x")
    return [_number(wide, 10_000.0), _number(deep, 10_000.0)]


def _time(text: str) -> datetime:
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a time such as 2026-01-31T12:00") from None


def _add_inch(one: argparse.ArgumentParser) -> None:
    inch = "lengths in thou and inches"
    one.add_argument("--inch", dest="units", action="store_const", const="inch", default="mm", help=inch)


def _add_pass(one: argparse.ArgumentParser, of: str) -> None:
    one.add_argument("--pass", dest="pass_percent", type=float, default=60.0, help=f"pass mark: {of}; 60")


def _add_bench_page(commands) -> None:
    told = "a page for a phone at the bench: readings in, findings out, from this computer over your own local network"
    one = commands.add_parser("bench-page", help=told, description=told)
    one.set_defaults(run=_bench_page)
    one.add_argument("folder", type=Path, help="folder of the logbook (default: that of the lessons)")
    one.add_argument(
        "--address",
        default="",
        help="address of this computer, where it has several (default: the one in the local network)",
    )
    one.add_argument("--port", type=_port, help="another port, where the usual one is in use")
    one.add_argument("--logbook", metavar="NAME", help="name of the logbook's file (default: my_logbook.json)")
    one.add_argument("--hours", type=_hours, default=4.0, help="hours without a phone after which it ends (default 4)")


def _add_print_photo(commands) -> None:
    told = "the marks of a print on a photograph: share of the face, and points per square inch"
    one = commands.add_parser("print-photo", help=told, description=told)
    one.set_defaults(run=_print_photo)
    one.add_argument("photo", type=Path, help="JPEG, PNG or WebP of the face, seen whole")
    one.add_argument("out", type=Path, help="PNG to write: the face straightened, every mark outlined")
    corners = "column,row of each corner in pixels: near left, near right, far right, far left"
    one.add_argument("--corners", type=_corners, required=True, metavar="'C,R C,R C,R C,R'", help=corners)
    one.add_argument(
        "--size", type=_size, required=True, metavar="WIDExDEEP", help="size of the face in mm, such as 400x300"
    )
    edge = "the face is a long narrow edge: CSV to write, its stations as readings of bars"
    one.add_argument("--edge", type=Path, metavar="CSV", help=edge)
    one.add_argument("--stations", type=int, default=20, help="along the edge, from its left end (default: 20)")
    one.add_argument("--film", type=float, default=3.0, metavar="UM", help="thickness of the film (default: 3)")
    one.add_argument("--lower", default="A", help="the bar on the photograph (default: A)")
    one.add_argument("--upper", default="B", help="the bar that lay on it (default: B)")
    one.add_argument("--turned", action="store_true", help="the upper bar was turned end for end")


def _add_hub(commands) -> None:
    told = "homes of a class on a school's server: fill them from a class set, and collect the work"
    acts = commands.add_parser("hub", help=told, description=told).add_subparsers(dest="act", required=True)
    for act, does, source, out in (
        (
            "fill",
            "put each student's folder into the home of that word",
            "the folder that class set wrote",
            "folder of the homes",
        ),
        ("collect", "copy notebooks and answers, to be marked", "folder of the homes", "a new folder"),
    ):
        one = acts.add_parser(act, help=does, description=does)
        one.set_defaults(run=_hub)
        one.add_argument("source", type=Path, help=source)
        one.add_argument("out", type=Path, help=out)


def _add_class(commands) -> None:
    """Add what is done for a class, each act with the options that it takes."""
    told = "class sets, their key, marks and what follows from them"
    acts = commands.add_parser("class", help=told, description=told).add_subparsers(dest="act", required=True)
    for act, does in ACTS.items():
        one = acts.add_parser(act, help=does, description=does)
        one.set_defaults(run=_class)
        read = act not in ("set", "key", "sheets")
        if read:
            one.add_argument("folder", type=Path, help="what was handed in, unpacked")
        one.add_argument("list", type=Path, help="names, saved as CSV by any spreadsheet")
        one.add_argument("seed", help="a word that only you know, the same each time")
        one.add_argument("out", type=Path, help="outside the folder that the course's server shows")
        _add_inch(one)
        one.add_argument("--lessons", type=_lessons, help="only these, such as 03,04")
        one.add_argument("--semicolon", action="store_true", help="tables separated by semicolons, with decimal commas")
        one.add_argument("--force", action="store_true", help="write even where the course's server shows it")
        if act == "set":
            one.add_argument("--add", action="store_true", help="write only what is missing, for a late joiner")
        if read:
            which = "which of several hand-ins counts"
            one.add_argument("--counts", choices=("best", "latest"), default="best", help=which)
            late = "whatever comes later counts as late, such as 2026-01-31T12:00; the time of this machine"
            one.add_argument("--until", type=_time, help=late)
        if act == "points":
            tries = "points at the first try, the second, ..., such as 1,0.5,0.25"
            one.add_argument("--weights", type=_weights, default=(1.0,), help=tries)
            one.add_argument(
                "--late", type=_part, default=1.0, help="part of the points that a late answer keeps, such as 0.5"
            )
            _add_pass(one, "pass mark, in per cent of the points")


def parser() -> argparse.ArgumentParser:
    """Give the parser of every command."""
    every = argparse.ArgumentParser(prog="python -m simulate", description="Build, print and mark the course.")
    commands = every.add_subparsers(dest="command", required=True)
    for name, run, told in (
        ("refresh", _refresh, "run lessons and store what they show"),
        ("pages", _pages, "the course as pages to read offline, without a kernel"),
        ("projector", _projector, "panels and animations for the projector of a classroom"),
        ("cards", _cards, "a printed bench card for each lesson"),
        ("plan", _plan, "courses to print: timetable, outcomes, observation sheet, materials and risks"),
        ("browser", _browser, "the course as a site with the kernel in the reader's browser"),
    ):
        one = commands.add_parser(name, help=told, description=told)
        one.set_defaults(run=run)
        if name != "refresh":
            one.add_argument("out", type=Path, help="folder to write")
        if name in ("refresh", "projector", "cards"):
            one.add_argument("lessons", nargs="*", help="how lessons' names start, such as 04 (default: all)")
        if name == "browser":
            one.add_argument("pyodide", nargs="?", help="archive of the browser's Python, to include in the site")
        if name == "plan":
            one.add_argument("courses", nargs="*", help="afternoon, 6, 12 or 20 (default: all)")
            one.add_argument("--students", type=int, default=30, help="learners in the class")
            _add_pass(one, "per cent of the exercises, and of the points at the bench")
        if name in ("pages", "projector", "cards", "plan"):
            _add_inch(one)
        if name == "pages":
            one.add_argument("--still", action="store_true", help="each panel one picture with its words")
        if name == "cards":
            own = "a file of readings: one card that matches its entry grid cell by cell, and no others"
            one.add_argument("--own", type=Path, metavar="READINGS", help=own)
        if name == "projector":
            one.add_argument("--open", action="store_true", help="open the first page in the browser")
    told = "lay out a lesson, with a TODO wherever words belong"
    one = commands.add_parser("new-lesson", help=told, description=told)
    one.set_defaults(run=_new_lesson)
    one.add_argument("number", help="two digits that no lesson has")
    one.add_argument("name", help="small letters with _ between words")
    one.add_argument("--panel", default="GapPanel", help="of simulate.show; a new one as folder/NamePanel")
    _add_bench_page(commands)
    _add_print_photo(commands)
    _add_class(commands)
    _add_hub(commands)
    return every


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; return 0 where that went well, 2 where it was refused."""
    given = parser().parse_args(arguments)
    try:
        return given.run(given)
    except (Refusal, OSError) as refused:
        print(refused, file=sys.stderr)
        return 2


if __name__ == "__main__":
    sys.exit(main())
