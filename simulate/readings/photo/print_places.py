"""A counted print as places that printed and places that did not, written into a table of readings of plates."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

import numpy as np

from simulate.bench.looking.spotting import LEAST_MM2
from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.readings.photo.print_photo import PrintPhoto
from simulate.readings.table.columns import meaning_of, unit_of
from simulate.readings.table.kinds import kind_by
from simulate.readings.table.separators import grid_of, in_plain_form
from simulate.readings.table.units import LONG, SMALL, unit_named

MOST_PLACES = 25
"""Along each side."""
_BLIND = 0.5
"""Of a place: where glare hides more, it was not read."""
_NEEDS = {"plates": ("lower", "upper", "x", "y"), "bars": ("lower", "upper", "position")}
_MISSING = {
    "plates": {"round": "1", "turned": "0", "slide_x": "0", "slide_y": "0"},
    "bars": {"round": "1", "turned": "no"},
}
_PLAIN = {"true": "yes", "1": "yes", "false": "no", "0": "no"}
"""Other words for whether a bar was turned."""
_NOT_READ = "# not read: "


@dataclass(frozen=True, kw_only=True)
class PrintPlaces:
    """Places of a face, and which of them printed.

    `x_mm`, `y_mm`: middles of the places, from the middle of the face; y rises away from the near side. `printed`,
    `seen` (y, x) of bool: which printed, and which the photograph shows. `kind`: ``"plates"``, or ``"bars"`` for
    stations of an edge, `x_mm` from its left end and one row.
    """

    x_mm: np.ndarray
    y_mm: np.ndarray
    printed: np.ndarray
    seen: np.ndarray
    kind: str = "plates"


@dataclass(frozen=True, kw_only=True)
class Laid:
    """How the bodies lay when the print was made.

    Attributes
    ----------
    lower, upper : str
        Names; the photograph shows the lower one.
    film_um : float
        Thickness of the film.
    turned : int
        Of the upper plate, degrees; of a bar, 180 where it lay end for end.
    """

    lower: str
    upper: str
    film_um: float
    turned: int = 0
    slide_x_mm: float = 0.0
    round: int = 1


def print_places(told: PrintPhoto, across: int, away: int) -> PrintPlaces:
    """Say of every place of a face whether it printed.

    `across`, `away`: places along each side, 2 to 25. Returns: a place has printed where 1 mm² of it or more is marked.
    So much is said of its highest spot, and nothing of the rest of it.

    >>> x = np.arange(0.5, 60.0)
    >>> marked = np.zeros((60, 60), bool)
    >>> marked[3:9, 3:9] = True
    >>> one = PrintPhoto(x_mm=x, y_mm=x, shade=-1.0 * marked, marked=marked, apart=marked, blind=~(marked | True),
    ...     bearing=(0.01, 0.01, 0.01), points=np.ones((2, 2)), points_mean=(1.0, 1.0, 1.0), glare=0.0, contrast=9.0,
    ...     grown=(0, 0), spots=1)
    >>> places = print_places(one, 3, 2)
    >>> places.x_mm.tolist(), places.printed.tolist()
    ([-20.0, 0.0, 20.0], [[True, False, False], [False, False, False]])
    """
    counts = [
        checks.whole(many, name, 2, MOST_PLACES) for many, name in ((across, "places across"), (away, "places away"))
    ]
    sizes = [float(a.size * (a[1] - a[0])) for a in (told.x_mm, told.y_mm)]
    middles = [(np.arange(many) + 0.5) * size / many - size / 2 for many, size in zip(counts, sizes)]
    column, row = (np.arange(a.size) * many // a.size for a, many in zip((told.x_mm, told.y_mm), counts))
    place = (row[:, None] * counts[0] + column[None, :]).ravel()
    every = counts[0] * counts[1]
    area, marked, hidden = (
        np.bincount(place, weights=None if part is None else part.ravel(), minlength=every).reshape(counts[::-1])
        for part in (None, told.marked & told.apart, told.blind)
    )
    cell_mm2 = float((told.x_mm[1] - told.x_mm[0]) * (told.y_mm[1] - told.y_mm[0]))
    printed = marked * cell_mm2 >= LEAST_MM2
    return PrintPlaces(x_mm=middles[0], y_mm=middles[1], printed=printed, seen=printed | (hidden <= _BLIND * area))


def print_text(long: str = "mm", small: str = "um", kind: str = "plates") -> str:
    """Give the header of a table of prints.

    `long`, `small`: units of places and of the film. `kind`: ``"plates"`` or ``"bars"``.

    >>> print_text("in", "thou")
    'round,lower,upper,turned,slide_x_in,x_in,y_in,printed,film_thou\\n'
    """
    places = f"position_{long}" if kind == "bars" else f"slide_x_{long},x_{long},y_{long}"
    return f"round,lower,upper,turned,{places},printed,film_{small}\n"


def with_print(text: str, places: PrintPlaces, laid: Laid) -> str:
    """Return the text of readings of plates or of bars with a print added below.

    `text`: of a readings file of that kind, or `print_text`. Returns: every reading that stood there stays; columns
    that a print needs are added to the header, and places that glare hides wait as comments.

    >>> places = PrintPlaces(x_mm=np.array([-10.0, 10.0]), y_mm=np.array([0.0]), printed=np.array([[True, False]]),
    ...     seen=np.array([[True, True]]))
    >>> print(with_print(print_text(), places, Laid(lower="A", upper="B", film_um=3.0)).strip())
    round,lower,upper,turned,slide_x_mm,x_mm,y_mm,printed,film_um
    1,A,B,0,0,-10,0,x,3
    1,A,B,0,0,10,0,.,3
    """
    film = checks.number(laid.film_um, "film_um", 0, above=True)
    lower, upper = _names(laid, places.kind)
    plain = in_plain_form(text).text
    grid = grid_of(plain)
    header = [cell for cell in grid.cells[grid.head] or ()] if grid is not None else []
    names = _meanings(header, places.kind)
    if grid is None or not set(_NEEDS[places.kind]) <= set(names) or kind_by(names) != places.kind:
        raise Refusal(
            "state",
            where="the text of these readings",
            found=f"not a table of {places.kind}",
            must_be=f"readings of {places.kind}, to which a print can be added",
            do=f"Choose an example of {places.kind}, or lay out a grid of {places.kind}, first",
        )
    missing = _MISSING[places.kind]
    along = _NEEDS[places.kind][2]
    cells = {"round": str(laid.round), "lower": lower, "upper": upper, "film": _figure(film / _held(header, names))}
    cells["turned"] = str(laid.turned) if "slide_x" in missing else "yes" if laid.turned else "no"
    if "slide_x" in missing:
        cells["slide_x"] = _figure(laid.slide_x_mm / _long(header, names, "slide_x"))
    _refuse_twice(grid.cells[grid.head + 1 :], names, cells, missing)
    long = "in" if unit_of(header[names.index(along)]) == "in" else "mm"
    needed = [name for name in missing if name in cells and cells[name] != missing[name]]
    added = [
        {"printed": "printed", "film": "film_um", "slide_x": f"slide_x_{long}"}.get(name, name)
        for name in (*needed, "printed", "film")
        if name not in names
    ]
    wide = [*names, *(meaning_of(name) for name in added)]
    if "slide_x" in missing and "slide_x" not in names:
        cells["slide_x"] = _figure(laid.slide_x_mm / (25.4 if long == "in" else 1.0))
    kept = _kept(plain, grid.head, grid.cells, len(header), added, missing)
    rows = []
    for i, y in enumerate(places.y_mm):
        for j, x in enumerate(places.x_mm):
            here = cells | {
                along: _figure(float(x) / _long(header, names, along)),
                "y": _figure(float(y) / _long(header, names, "y")),
                "printed": ("x" if places.printed[i, j] else ".") if places.seen[i, j] else "",
            }
            line = _csv([here.get(name, missing.get(name, "")) for name in wide])
            rows.append(line if places.seen[i, j] else _NOT_READ + line)
    return kept + "\n".join(rows) + "\n"


def _meanings(header: list[str], kind: str) -> list[str]:
    """What each column means; of bars `x` is the place along them."""
    names = [meaning_of(name) for name in header]
    one = kind == "bars" and "position" not in names and "y" not in names
    return ["position" if one and name == "x" else name for name in names]


def _kept(plain: str, head: int, cells: tuple, width: int, added: list[str], missing: dict[str, str]) -> str:
    """The text with its new columns; lines that need none stay byte for byte."""
    lines = plain.splitlines(keepends=True)
    if lines and not lines[-1].endswith(("\n", "\r")):
        lines[-1] += "\n"
    if not added:
        return "".join(lines)
    fill = ["", *(missing.get(meaning_of(name), "") for name in added)]
    out = []
    for at, line in enumerate(lines):
        body = line.rstrip("\r\n")
        waits = body.lstrip().startswith("# not read:")
        if at == head:
            body += "," + ",".join(added)
        elif (cells[at] is not None and at > head) or waits:
            body += "," * max(0, width - len(cells[at] or [""] * width)) + ",".join(fill)
        out.append(body + line[len(line.rstrip("\r\n")) :])
    return "".join(out)


def _refuse_twice(rows: tuple, names: list[str], cells: dict[str, str], missing: dict[str, str]) -> None:
    """Refuse a placement that the text holds already: a print added twice would count as two."""
    keys = [name for name in ("round", "lower", "upper", "turned", "slide_x") if name in cells]

    def plain(word: str, name: str) -> str:
        if name == "turned" and "slide_x" not in missing:
            return _PLAIN.get(word.casefold(), word.casefold())
        try:
            return f"{float(word):g}"
        except ValueError:
            return word.casefold()

    def of(row: list[str], name: str) -> str:
        at = names.index(name) if name in names else len(row)
        return plain((row[at] if at < len(row) else "") or missing.get(name, ""), name)

    wanted = [plain(cells[name], name) for name in keys]
    for row in rows:
        if row and any(row) and [of(row, name) for name in keys] == wanted:
            raise Refusal(
                "state",
                where="this print",
                found=f"{cells['upper']} on {cells['lower']}, turned {cells['turned']}, in round {cells['round']}, "
                "which is there already",
                must_be="another placement or another round",
                do="Change the names, turn, slide or round, or take those rows out of the text",
            )


def _names(laid: Laid, kind: str) -> tuple[str, str]:
    body = "plate" if kind == "plates" else "bar"
    lower, upper = (_name(word, f"{which} {body}") for word, which in ((laid.lower, "lower"), (laid.upper, "upper")))
    if lower.casefold() == upper.casefold():
        where = f"upper {body}"
        raise Refusal("same", where=where, found=f"'{upper}'", must_be=f"a {body} other than the lower one")
    return lower, upper


def _name(word: str, which: str) -> str:
    plain = " ".join(word.split())
    if not plain or len(plain) > 24 or not plain.isprintable() or any(c in plain for c in '#,;"'):
        raise Refusal("type", where=which, found=f"'{word[:30]}'", must_be="a name of 1 to 24 letters and figures")
    return plain


def _long(header: list[str], names: list[str], name: str) -> float:
    unit = unit_named(unit_of(header[names.index(name)]), LONG) if name in names else None
    return unit.held if unit is not None else 1.0


def _held(header: list[str], names: list[str]) -> float:
    unit = unit_named(unit_of(header[names.index("film")]), SMALL) if "film" in names else None
    return unit.held if unit is not None and unit.held > 0 else 1.0


def _figure(value: float) -> str:
    return f"{value + 0.0:.6g}"


def _csv(cells: list[str]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="").writerow(cells)
    return out.getvalue()
