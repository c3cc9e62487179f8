"""A report that the learner can keep: one page for a browser and one PDF, written both or neither."""

from __future__ import annotations

import os
from collections.abc import Sequence
from datetime import datetime
from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from simulate.core.atomic_files import LogbookError, not_saved, typed_path, write_all_whole
from simulate.readings.logbook.entry import Entry
from simulate.show.drawing import style
from simulate.show.drawing.canvas import data_uri
from simulate.show.own.workshop.report_content import APPENDIX, Content, Part, content
from simulate.show.own.workshop.report_pdf import pdf
from simulate.show.units.switch import chosen_units

HERE = Path(__file__).resolve().parent
NAMES = ("report.html", "report.pdf")


def report_html(report: Content) -> str:
    """Give a report as one page that holds everything and asks the net for nothing.

    >>> report_html(content([], made="Monday")).splitlines()[1]
    '<html lang="en">'
    """
    looks = style.PAGES_CSS.read_text(encoding="utf-8")
    return _rooms().get_template("report.html.j2").render(report=report, style=looks, uri=data_uri, appendix=APPENDIX)


def parts_html(parts: Sequence[Part], level: int) -> str:
    """Give parts of a chapter as HTML, to stand in a page of another; what is long is folded away.

    `level`: of their heads, 2 to 6.

    >>> parts_html([Part("Cautions", ("Mind < your hands.",))], 4).split()
    ['<h4>Cautions</h4>', '<p>Mind', '&lt;', 'your', 'hands.</p>']
    """
    return str(_rooms().get_template("report_parts.html.j2").module.parts(parts, level, data_uri, "", True))


@cache
def _rooms() -> Environment:
    return Environment(loader=FileSystemLoader(HERE), autoescape=True, undefined=StrictUndefined)


def write_report(
    entries: Sequence[Entry],
    folder: str | os.PathLike,
    units: str | None = None,
    title: str = "Report on my own readings",
    made: datetime | None = None,
    appendix: bool = True,
) -> tuple[Path, Path]:
    """Write a report on all entries of a logbook.

    `folder`: it is made where it does not exist; its own folder has to. `units`: ``"mm"`` or ``"inch"``; None takes
    what the switch of the lessons says. `made`: the date on it; now by default. `appendix`: whether every place, the
    readings as they were typed, and replaced sets stand at the end. Returns ``report.html`` and ``report.pdf``.

    >>> import tempfile
    >>> eye = Entry("gap_um,looks,seen\\n1,10,0\\n2,10,3\\n3,10,7\\n4,10,10\\n", "eye.csv")
    >>> with tempfile.TemporaryDirectory() as place:
    ...     [path.name for path in write_report([eye], place)]
    ['report.html', 'report.pdf']
    """
    if not any(not entry.struck for entry in entries):
        raise LogbookError(
            "missing",
            where="the logbook",
            found="no readings in use, so the report was not written",
            must_be="one set or more",
            do="Add a set, or restore one that was struck out",
        )
    made = made or datetime.now().astimezone()
    report = content(entries, chosen_units(units), f"{made:%Y-%m-%d}", title, appendix)
    page, paper = report_html(report).encode(), pdf(report, made)
    place = typed_path(os.fspath(folder))
    try:
        place.mkdir(exist_ok=True)
    except (OSError, ValueError) as error:
        raise not_saved(NAMES[0], error) from None
    paths = tuple(place / name for name in NAMES)
    write_all_whole(dict(zip(paths, (page, paper))))
    return paths
