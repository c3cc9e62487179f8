"""What a spreadsheet and a pencil make of a table of readings, put into the plain form wherever there is no doubt."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from simulate.readings.table.cell_words import Said, ends_of, inches_of, is_dark, print_of, said_of
from simulate.readings.table.columns import UNITS, meaning_of, unit_of
from simulate.readings.table.csv_cells import as_seen
from simulate.readings.table.separators import Body, Tidied, copied, frame_of, grid_of, unless_plain
from simulate.readings.table.slip_record import Slip

DARK_UM = 2.5
"""Gap below which an eye takes a joint for dark (common practice, no source); lesson 20 measures your own."""
_NAMES = (("lower", "upper"), ("gauge",), ("line",), ("axis",), ("face", "against"))


def tidied(text: str, dark_um: float | None = None) -> Tidied:
    """Put a table into the plain form wherever there is no doubt what was meant; leave the rest as it stands.

    `dark_um`: what ``dark`` in a gap cell means: at most this; 2.5 um, or what a line ``# dark_um: 1.5`` of the file
    says. Returns: every line keeps its number. Where something stays in doubt the strict reader refuses it and says
    why.

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
    said = said_of(grid.lines)
    header, body, slips = frame_of(grid)
    before = copied(header, body)
    slips += _joined(header, body)
    slips += _intervals(header, body, replace(said, dark_um=dark_um or said.dark_um or DARK_UM))
    _fractions(header, body)
    return unless_plain(text, grid, header, body, slips, before)


def name_key(name: str) -> str:
    """Return what two names have in common that differ only by capitals and blanks.

    >>> name_key("Bar 1") == name_key("bar1 ")
    True
    """
    return "".join(as_seen(name).split()).casefold()


def _joined(header: list[str], body: Body) -> list[Slip]:
    """Give names that differ only by capitals and blanks the spelling that stands there most often."""
    slips = []
    for together in _NAMES:
        places = [k for k, written in enumerate(header) if meaning_of(written) in together]
        cells = [(row, line, place) for row, line in body for place in places if place < len(line)]
        spelled: dict[str, Counter] = {}
        for _, line, place in cells:
            spelled.setdefault(name_key(line[place]), Counter())[" ".join(as_seen(line[place]).split())] += 1
        apart = {
            name_key(line[places[0]])
            for _, line in body
            if len(places) == 2 and max(places) < len(line) and name_key(line[places[0]]) == name_key(line[places[1]])
        }
        for key, counted in spelled.items():
            if len(counted) < 2 or key in apart:
                continue
            usual = max(counted, key=lambda word: counted[word])
            rows = tuple(
                sorted(
                    {
                        row
                        for row, line, place in cells
                        if name_key(line[place]) == key and " ".join(as_seen(line[place]).split()) != usual
                    }
                )
            )
            for _, line, place in cells:
                if name_key(line[place]) == key:
                    line[place] = usual
            quoted = [f"'{word}'" for word in counted]
            slips.append(Slip(kind="names joined", rows=rows, what=" and ".join([", ".join(quoted[:-1]), quoted[-1]])))
    return slips


def _told(cell: str, dark: str, film: str) -> tuple[str, str] | None:
    """The ends of what a cell tells in words, signs or as a print; None where it is no such cell, or not told how
    far."""
    printed = print_of(cell)
    ends = ends_of(cell, dark) if printed is None else (("", film) if printed else (film, "")) if film else None
    return None if ends is None or "dark" in ends else ends


def _intervals(header: list[str], body: Body, said: Said) -> list[Slip]:
    """Move what a gap cell tells in words or signs into the two columns of an interval."""
    gap = next(
        (k for k, written in enumerate(header) if meaning_of(written) in ("gap", "proud") and unit_of(written)), None
    )
    if gap is None or any(meaning_of(written) in ("looks", "seen") for written in header):
        return []
    what, unit = meaning_of(header[gap]), unit_of(header[gap])
    held = UNITS[what][unit] if UNITS[what][unit] > 0 else said.division_of(what)
    if held is None:
        return []
    dark = f"{(said.dark_um or DARK_UM) / held:.6g}" if what == "gap" else "dark"
    film = f"{said.film_um / held:.6g}" if what == "gap" and said.film_um else ""
    told = {
        row: ends
        for row, cells in body
        if len(cells) > gap
        for ends in [_told(as_seen(cells[gap]), dark, film)]
        if ends is not None
    }
    columns = [f"{what}_at_least_{unit}", f"{what}_at_most_{unit}"]
    others = [k for k, written in enumerate(header) if meaning_of(written) in (f"{what}_at_least", f"{what}_at_most")]
    if (
        not told
        or any(header[k].lower() not in columns for k in others)
        or any(len(cells) > len(header) for _, cells in body)
    ):
        return []
    darks = tuple(row for row, cells in body if row in told and is_dark(as_seen(cells[gap])))
    prints = tuple(row for row, cells in body if row in told and print_of(as_seen(cells[gap])) is not None)
    width = len(header)
    header += [column for column in columns if column not in [written.lower() for written in header]]
    places = [[written.lower() for written in header].index(column) for column in columns]
    for row, cells in body:
        if len(cells) == width:
            cells.extend([""] * (len(header) - width))
            if row in told and not any(cells[place].strip() for place in places):
                cells[gap], (cells[places[0]], cells[places[1]]) = "", told[row]
    plain = tuple(row for row in told if row not in darks and row not in prints)
    return [
        *([Slip(kind="interval", rows=plain)] if plain else []),
        *([Slip(kind="dark", rows=darks, figure=said.dark_um)] if darks else []),
        *([Slip(kind="print", rows=prints, figure=said.film_um)] if prints else []),
    ]


def _fractions(header: list[str], body: Body) -> None:
    """Write fractions of an inch as decimals."""
    places = [k for k, written in enumerate(header) if unit_of(written) == "in"]
    for _, cells in body:
        for place in places:
            if place < len(cells) and (inches := inches_of(as_seen(cells[place]))):
                cells[place] = inches
