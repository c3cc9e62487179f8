"""From bytes to a header and rows of cells, refusing everything that is not plain CSV in UTF-8."""

from __future__ import annotations

import csv
import io
import unicodedata

from simulate.core.refusal import counted
from simulate.readings.table.readings import ReadingsError, shortened

LARGEST_BYTES = 1_000_000
LONGEST_CELL = 200
_PLAIN = "plain text in UTF-8, cells separated by commas, with a header row"
_SPACES = "\u00a0\u1680\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u205f\u3000"
_UNSEEN = "\u00ad\u200b\u200e\u200f\u2060\ufeff"  # a soft hyphen, marks of width and direction: nobody typed them
_AS_SEEN = str.maketrans({**dict.fromkeys(_SPACES, " "), **dict.fromkeys(_UNSEEN)})
_RESAVE = "CSV in UTF-8 (in a spreadsheet: save as, CSV UTF-8)"
ENCODINGS = {"utf-16": "UTF-16", "utf-16-le": "UTF-16", "utf-16-be": "UTF-16", "cp1252": "Windows-1252"}
"""Those that are read beside UTF-8, and what they are called."""
_BOMS = (b"\xff\xfe", b"\xfe\xff")
_WESTERN = frozenset(
    "\u00b5\u00b0\u00b1\u00b2\u00b3\u00b7\u00a0\u00a7\u00a3\u00bc\u00bd\u00be\u20ac\u2026\u2013\u2014\u2018\u2019\u201c\u201d\u201e\u0160\u0161\u017d\u017e\u0152\u0153\u0178"
)
"""What a table typed in western Europe holds beside the letters from \u00c0 to \u00ff."""
_LETTERS = frozenset(map(chr, range(0xC0, 0x100))) - {"\u00d7", "\u00f7"}


def text_of(data: bytes, file: str) -> str:
    """Decode the bytes of a readings file.

    `file`: its name, for the sentence.
    """
    data = in_utf8(data)
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise ReadingsError(file, "is in UTF-16", _RESAVE, 1, code="file")
    if b"\0" in data or data.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF")):
        raise ReadingsError(file, "is binary, such as a spreadsheet or a picture", _RESAVE, 1, code="file")
    if len(data) > LARGEST_BYTES:
        _refuse_long_cells(data[:LARGEST_BYTES].decode("utf-8", "ignore"), file)
        raise ReadingsError(
            file,
            f"larger than {LARGEST_BYTES / 1e6:g} MB",
            "a file of at most 1 MB",
            code="large",
            do="Give one file for each round",
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start]
        row = before.count(b"\n") + 1
        column = before[before.rfind(b"\n") + 1 :].count(b",") + 1
        byte = f"byte {data[error.start]:#04x} is not UTF-8"
        raise ReadingsError(file, byte, _RESAVE, row, str(column), byte, code="table") from None
    _refuse_long_cells(text, file)
    return text


def header_and_rows(text: str, file: str) -> tuple[list[str], int, list[tuple[int, list[str]]]]:
    """Part the text into its header and its rows of cells.

    Returns `header`: as written, stripped. `header_row`: line it stands on. `rows`: line, and the cells, as many as the
    header has.

    >>> header_and_rows("# mine\\na_mm,b_um\\n1,2\\n", "t.csv")
    (['a_mm', 'b_um'], 2, [(3, ['1', '2'])])
    """
    header: list[str] = []
    header_row, rows = 0, []
    for row, line in enumerate(io.StringIO(text, newline=None), start=1):
        if _is_comment(line) or not line.translate(_AS_SEEN).strip(' \t\r\n,"') or (not header and _says_comma(line)):
            continue
        if not header:
            header, header_row = _header(line, row, file), row
            continue
        rows.append((row, _fitted(_split(line, row, file), header, row, file)))
    if not header:
        raise ReadingsError(file, "is empty or holds only comments", _PLAIN, 1, code="file")
    if not rows:
        raise ReadingsError(
            file,
            "there is a header but no reading below it",
            "one reading in each row, and none that begins with #, which starts a comment",
            header_row + 1,
            code="table",
        )
    named = [place for place, name in enumerate(header) if name or any(cells[place] for _, cells in rows)]
    return (
        [header[place] for place in named],
        header_row,
        [(row, [cells[place] for place in named]) for row, cells in rows],
    )


def as_seen(cell: str) -> str:
    """Return a cell as it looks: spaces that do not break are spaces, what cannot be seen is left out, accents are
    joined.

    Returns: two cells that look alike are then alike.

    >>> as_seen("\\u00a0Bar\\u00a01\\u200b "), as_seen("e\\u0301") == "\\u00e9"
    ('Bar 1', True)
    """
    if cell.isascii():
        return cell.strip()  # the usual case, and many times quicker
    return unicodedata.normalize("NFC", cell.translate(_AS_SEEN)).strip()


def _is_comment(line: str) -> bool:
    """Say whether a line is a comment; a spreadsheet puts one with a comma in it into quotes."""
    return line.translate(_AS_SEEN).lstrip(' \t"').startswith("#")


def _says_comma(line: str) -> bool:
    """Say whether a line only tells a spreadsheet that commas part the cells."""
    return line.strip(' \t\r\n"').lower() in ("sep=,", "sep=")


def _header(line: str, row: int, file: str) -> list[str]:
    for mark, name in ((";", "semicolons"), ("\t", "tabs")):
        if mark in line and line.count(mark) >= line.count(","):
            raise ReadingsError(
                file,
                f"cells are separated by {name} in {shortened(line.strip())}",
                "commas between cells, and a point in decimals",
                row,
                "1",
                line.strip(),
                code="table",
            )
    cells = _split(line, row, file)
    while cells and not cells[-1]:
        cells.pop()
    return cells


def _split(line: str, row: int, file: str) -> list[str]:
    try:
        return [as_seen(cell) for cell in next(csv.reader([line.rstrip("\r\n")], strict=True))]
    except (csv.Error, StopIteration) as error:
        column = str(line[: max(line.find('"'), 0)].count(",") + 1)
        raise ReadingsError(
            file,
            f"the quotes in {shortened(line.strip())} do not close ({error})",
            "cells without quotes",
            row,
            column,
            line.strip(),
            code="table",
        ) from None


def _fitted(cells: list[str], header: list[str], row: int, file: str) -> list[str]:
    while len(cells) > len(header) and not cells[-1]:
        cells = cells[:-1]
    if len(cells) > len(header):
        extra = cells[len(header)]
        raise ReadingsError(
            file,
            f"{shortened(extra)} is cell {len(header) + 1} of {len(cells)}, but the header names "
            f"{counted(len(header), 'column')} (a decimal comma splits a number in two)",
            f"{counted(len(header), 'cell')}, with a point in decimals: 0.5",
            row,
            str(len(header) + 1),
            extra,
            code="table",
        )
    if len(cells) < len(header):
        if len(cells) == 1 and ";" in cells[0]:
            raise ReadingsError(
                file,
                f"cells are separated by semicolons in {shortened(cells[0])}",
                "commas between cells, and a point in decimals",
                row,
                header[0],
                cells[0],
                code="table",
            )
        missing = header[len(cells)]
        raise ReadingsError(
            file,
            f"the row has {counted(len(cells), 'cell')}, which leaves this column without one",
            counted(len(header), "cell"),
            row,
            missing,
            "",
            code="table",
            do="Leave a cell empty rather than leave it out",
        )
    return cells


def _refuse_long_cells(text: str, file: str) -> None:
    """Name the first cell that is too long, before any parser has to hold it."""
    header: list[str] = []
    for row, line in enumerate(io.StringIO(text, newline=None), start=1):
        if _is_comment(line):
            continue
        cells = line.rstrip("\n").split(",")
        header = header or [cell.strip()[:LONGEST_CELL] for cell in cells]
        if len(line) <= LONGEST_CELL:
            continue
        for place, cell in enumerate(cells):
            if len(cell) > LONGEST_CELL:
                column = header[place] if place < len(header) and row > 1 else str(place + 1)
                raise ReadingsError(
                    file,
                    shortened(cell.strip()),
                    f"a cell of at most {LONGEST_CELL} characters",
                    row,
                    column,
                    shortened(cell),
                )


def encoding_of(data: bytes) -> str | None:
    """Tell which encoding a text is in.

    Returns ``"utf-8"``, ``"utf-16"``, ``"utf-16-le"``, ``"utf-16-be"``, ``"cp1252"``, or None where it cannot be told.

    UTF-16 shows by its mark, or by a null in every other byte. What is no UTF-8 is taken for Windows-1252 where every
    character that it then holds beside ASCII is a western letter or sign; whether it is another western encoding that
    has them in the same place makes no difference.

    >>> encoding_of("gap_\u00b5m".encode("cp1252")), encoding_of("gap".encode("utf-16-le")), encoding_of(b"\\x81\\x8d")
    ('cp1252', 'utf-16-le', None)
    """
    if data.startswith(_BOMS):
        return "utf-16" if _decodes(data, "utf-16") else None
    if b"\0" in data:
        for start, name in ((1, "utf-16-le"), (0, "utf-16-be")):
            nulls = data[start::2].count(0)
            if (
                len(data) % 2 == 0
                and nulls > 0.9 * len(data) / 2
                and b"\0" not in data[1 - start :: 2]
                and _decodes(data, name)
            ):
                return name
        return None
    if _decodes(data, "utf-8"):
        return "utf-8"
    if _decodes(data, "cp1252"):
        beyond = {one for one in data.decode("cp1252") if ord(one) > 127}
        return "cp1252" if beyond <= _WESTERN | _LETTERS else None
    return None


def in_utf8(data: bytes) -> bytes:
    """Return a text in UTF-8, or the bytes as they are where it cannot be told what they are in.

    >>> in_utf8(b"gap_\\xb5m")
    b'gap_\\xc2\\xb5m'
    """
    name = encoding_of(data)
    return data if name in (None, "utf-8") else data.decode(name).encode("utf-8", "surrogatepass")


def _decodes(data: bytes, name: str) -> bool:
    try:
        data.decode(name)
    except UnicodeDecodeError:
        return False
    return True
