"""Readings entered in a grid of cells or as text: two views of one text, which is what the panel reads and keeps."""

from __future__ import annotations

import json
from collections.abc import Callable
from contextlib import suppress
from html import escape

import ipywidgets as widgets

from simulate.core.refusal import Refusal
from simulate.readings.entry.cell_faults import faults
from simulate.readings.entry.cell_grid import EntryGrid, entry_grid, place_of
from simulate.readings.entry.cell_typing import with_cells
from simulate.readings.entry.head_words import rows_in_words
from simulate.readings.entry.laying_out import FIELDS
from simulate.readings.logbook.logbook import write_whole
from simulate.show.own.entry.grid_html import grid_html, script_html, style_html, told_html, unshown_html
from simulate.show.own.entry.layout_box import LayoutBox
from simulate.show.units.finding_words import KIND_WORDS

CARD = "my_card.pdf"
"""Where a card to print is written."""
WAYS = (("grid", "grid"), ("text", "text"), ("new grid", "new"))
"""Ways to enter readings: label, name."""


class EntryBox:
    """A grid over a field of text; what is typed into either is in both.

    `typed`: the text, which is what counts. `units`: ``"mm"`` or ``"inch"``: what a new grid is laid out in. `kinds`:
    of readings that a new grid may be for. `replace`: takes the text of a new grid for what was loaded; the draft of
    another text is put away first. `attempt`: does something for the learner, a refusal becoming a sentence. `read`:
    that reads what stands there. `say`: shows one line.
    """

    def __init__(
        self,
        typed: widgets.Textarea,
        units: str,
        kinds: tuple[str, ...],
        replace: Callable[[str], None],
        attempt: Callable[[Callable[[], object]], None],
        read: widgets.Button,
        say: Callable[[str], None],
    ) -> None:
        self.typed, self.read, self._units = typed, read, units
        self._replace, self._attempt, self._say = replace, attempt, say
        self.way = widgets.ToggleButtons(
            options=WAYS, value="grid", description="Enter readings in", style={"button_width": "7em"}
        )
        self.way.style.description_width = "12em"
        self.grid_view, self.told, self.cells = widgets.HTML(), widgets.HTML(), widgets.Text(description="cells")
        self.card = widgets.Button(
            description="Write a card to print",
            layout=widgets.Layout(width="14em"),
            tooltip="a PDF with the same cells, empty, to fill in at the bench",
        )
        self.card.on_click(lambda _: self._attempt(self._write_card))
        self.rows = widgets.HTML()
        self.layout = LayoutBox(units, kinds, self._lay)
        self.grid: EntryGrid | None = None
        self._stamp, self._base, self._shown_text, self._own = 0, "", "", False
        self._forget()
        script = {"output_type": "display_data", "metadata": {}, "data": {"text/html": script_html()}}
        hidden = widgets.HBox([self.cells, widgets.Output(outputs=(script,))], layout=widgets.Layout(display="none"))
        hidden.add_class("workshop-entry-cells")
        self.read.add_class("workshop-entry-read")
        self._as_text = widgets.HBox([typed], layout=widgets.Layout(overflow="visible", padding="2px"))
        self.view = widgets.VBox(
            [
                widgets.HTML(style_html()),
                self.way,
                self.layout.view,
                self.grid_view,
                self.told,
                self._as_text,
                self.rows,
                widgets.HBox([self.card], layout=widgets.Layout(overflow="visible", padding="2px")),
                hidden,
            ],
            layout=widgets.Layout(overflow="visible"),
        )
        self.view.add_class("workshop-entry")
        self.cells.observe(self._cells_came, names="value")
        self.typed.observe(self._text_came, names="value")
        self.way.observe(self._turned, names="value")
        self._turned(None)

    # -- the two views ----------------------------------------------------------
    def _turned(self, _change) -> None:
        shown = self.way.value
        self._as_text.layout.display = None if shown == "text" else "none"
        self.layout.view.layout.display = None if shown == "new" else "none"
        for part in (self.grid_view, self.told):
            part.layout.display = None if shown == "grid" else "none"
        if shown == "new":
            self.layout.follow(self.grid.kind if self.grid else "")
        if shown == "grid" and self._base_is_old():
            self.draw()

    def _base_is_old(self) -> bool:
        return self.grid is None or self.typed.value != self._shown_text

    def _text_came(self, _change) -> None:
        if not self._own and self.way.value == "grid":
            self.draw()

    def _forget(self) -> None:
        """Have no page say anything of the grid yet: it is drawn anew."""
        self._cells: dict[tuple[int, int], str] = {}
        self._said: dict[str, dict[str, tuple]] = {}
        self._heard: dict[str, int] = {}

    def draw(self) -> None:
        """Show the text as a grid, or say why there is none."""
        self._stamp += 1
        self._forget()
        self._base = self._shown_text = self.typed.value
        try:
            self.grid = entry_grid(self._base)
        except Refusal as why:
            self.grid = None
            self.grid_view.value, self.told.value = unshown_html(str(why), self._stamp), ""
            return
        wrong = faults(self.grid, self._base)
        self.grid_view.value = grid_html(self.grid, self._base, self._stamp, wrong, KIND_WORDS[self.grid.kind])
        self.told.value = told_html(self.grid, self._stamp, wrong, self._cells, self._heard)

    def name_rows(self, sentence: str, text: str) -> None:
        """Say under the grid which cells the rows of a text are that a sentence speaks of."""
        told: tuple[str, ...] = ()
        with suppress(Refusal):  # a text that no grid shows has no cells
            told = rows_in_words(entry_grid(text), sentence)
        words = "; ".join(told)
        self.rows.value = f"<p role='status'>{escape(words[:1].upper() + words[1:])}.</p>" if told else ""

    # -- what is typed into the grid ----------------------------------------------
    def _cells_came(self, change) -> None:
        if change.new:
            self._attempt(lambda: self._take(change.new))

    def _take(self, message: str) -> None:
        """Have the text say what a page typed; one that holds an older grid is told that it was not heard.

        A page says again all that it typed, since its messages may be merged, and nothing of what other pages did: what
        it says anew was typed last.
        """
        said = json.loads(message)
        if self.grid is None or said["stamp"] != self._stamp or self._base_is_old():
            self._say("The grid had changed before your last figures came: look at them again in the cells.")
            return
        page, since = str(said.get("page", "")), said.get("since", {})
        before, now = self._said.get(page, {}), {at: (words, since.get(at)) for at, words in said["cells"].items()}
        self._said[page], self._heard[page] = now, said["number"]
        new = {at: typed[0] for at, typed in now.items() if before.get(at) != typed}
        self.type_cells({place: words for at, words in new.items() if (place := place_of(at)) is not None})

    def type_cells(self, cells: dict[tuple[int, int], str]) -> None:
        """Type into cells of the grid; every other cell goes on saying what it says.

        `cells`: row and column, from 0 -> what stands there.
        """
        self._cells.update(cells)
        text = with_cells(self._base, self.grid, self._cells)  # of what was drawn: lines put back are its own again
        self._own = True
        try:
            self.typed.value = text
        finally:
            self._own = False
        self._shown_text = text
        now = entry_grid(text)
        if (now.down, now.across) != (self.grid.down, self.grid.across):
            self.draw()  # the page shows other heads than the text has
            return
        self.told.value = told_html(now, self._stamp, faults(now, text), self._cells, self._heard)

    def _write_card(self) -> None:
        """Write the grid as a card beside the lesson."""
        from simulate.show.own.entry.card_pdf import entry_card_pdf  # loads what draws a PDF, which few panels need

        data = entry_card_pdf(self.typed.value, self._units)
        write_whole(CARD, data)
        self._say(f"Written: {CARD}, beside this lesson; the same cells, empty.")

    # -- a new grid -----------------------------------------------------------------
    def _lay(self) -> None:
        self._attempt(self._lay_out)

    def _lay_out(self) -> None:
        text = self.layout.text()
        self._replace(text)
        self.way.value = "grid"


KINDS = tuple(FIELDS)
"""Of readings that a grid can be laid out for."""
