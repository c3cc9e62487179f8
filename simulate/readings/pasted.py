"""Readings as they come out of a spreadsheet's clipboard."""

from __future__ import annotations

import csv
import io


def comma_text(text: str) -> str:
    """Turn a table pasted from a spreadsheet, with tabs between cells, into one with commas; leave any other as it is.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
        Line for line, so that a row keeps its number. A cell that holds a comma is put into quotes: whether 1,234
        is a little more than one or more than a thousand is for the learner to say, and the reader asks.

    Examples
    --------
    >>> comma_text("lower\\tupper\\tposition_mm\\tgap_um\\nA\\tB\\t0\\t1.5\\n")
    'lower,upper,position_mm,gap_um\\nA,B,0,1.5\\n'
    >>> comma_text("lower,upper\\nA,B")
    'lower,upper\\nA,B'
    """
    lines = text.splitlines()
    head = next((line for line in lines if line.strip() and not line.lstrip().startswith("#")), "")
    if "\t" not in head or "," in head:
        return text
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for line in lines:
        if line.lstrip().startswith("#") or not line.strip():
            out.write(line.replace("\t", " ").rstrip() + "\n")
        else:
            writer.writerow([cell.strip().strip('"') for cell in line.split("\t")])
    return out.getvalue()
