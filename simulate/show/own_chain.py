"""A learner's own chain: rows that are typed, changed, removed and put back, and which of them to improve."""

from __future__ import annotations

from pathlib import Path

import ipywidgets as widgets

from simulate.core.refusal import Refusal
from simulate.method.chain import Chain, combine_chain
from simulate.method.workshop_chain import Workshop, workshop_links
from simulate.readings.cells import LARGEST_BYTES, text_of
from simulate.readings.link_sheet import KINDS, LinkRow, links_of, read_sheet, sheet_text
from simulate.readings.logbook import write_whole
from simulate.show import style
from simulate.show.canvas import Canvas
from simulate.show.chain_picture import HalvedDots, LinkBars, shared_words
from simulate.show.focus import FOCUS
from simulate.show.panel import Panel
from simulate.show.pulse import Pulse

MOST = 14
"""So many links have room in the picture."""

_FIELDS = (("link", "what it is", "15em"), ("figure", "how unsure", "7em"), ("kind", "kind of figure", "15em"),
           ("per_unit", "{unit} for one unit", "9em"), ("readings", "from readings", "8em"),
           ("shared", "shared cause", "9em"))
_KINDS = (("± one standard deviation", KINDS[0]), ("± a bound that always holds", KINDS[1]), ("± holds 95 of 100", KINDS[2]))


def workshop_rows(shop: Workshop = Workshop(), units: str = "mm") -> tuple[LinkRow, ...]:
    """Write a workshop's links as rows to start from.

    Parameters
    ----------
    shop : Workshop
    units : str

    Returns
    -------
    tuple of LinkRow

    Examples
    --------
    >>> workshop_rows()[3]
    LinkRow(link='heat', figure='0.173', kind='spread', per_unit='8.62', readings='', shared='')
    """
    rows = []
    for link in workshop_links(shop):
        length = link.um_per_unit == 1  # its figure is one of micrometres, and turns to thou with the result
        figure, per = (style.small(link.sd, units), "") if length else (link.sd, f"{style.small(link.um_per_unit, units):.3g}")
        rows.append(LinkRow(link.name, f"{figure:.3g}", KINDS[0], per, shared=link.cause))
    return tuple(rows)


class OwnChainPanel(Panel):
    """A sheet of links in, the budget out.

    Parameters
    ----------
    rows : sequence of LinkRow
        At the start, at most 14; the workshop of lesson 16 without it.
    coverage : float
        0.95 or 0.99.
    sheet : str
        Where the sheet is kept.
    units : str, optional
    dpi : int

    Raises
    ------
    ValueError
        Where a row is no link, or there are too many.

    Examples
    --------
    >>> panel = OwnChainPanel()
    >>> panel.add("floor that gives", "6")
    >>> "Improve floor that gives first" in panel.sentence
    True
    """

    at_once = False  # its lines are typed in one unit and kept in it

    def __init__(self, rows: tuple[LinkRow, ...] | None = None, coverage: float = 0.95, sheet: str = "my_links.csv",
                 units: str | None = None, dpi: int = 100) -> None:
        super().__init__(units, dpi)
        self.menu("coverage", "To hold in", [("95 cases of 100", 0.95), ("99 cases of 100", 0.99)], coverage)
        self.chain: Chain | None = None
        self._taken: tuple[int, LinkRow] | None = None
        self._buttons(sheet)
        self.table, self._rows = widgets.VBox(), []
        self._lay(workshop_rows(units=self.units) if rows is None else tuple(rows))
        self._paper()
        self.ready(strict=True)

    # -- the rows ---------------------------------------------------------
    def rows(self) -> tuple[LinkRow, ...]:
        """Read the rows as they stand.

        Returns
        -------
        tuple of LinkRow
        """
        return tuple(LinkRow(**{name: str(box[name].value) for name, _, _ in _FIELDS}) for box in self._rows)

    def add(self, link: str = "", figure: str = "", kind: str = KINDS[0], per_unit: str = "", readings: str = "",
            shared: str = "") -> None:
        """Add a row at the end; an empty one waits to be filled in.

        Parameters
        ----------
        link, figure, kind, per_unit, readings, shared : str
        """
        if len(self._rows) >= MOST:
            self.refuse(Refusal("count", where="the sheet", found=f"{MOST} rows", must_be="no more, for the picture has no room for it",
                                do="Remove one, or put two into one"))
            return
        self._lay((*self.rows(), LinkRow(link, figure, kind, per_unit, readings, shared)))
        self.refresh()
        self.said.value = f"<p role='status'>Row {len(self._rows)} was added at the end.</p>"

    def remove(self, row: int) -> None:
        """Take a row out; *Put the last one back* undoes it.

        Parameters
        ----------
        row : int
            Counted from 1.
        """
        rows = list(self.rows())
        self._taken = row, rows.pop(row - 1)
        self.put_back.disabled = False
        self._lay(tuple(rows))
        self.refresh()
        self.said.value = f"<p role='status'>Row {row} was taken out; it can be put back.</p>"

    def _undo(self) -> None:
        if self._taken is None:
            raise Refusal("state", where="the sheet", found="as it was laid out", must_be="one with a row taken out", do="Remove a row first")
        (row, taken), rows = self._taken, list(self.rows())
        rows.insert(min(row - 1, len(rows)), taken)
        self._taken, self.put_back.disabled = None, True
        self._lay(tuple(rows))
        self.refresh()
        self.said.value = "<p role='status'>The row that was taken out last is back.</p>"

    def _lay(self, rows: tuple[LinkRow, ...]) -> None:
        if len(rows) > MOST:
            raise Refusal("count", where="the sheet", found=f"{len(rows)} rows",
                          must_be=f"at most {MOST}, for the picture has room for no more", do="Put two into one")
        self._rows = [self._row(number, row) for number, row in enumerate(rows, 1)]
        unit = style.small_unit(self.units)
        head = widgets.HBox([widgets.HTML(f"<b>{words.format(unit=unit)}</b>", layout=widgets.Layout(width=wide)) for _, words, wide in _FIELDS])
        self.table.children = (head, *(widgets.HBox([*box.values()]) for box in self._rows))

    def _row(self, number: int, row: LinkRow) -> dict[str, widgets.Widget]:
        box: dict[str, widgets.Widget] = {}
        for name, words, wide in _FIELDS:
            more = {"tooltip": f"row {number}, {words.format(unit=style.small_unit(self.units))}", "layout": widgets.Layout(width=wide)}
            box[name] = (widgets.Dropdown(options=_KINDS, value=row.kind, **more) if name == "kind"
                         else widgets.Text(value=getattr(row, name), continuous_update=False, **more))
            box[name].observe(self._changed, names="value")
        box["remove"] = widgets.Button(description=f"Remove row {number}", layout=widgets.Layout(width="9.5em", flex="0 0 auto"))
        self.on_press(box["remove"], lambda: self.remove(number))
        return box

    def _buttons(self, sheet: str) -> None:
        def button(words, act):
            made = widgets.Button(description=words, layout=widgets.Layout(width="14em"))
            self.on_press(made, act)
            return made
        self.more = button("Add a link", self.add)
        self.put_back = button("Put the last one back", self._undo)
        self.put_back.disabled = True
        self.sheet = widgets.Text(value=sheet, description="Sheet file")
        self.save = button("Save sheet", self._save)
        self.open = button("Open sheet", self._open)
        self.said = widgets.HTML()

    def arrange(self, rows: widgets.Widget) -> widgets.Box:
        """Put the sheet over the picture.

        Parameters
        ----------
        rows : Widget

        Returns
        -------
        Box
        """
        return widgets.VBox([widgets.HTML(FOCUS), Pulse().view, self.table, widgets.HBox([self.more, self.put_back]), rows, self.message,
                             self.picture, widgets.HBox([self.sheet, self.save, self.open]), self.said])

    # -- keeping ----------------------------------------------------------
    def _save(self) -> None:
        rows = self.rows()
        links_of(rows, self.units)
        write_whole(self.sheet.value, sheet_text(rows, self.units).encode())
        self.message.value = ""
        self.said.value = f"<p role='status'>Saved: {sum(not r.empty for r in rows)} links.</p>"

    def _open(self) -> None:
        path = Path(self.sheet.value.strip()).expanduser()
        try:
            with path.open("rb") as opened:
                data = opened.read(LARGEST_BYTES + 1)
        except (OSError, ValueError) as error:
            raise Refusal("file", where=f"{path.name or 'the sheet'}",
                          found=f"cannot be opened ({error.__class__.__name__})",
                          must_be="a sheet that was saved here") from None
        self._lay(read_sheet(text_of(data, path.name), path.name, self.units))
        self._taken, self.put_back.disabled = None, True
        self.refresh()
        self.said.value = f"<p role='status'>Opened: {len(self._rows)} links.</p>"

    # -- the picture ------------------------------------------------------
    def _paper(self) -> None:
        self.canvas = Canvas(1280, 560, self.dpi)
        with style.styled():
            self._bars = LinkBars(self.canvas, self.canvas.figure.add_axes((0.165, 0.115, 0.415, 0.80)), MOST, self.units)
            self._dots = HalvedDots(self.canvas, self.canvas.figure.add_axes((0.63, 0.115, 0.275, 0.80)), MOST, self.units)

    def draw(self, coverage: float) -> str:
        """Combine the links; give the sentence.

        Parameters
        ----------
        coverage : float

        Returns
        -------
        str
        """
        chain = combine_chain(links_of(self.rows(), self.units), coverage)
        self.chain = chain
        self._bars.show(chain)
        self._dots.show(chain)
        return self._words(chain, coverage)

    def _words(self, chain: Chain, coverage: float) -> str:
        def spell(um):
            return style.spell(float(um), self.units)
        worst, count = int(chain.weakest), len(chain.names)
        few = f", {int(chain.freedom + 1e-9)} degrees of freedom" if chain.freedom < 200 else ""
        whole = (f"{count} {'entries' if len(chain.links) > count else 'link' + 's' * (count > 1)} together: a standard uncertainty of {spell(chain.combined_um)}{few}. Times "
                 f"{float(chain.factor):.2f} that is ± {spell(chain.expanded_um)}, which holds in {100 * coverage:.0f} cases of 100.")
        if not chain.combined_um:
            return f"{whole} Nothing in this sheet is unsure; that is never so."
        return (f"{whole} {shared_words(chain, spell)}Improve {chain.names[worst]} first: {100 * chain.share[worst]:.0f} % of the variance is there, and half "
                f"of it would leave {spell(chain.if_halved_um[worst])}.")
