"""Names out of a class list as spreadsheets of many countries save it."""

from __future__ import annotations

import csv
import io
import re
import statistics
import unicodedata

from simulate.core.refusal import Refusal

_NO_TEXT = re.compile(r"[\x00-\x08\x0e-\x1b]")
_FIRST = {
    "first name",
    "firstname",
    "first",
    "given name",
    "forename",
    "vorname",
    "prenom",
    "nombre",
    "voornaam",
    "fornamn",
    "imie",
}
_LAST = {
    "last name",
    "lastname",
    "last",
    "surname",
    "family name",
    "nachname",
    "familienname",
    "nom",
    "apellido",
    "apellidos",
    "cognome",
    "achternaam",
    "efternamn",
    "nazwisko",
}
_WHOLE = {
    "name",
    "names",
    "full name",
    "student",
    "students",
    "learner",
    "pupil",
    "schuler",
    "schulerin",
    "nombre completo",
}
"""What the first row of a list may call its columns, without accents. "Name" beside a first name is the last name."""


def name_rows(data: bytes, file: str = "the class list") -> list[str]:
    """Read the names of a class list.

    Returns: in their order. First and last name from two columns come as "First Last" where the first row says which is
    which, and otherwise in the order of the columns.

    >>> name_rows("Nachname;Vorname\\nMüller;Ida\\n".encode("cp1252"))
    ['Ida Müller']
    >>> name_rows(b"name\\n# 5 of Invented\\n")
    ['# 5 of Invented']
    """
    rows = table_rows(data, file)
    if not rows:
        return []
    heads = [_plain(cell) for cell in rows[0]]
    first, last, whole = (
        next((k for k, h in enumerate(heads) if h in known), None) for known in (_FIRST, _LAST, _WHOLE)
    )
    last = whole if last is None and first is not None else last
    if first is not None and last is not None:
        columns = [first, last]
    elif first is not None or last is not None or whole is not None:
        columns = [next(k for k in (whole, last, first) if k is not None)]
    else:
        return _joined(rows, [0, 1] if _two_names(rows) else [0])
    return _joined(rows[1:], columns)


def decoded(data: bytes) -> str:
    """Return the text of a list: UTF-8, UTF-16, or else the code page of western Windows.

    >>> [decoded("Ünal".encode(code)) for code in ("utf-8-sig", "utf-16", "utf-16-be", "cp1252")]
    ['Ünal', 'Ünal', 'Ünal', 'Ünal']
    """
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", "replace")
    even, odd = data[::2].count(0), data[1::2].count(0)
    if max(even, odd) > len(data) / 8:
        return data.decode("utf-16-be" if even > odd else "utf-16-le", "replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace")


def table_rows(data: bytes, file: str) -> list[list[str]]:
    """Return the cells of a table as a spreadsheet saved it, without empty rows."""
    text = decoded(data)
    if _NO_TEXT.search(text):
        raise Refusal(
            "file",
            where=file,
            found="is not text",
            must_be="a table as text",
            do="In the spreadsheet choose Save As, and there CSV",
        )
    lines = text.splitlines()
    if (
        lines and lines[0].lower().startswith("sep=") and len(lines[0]) == 5
    ):  # a spreadsheet's own word for what parts the cells
        mark, text = lines[0][4], "\n".join(lines[1:])
    else:
        mark = _mark(text)
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=mark)
    cleaned = (
        [" ".join(unicodedata.normalize("NFC", cell).replace("\ufeff", "").split()) for cell in row] for row in rows
    )
    return [row for row in cleaned if any(row)]


def _mark(text: str) -> str:
    """Return what parts the cells: the one that most rows have, and the same number of times."""

    def alike(mark: str) -> float:
        counts = [
            len(row) - 1
            for row in csv.reader(io.StringIO(text, newline=""), delimiter=mark)
            if any(c.strip() for c in row)
        ]
        usual = statistics.mode(counts) if counts else 0
        return counts.count(usual) / len(counts) if usual else 0.0

    return max(";\t,", key=alike) if any(map(alike, ";\t,")) else ","


def _plain(cell: str) -> str:
    parts = unicodedata.normalize("NFKD", cell.casefold())
    return " ".join(
        "".join(c for c in parts if not unicodedata.combining(c)).replace("-", " ").replace("_", " ").split()
    )


def _two_names(rows: list[list[str]]) -> bool:
    seconds = [row[1] if len(row) > 1 else "" for row in rows]
    return all(s and not any(c.isdigit() or c == "@" for c in s) for s in seconds)


def _joined(rows: list[list[str]], columns: list[int]) -> list[str]:
    names = (" ".join(row[k] for k in columns if k < len(row) and row[k]) for row in rows)
    return [name for name in names if name]
