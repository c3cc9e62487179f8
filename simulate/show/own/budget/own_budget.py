"""A learner's own chain: rows that are typed, changed, removed and put back, and which of them to improve."""

from __future__ import annotations

from html import escape
from pathlib import Path

import ipywidgets as widgets

from simulate.core.atomic_files import reason, typed_path
from simulate.core.refusal import Refusal, counted
from simulate.method.planning.workshop_budget import Workshop, workshop_links
from simulate.method.uncertainty_budget import Chain, combine_chain
from simulate.readings.logbook.budget_sheet import KINDS, LinkRow, links_of, read_sheet, rows_as_typed, sheet_text
from simulate.readings.logbook.log_findings import worked_out
from simulate.readings.logbook.logbook import open_logbook, write_whole
from simulate.readings.logbook.measured_links import FilledSheet, filled_sheet
from simulate.readings.table.csv_cells import LARGEST_BYTES, text_of
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.drawing.focus import FOCUS
from simulate.show.own.draft_keeper import DraftKeeper
from simulate.show.own.pulse import Pulse
from simulate.show.panel.pages import Pages
from simulate.show.panel.panel import Panel
from simulate.show.planning.budget_picture import HalvedDots, LinkBars, shared_words

MOST = 14
"""So many links have room in the picture."""
_DRAFTS = {"mm": "links", "inch": "thou_links"}
"""Units to the name of the draft: a sheet is typed in one unit and kept in it."""
MOST_STEPS = 100
"""So many changes can be taken back."""

_FIELDS = (
    ("link", "source", "13em"),
    ("figure", "uncertainty", "7em"),
    ("kind", "kind of figure", "14em"),
    ("per_unit", "{unit} per unit", "9em"),
    ("readings", "number of readings", "8em"),
    ("shared", "shared cause", "8em"),
)
_KINDS = (
    ("± one standard deviation", KINDS[0]),
    ("± limits (rectangular)", KINDS[1]),
    ("± 95 % limits", KINDS[2]),
)


def workshop_rows(shop: Workshop = Workshop(), units: str = "mm") -> tuple[LinkRow, ...]:
    """Write a workshop's links as rows to start from.

    >>> workshop_rows()[3]
    LinkRow(link='heat', figure='0.173', kind='spread', per_unit='8.62', readings='', shared='')
    """
    rows = []
    for link in workshop_links(shop):
        length = link.um_per_unit == 1  # its figure is one of micrometres, and turns to thou with the result
        figure, per = (
            (style.small(link.sd, units), "") if length else (link.sd, f"{style.small(link.um_per_unit, units):.3g}")
        )
        rows.append(LinkRow(link.name, f"{figure:.3g}", KINDS[0], per, shared=link.cause))
    return tuple(rows)


def filled_words(filled: FilledSheet) -> str:
    """Say what of a sheet comes from the logbook, and what is still supposed."""
    said = [f"From the logbook: {'; '.join(filled.measured)}."]
    if filled.untold:
        names = ", ".join(f"{one.body} (set {one.number})" for one in filled.untold)
        said.append(f"No range is known yet for {names}, so none of it went into the sheet.")
    if filled.supposed:
        said.append(f"Nobody measured {', '.join(filled.supposed)}: the figures there are yours to set.")
    return " ".join(said)


class OwnChainPanel(Panel):
    """A sheet of links in, the budget out.

    Parameters
    ----------
    rows : sequence of LinkRow
        At the start, at most 14; the workshop of lesson 17 without it.
    coverage : float
        0.95 or 0.99.
    sheet : str
        Where the sheet is kept.
    logbook : str
        The logbook that the sheet may be filled from.
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

    def __init__(
        self,
        rows: tuple[LinkRow, ...] | None = None,
        coverage: float = 0.95,
        sheet: str = "my_links.csv",
        units: str | None = None,
        dpi: int = 100,
        logbook: str = "my_logbook.json",
    ) -> None:
        super().__init__(units, dpi)
        self.menu("coverage", "Level of confidence", [("95 cases of 100", 0.95), ("99 cases of 100", 0.99)], coverage)
        self.zoom_tick()
        self.chain: Chain | None = None
        self._buttons(sheet, logbook)
        self.table, self._rows = widgets.VBox([self._head()]), []
        self._boxes: list[
            dict[str, widgets.Widget]
        ] = []  # one a row that there ever was: what is in use stays in place
        self._lines: list[widgets.HBox] = []
        self._lay(workshop_rows(units=self.units) if rows is None else tuple(rows))
        self._now, self._past = self.rows(), []
        self._typed = widgets.Textarea(value=sheet_text(self._now, self.units))
        self.draft = DraftKeeper(_DRAFTS[self.units], where="in a sheet")
        self.draft.watch("rows", self._typed)
        self.on_press(self.draft.away, self._put_away)
        self._paper()
        self.ready(strict=True)
        if self.draft.restore():
            self._lay_typed()

    # -- the rows ---------------------------------------------------------
    def rows(self) -> tuple[LinkRow, ...]:
        """Read the rows as they stand."""
        return tuple(LinkRow(**{name: str(box[name].value) for name, _, _ in _FIELDS}) for box in self._rows)

    def add(
        self,
        link: str = "",
        figure: str = "",
        kind: str = KINDS[0],
        per_unit: str = "",
        readings: str = "",
        shared: str = "",
    ) -> None:
        """Add a row at the end; an empty one waits to be filled in."""
        if len(self._rows) >= MOST:
            self.refuse(
                Refusal(
                    "count",
                    where="the sheet",
                    found=f"{MOST} rows",
                    must_be="no more, because the picture has no room for it",
                    do="Remove one, or combine two",
                )
            )
            return
        rows = (*self.rows(), LinkRow(link, figure, kind, per_unit, readings, shared))
        self._relay(rows, f"Row {len(rows)} was added at the end.")

    def remove(self, row: int) -> None:
        """Take a row out; *Undo* puts it back.

        Parameters
        ----------
        row : int
            Counted from 1.
        """
        rows = self.rows()
        self._relay((*rows[: row - 1], *rows[row:]), f"Row {row} was removed; Undo puts it back.")

    def fill(self) -> None:
        """Fill the sheet from the logbook; *Undo* brings back what stood there."""
        entries = open_logbook(typed_path(self.logbook.value))
        filled = filled_sheet(self.rows(), worked_out(entries), self.units)
        if not filled.measured:
            raise Refusal(
                "state",
                where=Path(self.logbook.value).name,
                found="without a set that shows how far a bar, a plate, a square or an eye may be out",
                must_be="a logbook with one, saved in lesson 23",
                do="Add readings there, turned or twice, so that they show their own repeatability",
            )
        self._relay(filled.rows, filled_words(filled))

    def _relay(self, rows: tuple[LinkRow, ...], said: str) -> None:
        self._lay(rows)
        self.refresh()
        self.said.value = f"<p role='status'>{escape(said)}</p>"

    def refresh(self) -> None:
        """Draw anew, and hold the rows as they stood before the change, whoever made it."""
        rows = self.rows()
        if rows != self._now:
            self._past, self._now = [*self._past, self._now][-MOST_STEPS:], rows
        self.undo.disabled = not self._past
        self._typed.value = sheet_text(rows, self.units)
        super().refresh()

    def _lay_typed(self) -> None:
        """Lay the rows as the draft has them."""
        self._lay(rows_as_typed(self._typed.value)[:MOST])
        self.refresh()

    def _put_away(self) -> None:
        """Keep the draft under another name, and show what was loaded."""
        self.draft.put_away()
        self._lay_typed()

    def _undo(self) -> None:
        if not self._past:
            raise Refusal(
                "state",
                where="the sheet",
                found="as it was laid out",
                must_be="one that was changed",
                do="Change something first",
            )
        self._now = self._past.pop()
        self._relay(self._now, "The last change is taken back.")

    def _lay(self, rows: tuple[LinkRow, ...]) -> None:
        if len(rows) > MOST:
            raise Refusal(
                "count",
                where="the sheet",
                found=f"{len(rows)} rows",
                must_be=f"at most {MOST}, because the picture has room for no more",
                do="Put two into one",
            )
        while len(self._boxes) < len(rows):
            self._boxes.append(self._row(len(self._boxes) + 1))
            self._lines.append(widgets.HBox([*self._boxes[-1].values()]))
        self._rows = self._boxes[: len(rows)]
        with self.quietly():
            for box, row in zip(self._rows, rows, strict=True):
                for name, _, _ in _FIELDS:
                    box[name].value = getattr(row, name)
        self.table.children = (*self.table.children[:1], *self._lines[: len(rows)])

    def _head(self) -> widgets.HBox:
        unit = style.small_unit(self.units)
        return widgets.HBox(
            [
                widgets.HTML(f"<b>{words.format(unit=unit)}</b>", layout=widgets.Layout(width=wide))
                for _, words, wide in _FIELDS
            ]
        )

    def _row(self, number: int) -> dict[str, widgets.Widget]:
        box: dict[str, widgets.Widget] = {}
        for name, words, wide in _FIELDS:
            more = {
                "tooltip": f"row {number}, {words.format(unit=style.small_unit(self.units))}",
                "layout": widgets.Layout(width=wide),
            }
            box[name] = (
                widgets.Dropdown(options=_KINDS, **more)
                if name == "kind"
                else widgets.Text(continuous_update=False, **more)
            )
            box[name].observe(self._changed, names="value")
        box["remove"] = widgets.Button(
            description=f"Remove row {number}", layout=widgets.Layout(width="9em", flex="0 0 auto")
        )
        self.on_press(box["remove"], lambda: self.remove(number))
        return box

    def _buttons(self, sheet: str, logbook: str) -> None:
        def button(words, act):
            made = widgets.Button(description=words, layout=widgets.Layout(width="14em"))
            self.on_press(made, act)
            return made

        self.more = button("Add a link", self.add)
        self.undo = button("Undo", self._undo)
        self.sheet = widgets.Text(value=sheet, description="Sheet file")
        self.save = button("Save sheet", self._save)
        self.open = button("Open sheet", self._open)
        self.logbook = widgets.Text(value=logbook, description="Logbook file", style={"description_width": "7em"})
        self.from_logbook = button("Fill from the logbook", self.fill)
        self.said = widgets.HTML()

    def arrange(self, rows: widgets.Widget) -> widgets.Box:
        """Put the sheet on one page, what it adds up to on the next, and its files behind."""
        links = [self.table, widgets.HBox([self.more, self.undo, self.draft.away])]
        files = [widgets.HBox([self.sheet, self.save, self.open]), widgets.HBox([self.logbook, self.from_logbook])]
        sums = "What they add up to"
        self.pages = Pages({"Links": links, sums: [rows, self.picture], "Files": files}, sums)
        above = [
            widgets.HTML(FOCUS),
            Pulse(lambda: self.view).view,
            self.pages.bar,
            self.draft.line,
            self.said,
            self.message,
        ]
        return widgets.VBox([*above, *self.pages.boxes])

    # -- keeping ----------------------------------------------------------
    def _save(self) -> None:
        rows = self.rows()
        links_of(rows, self.units)
        write_whole(typed_path(self.sheet.value), sheet_text(rows, self.units).encode())
        self.draft.saved()
        self.message.value = ""
        self.said.value = f"<p role='status'>Saved: {counted(sum(not r.empty for r in rows), 'link')}.</p>"

    def _open(self) -> None:
        path = typed_path(self.sheet.value)
        try:
            with path.open("rb") as opened:
                data = opened.read(LARGEST_BYTES + 1)
        except (OSError, ValueError) as error:
            raise Refusal(
                "file",
                where=f"{path.name or 'the sheet'}",
                found=f"cannot be opened ({reason(error)})",
                must_be="a sheet that was saved here",
            ) from None
        rows = read_sheet(text_of(data, path.name), path.name, self.units)
        self.draft.may_load(rows=sheet_text(rows, self.units))
        with self.draft.loading():
            self._relay(rows, f"Opened: {counted(len(rows), 'link')}.")
        self.draft.loaded("rows")

    # -- the picture ------------------------------------------------------
    def _paper(self) -> None:
        self.canvas = Canvas(1280, 560, self.dpi)
        with style.styled():
            self._bars = LinkBars(
                self.canvas, self.canvas.figure.add_axes((0.165, 0.115, 0.415, 0.80)), MOST, self.units
            )
            self._dots = HalvedDots(
                self.canvas, self.canvas.figure.add_axes((0.63, 0.115, 0.275, 0.80)), MOST, self.units
            )

    def draw(self, coverage: float, zoom: bool) -> str:
        """Combine the links; give the sentence."""
        chain = combine_chain(links_of(self.rows(), self.units), coverage)
        self.chain = chain
        self._bars.show(chain, zoom)
        self._dots.show(chain)
        return self._words(chain, coverage)

    def _words(self, chain: Chain, coverage: float) -> str:
        def spell(um):
            return style.spell(float(um), self.units)

        worst, count = int(chain.weakest), len(chain.names)
        few = f", {int(chain.freedom + 1e-9)} degrees of freedom" if chain.freedom < 200 else ""
        whole = (
            f"{count} {'entries' if len(chain.links) > count else 'link' + 's' * (count > 1)} together: a standard "
            f"uncertainty of {spell(chain.combined_um)}{few}. Times {float(chain.factor):.2f}, that is ± "
            f"{spell(chain.expanded_um)}, which holds in {100 * coverage:.0f} cases out of 100."
        )
        if not chain.combined_um:
            return f"{whole} No row of this sheet has an uncertainty yet, and every job has some."
        return (
            f"{whole} {shared_words(chain, spell)}Improve {chain.names[worst]} first: {100 * chain.share[worst]:.0f} "
            f"% of the variance is there, and halving it would leave {spell(chain.if_halved_um[worst])}."
        )
