"""An entry grid as a table of fields for a page, and the style that it has there."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from html import escape
from pathlib import Path

from simulate.readings.entry.cell_faults import CellFault
from simulate.readings.entry.cell_grid import EntryGrid
from simulate.readings.entry.head_words import (
    block_words,
    column_words,
    corner_words,
    head_words,
    row_words,
    takes_intervals,
    unit_words,
)

_HERE = Path(__file__).resolve().parent
_PRINTS = ("bars", "plates")


def grid_html(grid: EntryGrid, text: str, stamp: int, wrong: Sequence[CellFault] = (), name: str = "readings") -> str:
    """Give the table that is typed into.

    `text`: that the grid is of. `stamp`: which drawing of the grid this is: what is typed into an older one is not
    taken. `name`: what the table holds, for those who hear it.
    """
    unit = unit_words(grid, text)
    faulty = {(fault.row, fault.column) for fault in wrong}
    heads = "".join(
        f"<th scope='col'>{escape(column_words(grid, c))}{f'<small>{escape(unit)}</small>' if unit else ''}</th>"
        for c in range(len(grid.across))
    )
    rows, block = [], ""
    for r in range(len(grid.down)):
        if block_words(grid, r) != block:
            block = block_words(grid, r)
            rows.append(
                f"<tr class='block'><th scope='rowgroup' colspan='{len(grid.across) + 1}'>"
                f"<span>{escape(block)}</span></th></tr>"
            )
        cells = "".join(_cell(grid, r, c, unit, (r, c) in faulty) for c in range(len(grid.across)))
        rows.append(f"<tr><th scope='row'>{escape(row_words(grid, r))}</th>{cells}</tr>")
    said = f"{name}, {len(grid.down)} by {len(grid.across)} cells" + (f", in {unit}" if unit else "")
    return (
        f"<div class='workshop-grid' data-stamp='{stamp}' data-lm-suppress-shortcuts='true'>"
        "<p class='workshop-grid-asleep'>The cells are not live: choose Run, then Run All Cells.</p>"
        f"<div class='workshop-grid-scroll'><table aria-label='{escape(said, quote=True)}'>"
        f"<thead><tr><th scope='col'>{escape(corner_words(grid))}</th>{heads}</tr></thead>"
        f"<tbody>{''.join(rows)}</tbody></table></div>"
        f"<p class='workshop-grid-how'>{_how(grid)}</p><p class='workshop-grid-said' role='status'></p></div>"
    )


def _cell(grid: EntryGrid, row: int, column: int, unit: str, wrong: bool) -> str:
    place = grid.places[row][column]
    if place.closed:
        return "<td class='closed'></td>"
    said = escape(" ".join([*head_words(grid, row, column)]) + (f", {unit}" if unit else ""), quote=True)
    return (
        f"<td{' class=wrong' if wrong else ''}><input type='text' size='6' readonly "
        "autocomplete='off' spellcheck='false' "
        f"data-at='{row},{column}' aria-label='{said}'{' aria-invalid=true' if wrong else ''} "
        f"value='{escape(place.typed, quote=True)}'></td>"
    )


def _how(grid: EntryGrid) -> str:
    """What the keys do, and what a cell may say."""
    keys = (
        "<kbd>Enter</kbd> goes down, <kbd>Tab</kbd> across, arrows either way; <kbd>Escape</kbd> puts a cell back, "
        "<kbd>Ctrl Z</kbd> takes a step back, <kbd>Ctrl Enter</kbd> reads."
    )
    if not takes_intervals(grid):
        return keys
    more = ", <code>x</code> and <code>.</code> for a print" if grid.kind in _PRINTS else ""
    interval = "-30 to -10" if grid.kind == "lands" else "50-100"
    dark = "" if grid.kind == "lands" else ", <code>dark</code>"
    return (
        f"{keys} A cell takes a figure, <code>{interval}</code>, <code>&lt;30</code>, "
        f"<code>&gt;1000</code>{dark}{more}; "
        "a column copied in a spreadsheet can be pasted."
    )


def told_html(
    grid: EntryGrid,
    stamp: int,
    wrong: Sequence[CellFault],
    cells: Mapping[tuple[int, int], str],
    heard: Mapping[str, int],
) -> str:
    """Give the lines under the grid: how many cells are filled, which cannot be read, and what the grid does not show.

    `cells`: what was typed since the grid was drawn, which a page shows that opens later or is another's. `heard`: page
    -> number of its last message.
    """
    outside = grid.outside
    open_cells = [place for row in grid.places for place in row if not place.closed]
    filled = sum(bool(place.typed) for place in open_cells)
    marks = json.dumps([f"{fault.row},{fault.column}" for fault in wrong])
    said = json.dumps({f"{row},{column}": words for (row, column), words in cells.items()})
    lines = "".join(f"<li>{escape(fault.sentence)}</li>" for fault in wrong[:8])
    more = f"<li>and {len(wrong) - 8} more cells, marked in the grid.</li>" if len(wrong) > 8 else ""
    rows = ", ".join(map(str, outside[:6])) + (" and more" if len(outside) > 6 else "")
    beside = (
        f" Line{'s' * (len(outside) != 1)} {rows} of the text cannot be shown as cells; choose <i>text</i> to see them."
        if outside
        else ""
    )
    return (
        f"<div class='workshop-grid-told' data-stamp='{stamp}' data-wrong='{escape(marks, quote=True)}' "
        f"data-cells='{escape(said, quote=True)}' data-heard='{escape(json.dumps(heard), quote=True)}'>"
        f"<p>{filled} of {len(open_cells)} cells are filled.{beside}</p>"
        f"<div role='status'>{f'<p>Cannot be read:</p><ul>{lines}{more}</ul>' if wrong else ''}</div></div>"
    )


def unshown_html(why: str, stamp: int) -> str:
    """Say why there is no grid."""
    said = f"<p class='workshop-grid-said' role='status'>No grid: {escape(why)}</p>"
    return f"<div class='workshop-grid' data-stamp='{stamp}'>{said}</div>"


def style_html() -> str:
    """Give the style of the grid, once in a panel."""
    return f"<style>{(_HERE / 'entry.css').read_text(encoding='utf-8')}</style>"


def script_html() -> str:
    """Give the script that moves among the cells and hands over what is typed; a page runs it once."""
    parts = ((_HERE / name).read_text(encoding="utf-8") for name in ("pointed.js", "entry.js"))
    return f"<script>{''.join(parts)}</script>"
