"""Tables for spreadsheets: every cell quoted, nothing in them a formula, written whole."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

from simulate.core.atomic_files import write_whole
from simulate.core.refusal import Refusal

_NUMBER = re.compile(r"[-+]?\d+([.,]\d+)?")
_FORMULA, _FORMULA_AT_COMMAS = (
    re.compile(rf"(^|[{marks}|\t\r\n])([\s\u200b\ufeff]*)(?=[=+\-@\uff1d\uff0b\uff0d\uff20])") for marks in (";", ";,")
)
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


def write_table(path: Path, rows: Sequence[Any], semicolon: bool = False) -> None:
    """Write a table that a spreadsheet opens safely.

    `rows`: at least one, all of one kind; a column for each field. `semicolon`: parts the cells with semicolons and
    writes decimal commas, as spreadsheets of many countries want it.
    """
    out = io.StringIO(newline="")
    table = csv.writer(out, delimiter=";" if semicolon else ",", quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    table.writerow([field.name for field in fields(rows[0])])
    table.writerows([cell(value, semicolon) for value in asdict(row).values()] for row in rows)
    write_whole(path, out.getvalue().encode("utf-8-sig", "replace"))


def cell(value: object, semicolon: bool = False) -> str:
    """Return the text of one cell, which no spreadsheet takes for a formula; plain numbers stay.

    >>> cell("=1+1"), cell("-12.5"), cell(0.5, semicolon=True)
    ("'=1+1", '-12.5', '0,5')
    >>> cell("x; =1+1;y")
    "x; '=1+1;y"
    """
    if isinstance(value, float):
        return f"{value:.6g}".replace(".", "," if semicolon else ".")
    text = _CONTROL.sub(" ", str(value))
    formula = (
        _FORMULA_AT_COMMAS if semicolon else _FORMULA
    )  # a table with commas is quoted where spreadsheets part at them
    return text if _NUMBER.fullmatch(text) else formula.sub(r"\1\2'", text)


def folder_for(path: Path) -> Path:
    """Return a folder, made where it is missing, or refuse in a sentence."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Refusal(
            "file",
            where=str(path),
            found=f"cannot be made a folder ({(error.strerror or str(error)).lower()})",
            must_be="a folder that can be written to",
        ) from None
    return path
