"""What a spreadsheet and a pencil make of a table of readings, put into the plain form wherever there is no doubt."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from dataclasses import dataclass

from simulate.readings.cell_words import ends_of, inches_of, is_dark
from simulate.readings.cells import as_seen
from simulate.readings.separators import Grid, grid_of, is_aside
from simulate.readings.sheet import KNOWN, UNITS
from simulate.readings.slip_record import Slip

DARK_UM = 2.5
"""Gap below which an eye takes a joint for dark (common practice, no source); lesson 19 measures your own."""
_NAMES = (("lower", "upper"), ("gauge",), ("line",))
_FILLED = ("lower", "upper", "gauge", "line", "turned", "round")
_DARK = re.compile(r"[#\s\"]*dark_um\s*[:=]\s*([0-9]+(?:\.[0-9]+)?)[\s;,\"]*", re.IGNORECASE)
_UNIT_WORDS = {"um": "um", "micron": "um", "microns": "um", "mm": "mm", "thou": "thou", "in": "in", "inch": "in", "inches": "in",
               "arcsec": "arcsec", "urad": "urad", "yes/no": "", "-": "", "": "", "degrees": "", "deg": ""}
Body = list[tuple[int, list[str]]]
"""The rows under a header: line of the file, cells."""


@dataclass(frozen=True, kw_only=True)
class Tidied:
    """The text in the plain form, line for line as it came, and what was understood on the way."""

    text: str
    slips: tuple[Slip, ...]


def tidied(text: str, dark_um: float | None = None) -> Tidied:
    """Put a table into the plain form wherever there is no doubt what was meant; leave the rest as it stands.

    Parameters
    ----------
    text : str
    dark_um : float, optional
        What ``dark`` in a gap cell means: at most this; 2.5 um, or what a line ``# dark_um: 1.5`` of the file says.

    Returns
    -------
    Tidied
        Every line keeps its number. Where something stays in doubt the strict reader refuses it and says why.

    Examples
    --------
    >>> found = tidied("lower;upper;position_mm;gap_um\\nA;B;0;1,5\\nA;B;50;<30\\n")
    >>> print(found.text.strip())
    lower,upper,position_mm,gap_um,gap_at_least_um,gap_at_most_um
    A,B,0,1.5,,
    A,B,50,,,30
    >>> [slip.kind for slip in found.slips]
    ['decimal comma', 'interval']
    """
    grid = grid_of(text)
    if grid is None:
        return Tidied(text=text, slips=())
    header = list(grid.cells[grid.head] or ())
    body = [(k + 1, _fitted(cells, len(header))) for k, cells in enumerate(grid.cells) if k > grid.head and cells is not None]
    before = [header[:], [(row, cells[:]) for row, cells in body]]
    slips = [*grid.slips, *_titles(grid)]
    slips += _units(header, body)
    slips += _merged(header, body)
    slips += _joined(header, body)
    slips += _intervals(header, body, dark_um or _dark_of(grid) or DARK_UM)
    _fractions(header, body)
    if not slips and grid.separator == "," and before == [header, body]:
        return Tidied(text=text, slips=())
    return Tidied(text=_written(grid, header, body), slips=tuple(slips))


def _written(grid: Grid, header: list[str], body: Body) -> str:
    """Write line for line; what is no row of the table any more becomes a comment."""
    rows = {grid.head: header, **{row - 1: cells for row, cells in body}}
    said = []
    for k, (line, cells) in enumerate(zip(grid.lines, grid.cells)):
        if k in rows:
            out = io.StringIO()
            csv.writer(out, lineterminator="").writerow(rows[k])
            said.append(out.getvalue())
        elif cells is None and k > grid.head and not is_aside(line):
            said.append(line)  # its quotes do not close: the strict reader says so
        else:
            bare = line.strip(' \t;,"\ufeff\u00a0')
            said.append("# " + bare.lstrip("# ") if bare else "")
    return "\n".join(said) + "\n"


def _fitted(cells: list[str], width: int) -> list[str]:
    """Leave out the empty cells that a spreadsheet puts beyond the header."""
    most = max([width, *(k + 1 for k, cell in enumerate(cells) if cell.strip())])
    return list(cells[:most])


def _titles(grid: Grid) -> list[Slip]:
    above = tuple(k + 1 for k in range(grid.head) if grid.cells[k] is not None)
    return [Slip(kind="title row", rows=above)] if above else []


def _name(written: str) -> str:
    """What a column means, its unit left aside."""
    plain = written.lower().replace("\u00b5", "u").replace("\u03bc", "u")
    return KNOWN.get(plain, (plain, 1.0))[0]


def _unit(written: str) -> str:
    plain = written.lower().replace("\u00b5", "u").replace("\u03bc", "u")
    return plain.rsplit("_", 1)[1] if plain in KNOWN else ""


def _units(header: list[str], body: Body) -> list[Slip]:
    """Take a row of units under the header out, and give its units to columns that say none."""
    if not body:
        return []
    row, cells = body[0]
    units = [_UNIT_WORDS.get(as_seen(cell).lower().replace("\u00b5", "u").replace("\u03bc", "u").strip("()[] ")) for cell in cells]
    if None in units or not any(units) or len(cells) < len(header):
        return []
    if any(unit and _unit(name) and unit != _unit(name) for name, unit in zip(header, units)):
        return []  # header and row say different units: the strict reader asks which
    for place, (name, unit) in enumerate(zip(header, units)):
        if unit in UNITS.get(_name(name), ()) and not _unit(name):
            header[place] = f"{_name(name)}_{unit}"
    body.pop(0)
    return [Slip(kind="units row", rows=(row,))]


def _merged(header: list[str], body: Body) -> list[Slip]:
    """Fill names down where cells were merged."""
    slips = []
    for place, written in enumerate(header):
        name = _name(written)
        rows = [(row, cells) for row, cells in body if place < len(cells)]
        blank = [not as_seen(cells[place]) for _, cells in rows]
        if name not in _FILLED or not any(blank) or not rows or blank[0]:
            continue
        words = {as_seen(cells[place]).lower() for _, cells in rows} - {""}
        if name == "turned" and len(words) < 2:
            continue  # a column with nothing but yes may mean that the others were not turned
        if (sum(blank) < 2 or sum(blank) * 2 < len(blank)) and not _alike_on_both_sides([as_seen(cells[place]) for _, cells in rows]):
            continue
        above = ""
        for (_, cells), empty in zip(rows, blank):
            above = cells[place] = above if empty else cells[place]
        slips.append(Slip(kind="merged cells", rows=tuple(row for (row, _), empty in zip(rows, blank) if empty), what=written))
    return slips


def _alike_on_both_sides(words: list[str]) -> bool:
    """Whether every run of blanks stands between two cells that say the same."""
    above = ""
    for k, word in enumerate(words):
        if word:
            above = word
        elif above != next((w for w in words[k:] if w), ""):
            return False
    return True


def name_key(name: str) -> str:
    """Return what two names have in common that differ only by capitals and blanks.

    Parameters
    ----------
    name : str

    Returns
    -------
    str

    Examples
    --------
    >>> name_key("Bar 1") == name_key("bar1 ")
    True
    """
    return "".join(as_seen(name).split()).casefold()


def _joined(header: list[str], body: Body) -> list[Slip]:
    """Give names that differ only by capitals and blanks the spelling that stands there most often."""
    slips = []
    for together in _NAMES:
        places = [k for k, written in enumerate(header) if _name(written) in together]
        cells = [(row, line, place) for row, line in body for place in places if place < len(line)]
        spelled: dict[str, Counter] = {}
        for _, line, place in cells:
            spelled.setdefault(name_key(line[place]), Counter())[" ".join(as_seen(line[place]).split())] += 1
        apart = {name_key(line[places[0]]) for _, line in body if len(places) == 2 and max(places) < len(line)
                 and name_key(line[places[0]]) == name_key(line[places[1]])}
        for key, counted in spelled.items():
            if len(counted) < 2 or key in apart:
                continue
            usual = max(counted, key=lambda word: counted[word])
            rows = tuple(sorted({row for row, line, place in cells if name_key(line[place]) == key
                                 and " ".join(as_seen(line[place]).split()) != usual}))
            for _, line, place in cells:
                if name_key(line[place]) == key:
                    line[place] = usual
            quoted = [f"'{word}'" for word in counted]
            slips.append(Slip(kind="names joined", rows=rows, what=" and ".join([", ".join(quoted[:-1]), quoted[-1]])))
    return slips


def _dark_of(grid: Grid) -> float | None:
    found = [_DARK.fullmatch(line) for line in grid.lines]
    return next((float(one[1]) for one in found if one and float(one[1]) > 0), None)


def _intervals(header: list[str], body: Body, dark_um: float) -> list[Slip]:
    """Move what a gap cell tells in words or signs into the two columns of an interval."""
    gap = next((k for k, written in enumerate(header) if _name(written) in ("gap", "proud") and _unit(written)), None)
    if gap is None or any(_name(written) in ("looks", "seen") for written in header):
        return []
    what, unit = _name(header[gap]), _unit(header[gap])
    dark = f"{dark_um / KNOWN[header[gap].lower().replace('µ', 'u').replace('μ', 'u')][1]:.6g}" if what == "gap" else "dark"
    told = {row: ends for row, cells in body if len(cells) > gap for ends in [ends_of(as_seen(cells[gap]), dark)]
            if ends is not None and "dark" not in ends}
    columns = [f"{what}_at_least_{unit}", f"{what}_at_most_{unit}"]
    others = [k for k, written in enumerate(header) if _name(written) in (f"{what}_at_least", f"{what}_at_most")]
    if not told or any(header[k].lower() not in columns for k in others) or any(len(cells) > len(header) for _, cells in body):
        return []
    darks = tuple(row for row, cells in body if row in told and is_dark(as_seen(cells[gap])))
    width = len(header)
    header += [column for column in columns if column not in [written.lower() for written in header]]
    places = [[written.lower() for written in header].index(column) for column in columns]
    for row, cells in body:
        if len(cells) == width:
            cells += [""] * (len(header) - width)
            if row in told and not any(cells[place].strip() for place in places):
                cells[gap], (cells[places[0]], cells[places[1]]) = "", told[row]
    plain = tuple(row for row in told if row not in darks)
    return [*([Slip(kind="interval", rows=plain)] if plain else []),
            *([Slip(kind="dark", rows=darks, figure=dark_um)] if darks else [])]


def _fractions(header: list[str], body: Body) -> None:
    """Write fractions of an inch as decimals."""
    places = [k for k, written in enumerate(header) if _unit(written) == "in"]
    for _, cells in body:
        for place in places:
            if place < len(cells) and (inches := inches_of(as_seen(cells[place]))):
                cells[place] = inches
