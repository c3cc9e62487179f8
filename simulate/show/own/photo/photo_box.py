"""The way by which a photograph of a print becomes readings: four corners, marks, places, rows of the table."""

from __future__ import annotations

from collections.abc import Callable
from html import escape

import ipywidgets as widgets
import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.photo.edge_stations import MOST_STATIONS, RIM, print_stations
from simulate.readings.photo.print_photo import PrintPhoto, opened, read_print_photo
from simulate.readings.photo.print_places import MOST_PLACES, Laid, PrintPlaces, print_places
from simulate.show.drawing import style
from simulate.show.drawing.canvas import html
from simulate.show.own.photo.corner_picker import corner_picker, corners_said, first_corners, shown_as
from simulate.show.own.photo.print_photo import places_hidden, print_photo_sentences
from simulate.show.own.photo.print_picture import print_picture
from simulate.show.units.switch import in_both

_FIELD = {"style": {"description_width": "13em"}, "layout": {"width": "24em", "max_width": "100%"}}
_LONG = {"style": {"description_width": "13em"}, "layout": {"width": "44em", "max_width": "100%"}}
_ROOM = widgets.Layout(overflow="visible", padding="2px", flex_flow="row wrap")
MOST_MM = 5000.0
BODIES = {"plates": "a plate", "bars": "the edge of a bar"}
_HOW = {
    "plates": "Lift the upper plate off and photograph the lower one, lit from the side, all four corners in view. ",
    "bars": "Lift the upper bar off and photograph the lower one's edge from above, its near side along the middle of "
    "the picture. Stations count from its left end. ",
}
_KEYS = (
    "Drag each number to its corner. By keyboard: Tab to it, then arrows, with Shift for one pixel. JPEG, PNG or WebP. "
    "Tested on computer-made pictures, not on a real photograph: check by eye."
)


class PhotoBox:
    """A photograph in, marks found, rows of readings out.

    `units`: ``"mm"`` or ``"inch"``. `hand_over`: takes the places and how the plates lay, adds them to the readings,
    and gives a sentence. `attempt`: does something for the learner, a refusal becoming a sentence. `kinds`: of the
    bodies whose prints are taken, keys of `BODIES`.
    """

    def __init__(
        self,
        units: str,
        hand_over: Callable[[PrintPlaces, Laid], str],
        attempt: Callable[[Callable[[], object]], None],
        kinds: tuple[str, ...] = ("plates",),
    ) -> None:
        self.units, self._hand_over, self._attempt = units, hand_over, attempt
        long, small, inch = "in" if units == "inch" else "mm", style.small_unit(units), units == "inch"
        self.kind = widgets.Dropdown(
            options=[(BODIES[kind], kind) for kind in kinds], description="Face photographed", **_FIELD
        )
        if len(kinds) < 2:
            self.kind.layout.display = "none"
        self.pixels: np.ndarray | None = None
        self.told: PrintPhoto | None = None
        self._of: tuple = ()
        self.picker = corner_picker(self.take)
        self.path = widgets.Text(description="or the path of a file", **_LONG)
        self.read_path = widgets.Button(description="Read this photograph", layout=widgets.Layout(width="14em"))
        self.corners = widgets.Text(
            description="Corners, column,row", placeholder="near left, near right, far right, far left", **_LONG
        )
        self.size = [
            widgets.FloatText(value=8 if inch else 200, description=f"{words} ({long})", **_FIELD)
            for words in ("Width, near side", "Depth, away")
        ]
        self.film = widgets.FloatText(value=0.1 if inch else 3, description=f"Film thickness ({small})", **_FIELD)
        self.many = [
            widgets.BoundedIntText(value=5, min=2, max=MOST_PLACES, description=words, **_FIELD)
            for words in ("Places across", "Places away")
        ]
        self.names = [widgets.Text(value=name, description=f"{which} plate", **_FIELD) for name, which in
                      (("A", "Lower"), ("B", "Upper"))]  # fmt: skip
        self.turned = widgets.Dropdown(options=[0, 90, 180, 270], description="Upper turned (degrees)", **_FIELD)
        self.slide = widgets.FloatText(value=0, description=f"Upper slid along x ({long})", **_FIELD)
        self.round = widgets.BoundedIntText(value=1, min=1, max=999, description="Round", **_FIELD)
        self.find = widgets.Button(description="Find the marks", layout=widgets.Layout(width="14em"))
        self.add = widgets.Button(description="Add to the readings", layout=widgets.Layout(width="14em"))
        self.result, self.message = widgets.HTML(), widgets.HTML()
        for button, act in ((self.read_path, self._from_path), (self.find, self._found), (self.add, self._added)):
            button.on_click(lambda _, act=act: self.try_(act))
        self.picker.observe(self._moved, names="corners")
        self.corners.observe(self._typed, names="value")
        self.how = widgets.HTML()
        self._of_kind()
        self.kind.observe(self._of_kind, names="value")
        inner = widgets.VBox(
            [
                self.kind,
                self.how,
                self.picker,
                widgets.HBox([self.path, self.read_path], layout=_ROOM),
                self.corners,
                widgets.HBox([*self.size, self.film, *self.many], layout=_ROOM),
                widgets.HBox([*self.names, self.turned, self.slide, self.round], layout=_ROOM),
                widgets.HBox([self.find, self.add], layout=_ROOM),
                self.message,
                self.result,
            ],
            layout=widgets.Layout(overflow="visible"),
        )
        self.open = widgets.ToggleButton(
            value=False, description="A print from a photograph", layout=widgets.Layout(width="18em")
        ).add_class("workshop-unfolds")
        inner.layout.display = "none"
        self.open.observe(
            lambda change: setattr(inner.layout, "display", None if change.new else "none"), names="value"
        )
        self.view = inner

    def _of_kind(self, _change=None) -> None:
        """Ask for what the chosen body needs."""
        edge, inch = self.kind.value == "bars", self.units == "inch"
        body, long = "bar" if edge else "plate", "in" if inch else "mm"
        self.told, self.result.value = None, ""
        self.how.value = f"<p style='margin:0;line-height:1.4'>{_HOW[self.kind.value]}{_KEYS}</p>"
        self.size[0].value, self.size[1].value = ((20, 0.4) if inch else (500, 10)) if edge else (
            (8, 8) if inch else (200, 200))  # fmt: skip
        self.size[0].description, self.size[1].description = (
            f"{words} ({long})" for words in (("Length, near side", "Depth of the edge") if edge else
                                              ("Width, near side", "Depth, away"))
        )  # fmt: skip
        self.many[0].description = "Stations along" if edge else "Places across"
        self.many[0].min, self.many[0].max = 2, MOST_STATIONS if edge else MOST_PLACES
        self.many[0].value = 20 if edge else 5
        for name, which in zip(self.names, ("Lower", "Upper")):
            name.description = f"{which} {body}"
        self.turned.options = [("no", 0), ("end for end", 180)] if edge else [0, 90, 180, 270]
        self.turned.description = "Upper turned" if edge else "Upper turned (degrees)"
        for field in (self.many[1], self.slide):
            field.layout.display = "none" if edge else None

    # -- a photograph comes in ------------------------------------------------------
    def take(self, data: bytes, name: str) -> None:
        """Take a photograph; where it cannot be opened, say why and keep the one before."""
        self.try_(lambda: self._take(data, name))

    def _take(self, data: bytes, name: str) -> None:
        self.picker.said = ""
        try:
            pixels = opened(data)
        except Refusal as refusal:
            self.picker.said = f"{name}: {refusal}"
            raise
        self._show(pixels, name)

    def _from_path(self) -> None:
        self._show(opened(self.path.value.strip() or "an empty path"), self.path.value.strip())

    def _show(self, pixels: np.ndarray, name: str) -> None:
        rows, columns = pixels.shape[:2]
        self.pixels, self.told, self.result.value = pixels, None, ""
        there = self._corners_typed()
        fits = there is not None and all(0 <= c <= columns - 1 and 0 <= r <= rows - 1 for c, r in there)
        self.picker.size = [columns, rows]
        self.picker.corners = there if fits else first_corners(columns, rows)
        self.picker.shown = shown_as(pixels)
        self.picker.said = f"{name}: {columns} by {rows} pixels. Put the four corners on the face."

    # -- corners, by picture or as text ----------------------------------------------
    def _corners_typed(self) -> list[list[float]] | None:
        try:
            found = [[float(part) for part in corner.split(",")] for corner in self.corners.value.split()]
        except ValueError:
            return None
        return found if [len(corner) for corner in found] == [2, 2, 2, 2] and np.isfinite(found).all() else None

    def _moved(self, change) -> None:
        if self._corners_typed() != change.new:
            self.corners.value = corners_said(change.new)

    def _typed(self, _change) -> None:
        there = self._corners_typed()
        if there is not None and there != self.picker.corners:
            self.picker.corners = there

    # -- marks and places -------------------------------------------------------------
    def _settings(self) -> tuple:
        if self.pixels is None:
            raise Refusal(
                "missing", where="this box", found="no photograph", must_be="one", do="Choose a photograph first"
            )
        corners = self._corners_typed()
        if corners is None:
            raise Refusal(
                "places",
                where="the corners",
                found=f"'{self.corners.value[:60]}'",
                must_be="four pairs such as '12,880 1190,860 1100,90 95,100'",
            )
        sizes = [self._mm(field.value, words) for field, words in zip(self.size, ("width", "depth"))]
        return id(self.pixels), tuple(map(tuple, corners)), *sizes, self.kind.value

    def _mm(self, value: float, name: str) -> float:
        mm = value * 25.4 if self.units == "inch" else value
        if not 0 < mm <= MOST_MM:
            top = f"{style.place(MOST_MM, self.units):.4g} {'in' if self.units == 'inch' else 'mm'}"
            raise Refusal("range", where=name, found=f"{value:g}", must_be=f"above 0 and at most {top}")
        return mm

    def _found(self) -> None:
        self.told, self.result.value = None, ""
        told_by = self._settings()
        _, corners, wide, deep, kind = told_by
        told = read_print_photo(self.pixels, corners, wide, deep, RIM * deep if kind == "bars" else 0.0)
        if kind == "bars":
            print_stations(told, self.many[0].value)  # is it an edge at all
        self.told, self._of = told, told_by
        self._draw()

    def _places(self) -> PrintPlaces:
        if self.kind.value == "bars":
            return print_stations(self.told, self.many[0].value)
        return print_places(self.told, *(field.value for field in self.many))

    def _draw(self) -> None:
        places = self._places()
        printed, seen = int(places.printed.sum()), int(places.seen.sum())
        said = [
            *print_photo_sentences(self.told),
            f"{printed} of {seen} {'stations' if places.kind == 'bars' else 'places'} printed; each row says how its "
            "highest spot lies.",
            *places_hidden(places),
        ]
        words = in_both(" ".join(said), self.units)
        canvas = print_picture(self.told, places, self.units)
        self.result.value = html(canvas.paint(), words) + _table(self.told)

    def _added(self) -> None:
        if self.told is None or self._settings() != self._of:
            raise Refusal(
                "state",
                where="this print",
                found="not counted yet with the figures in the fields",
                must_be="counted, so that you can see what is added",
                do="Press Find the marks first",
            )
        long = 25.4 if self.units == "inch" else 1.0
        laid = Laid(
            lower=self.names[0].value,
            upper=self.names[1].value,
            film_um=style.to_um(self.film.value, self.units),
            turned=self.turned.value,
            slide_x_mm=self.slide.value * long,
            round=self.round.value,
        )
        self._draw()
        self._say(self._hand_over(self._places(), laid))

    # -- words --------------------------------------------------------------------
    def try_(self, act: Callable[[], object]) -> None:
        """Do something for the learner, and say in this box what was refused."""
        self._say("")

        def here() -> None:
            try:
                act()
            except Refusal as refusal:
                self.message.value = (
                    f"<p role='alert' style='border-left:6px solid {style.ORANGE};padding:4px 10px;margin:0;"
                    f"line-height:1.4'>Not possible: {escape(str(refusal))}</p>"
                )

        self._attempt(here)

    def _say(self, words: str) -> None:
        self.message.value = f"<p role='status' style='margin:0;line-height:1.4'>{escape(words)}</p>" if words else ""


def _table(told: PrintPhoto) -> str:
    """Points of every square, far side first, for those who read them."""
    heads = "".join(f"<th scope='col'>{j + 1}</th>" for j in range(told.points.shape[1]))
    rows = "".join(
        f"<tr><th scope='row'>{i + 1}</th>{''.join(f'<td>{value:.1f}</td>' for value in told.points[i])}</tr>"
        for i in reversed(range(told.points.shape[0]))
    )
    return (
        "<details><summary>Points to a square inch, square by square</summary><table>"
        f"<thead><tr><th scope='col'>away \\ across</th>{heads}</tr></thead><tbody>{rows}</tbody></table></details>"
    )
