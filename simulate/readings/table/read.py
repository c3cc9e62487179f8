"""Load a readings file: a checked table, or one sentence that says what stood where."""

from __future__ import annotations

import os
from dataclasses import replace
from typing import IO

from simulate.core.refusal import a_kind_of
from simulate.readings.table.cell_words import said_of
from simulate.readings.table.columns import Sheet
from simulate.readings.table.csv_cells import ENCODINGS, LARGEST_BYTES, encoding_of, header_and_rows, text_of
from simulate.readings.table.kinds import checked
from simulate.readings.table.readings import Readings, ReadingsError
from simulate.readings.table.slip_record import Slip
from simulate.readings.table.tidying import tidied

__all__ = ["Readings", "ReadingsError", "read_readings"]


def read_readings(
    path_or_file: str | os.PathLike | bytes | IO, name: str | None = None, dark_um: float | None = None
) -> Readings:
    """Read and check a file of readings.

    The header says what the file holds. Bars have ``round, lower, upper, turned, position_mm, gap_um``; plates add
    ``y_mm``, have ``turned`` in degrees, and may have ``slide_x_mm, slide_y_mm``; squares have ``lower, upper,
    height_mm, gap_um``; a union jack has ``line, station, x_mm, y_mm, reading_arcsec``; a level along any other
    lines may add ``set`` (readings of one set-up share its zero) and ``turned`` (end for end); a straightedge along
    lines of a plate has ``line, x_mm, y_mm, gap_um``, or ``dial_um`` for a dial in a bridge; land gauges have
    ``gauge, left_mm, middle_mm, right_mm, proud_um``; a wedge test of the eye has ``gap_um, looks, seen``; a test
    bar in headstock and tailstock ``axis, plane, x_mm, turned, dial_um``; a cross slide ``travel_mm, turned,
    dial_um``; one square ``by, height_mm, turned, gap_um``; a piece by micrometer ``face, against, x_mm, y_mm,
    thickness_mm``. In place of ``gap_um`` a row may give ``gap_at_least_um`` and ``gap_at_most_um``, or one of
    them; in place of ``proud_um`` likewise ``proud_at_least_um`` and ``proud_at_most_um``, where minus is light.
    Bars and plates may say ``printed`` (yes or no) instead, with ``film_um`` or a line ``# film: 3 um``: what
    printed is open by at most the film, what did not by at least that. Units follow a column's name: gaps um, mm,
    thou, tenths, in; lengths mm and in; levels arcsec, urad, um_m, mm_m, thou_ft, in_ft, tenths_10in; divisions are
    ``div``, and a line such as ``# division: 0.02 mm/m`` says what one is worth. ``round`` and ``turned`` may be
    left out (1, no); a column ``note`` is free.

    What a spreadsheet or a pencil makes of such a table is understood where there is no doubt, and `slips` of the
    table says so: semicolons or tabs with decimal commas, UTF-16 and Windows-1252, a title above the header, a row of
    units under it, merged cells, names that differ only by capitals and blanks, and a gap cell that says ``50-100``,
    ``<30``, ``>1000`` or ``dark``.

    Parameters
    ----------
    path_or_file : str, os.PathLike, bytes or file
        A path, the bytes of the file, or a file opened as text or binary.
    name : str, optional
        What refusals call the file, where it has no name of its own.
    dark_um : float, optional
        The gap that ``dark`` in a cell is at most; 2.5 um, or what a line ``# dark_um: 1.5`` of the file says.

    Returns
    -------
    Readings
        What it cannot see: a reading taken at the wrong place, or two bars whose names were swapped.

    Raises
    ------
    ReadingsError
        Naming file, row, column, what stood there and what may stand there.

    Examples
    --------
    >>> table = read_readings(b"lower,upper,turned,position_mm,gap_thou\\nA,B,no,0,1\\nA,B,no,50,0\\n")
    >>> table.kind, table.names, table.gap_um.tolist()
    ('bars', ('A', 'B'), [25.4, 0.0])
    """
    data, file = bytes_of(path_or_file, name)
    text = text_of(data, file)
    plain = tidied(text, dark_um)
    header, header_row, rows = header_and_rows(plain.text, file)
    encoding = encoding_of(data)
    told = (Slip(kind="encoding", what=ENCODINGS[encoding]),) if encoding in ENCODINGS else ()
    return replace(
        checked(Sheet(file, header, header_row, rows, said_of(text.splitlines()))), slips=(*told, *plain.slips)
    )


def bytes_of(source: str | os.PathLike | bytes | IO, name: str | None = None) -> tuple[bytes, str]:
    """Open a source of readings once.

    Returns `file`: how refusals call it.
    """
    if isinstance(source, (bytes, bytearray, memoryview)):
        return bytes(source), name or "readings"
    if hasattr(source, "read"):
        own = getattr(source, "name", None)
        file = name or (os.path.basename(own) if isinstance(own, str) else "readings")
        try:
            data = source.read(LARGEST_BYTES + 1)
            if not isinstance(data, (str, bytes, bytearray, memoryview)):
                raise OSError(f"it gave a {type(data).__name__}")
        except UnicodeDecodeError as error:
            raise ReadingsError(
                file,
                f"it holds a character that is not {error.encoding} (byte {error.object[error.start]:#04x})",
                "CSV in UTF-8 (in a spreadsheet: save as, CSV UTF-8)",
                code="table",
            ) from None
        except (OSError, ValueError) as error:
            reason = (getattr(error, "strerror", None) or str(error)).rstrip(".")
            raise ReadingsError(
                file,
                f"cannot be read ({reason[:1].lower()}{reason[1:]})",
                "a file that is open for reading",
                code="file",
            ) from None
        return (data.encode("utf-8", "surrogatepass") if isinstance(data, str) else bytes(data)), file
    if not isinstance(source, (str, os.PathLike)):
        raise ReadingsError(name or "readings", a_kind_of(source), "a path, bytes or an open file", code="type")
    file = name or os.path.basename(os.fsdecode(source)) or "readings"
    try:
        with open(source, "rb") as opened:
            return opened.read(LARGEST_BYTES + 1), file
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "no such path"
        raise ReadingsError(
            file, f"cannot be read ({reason.lower()})", "a readings file that exists", code="file"
        ) from None
