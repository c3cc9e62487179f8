"""Lay gauges with three lands along a bar, and watch its points turn from unknown to straight."""

from __future__ import annotations

from dataclasses import replace

import ipywidgets as widgets
import numpy as np

from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.method.lands.land_fit import Fit, lay
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.lands.lands_picture import LandsPicture, packed
from simulate.show.lands.laying import POINTS, WAYS, known, layings, onto
from simulate.show.lands.laying_sentences import laid_words
from simulate.show.panel.step_panel import StepPanel

MOST_LAID = 60
"""Gauges that a learner may lay."""

FIRST_SD = 2.5
"""What the axis of heights makes room for before a gauge lies, in repeatabilities: a chain of seven has more."""


class LandsPanel(StepPanel):
    """Gauges along a bar: lay them yourself, or play a progression.

    Parameters
    ----------
    way : str
        One of `WAYS`.
    points : int
        One of `POINTS`.
    sd_um : float
        Standard deviation of one fit, 0.5 to 10.
    proud_um : float
        How far the middle of every gauge stands proud, -5 to 5.
    length_mm : float, optional
        600 where nothing is said, or 24 inches.
    units : str, optional
    dpi : int

    Examples
    --------
    >>> panel = LandsPanel(points=3, units="mm")
    >>> panel.sentence.startswith("The only fit is made. Fixed so far: 0, 300, 600 mm.")
    True
    """

    at_hand = ("way", "points", "proud_um", "left", "at")
    beside = ("length_mm", "own")

    def __init__(
        self,
        way: str = "anchored",
        points: int = 7,
        sd_um: float = 1,
        proud_um: float = 0,
        length_mm: float | None = None,
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        usual = 609.6 if self.units == "inch" else 600.0
        self.length_mm = checks.number(usual if length_mm is None else length_mm, "length_mm", 60, 6000)
        self.length_mm = self._carried.get("length_mm", self.length_mm)
        self.own: tuple[Fit, ...] = self._carried.get("own", ())
        if way == "my own":  # what lays a gauge, before what is asked of it
            self.at_hand = ("way", "left", "right", "at", "turned")
        self.fits: tuple[Fit, ...] = ()
        self._setting: tuple = ()
        self._place: int | None = None
        self.menu("way", "Way", WAYS, way)
        self.menu("points", "Points wanted", POINTS, points)
        self.height_slider("sd_um", "Repeatability of a fit", sd_um, 0.5, 10, 0.5)
        self.height_slider("own_um", "Repeatability of yellow", 0.5, 0.5, 10, 0.5)
        self.only_if("own_um", "Yellow's repeatability differs", False)
        self.height_slider("proud_um", "Proud middle of every gauge", proud_um, -5, 5, 0.5)
        least = self.length_mm / 60
        for name, words in (("left", "Gauge: first space"), ("right", "Gauge: second space")):
            self.place_slider(name, words, self.length_mm / 6, least, self.length_mm - least, 1)
        self.place_slider("at", "Place of its left land", 0, 0, self.length_mm - 2 * least, 1)
        self.tick("turned", "Turned end for end")
        self.zoom_tick()
        self._moves()
        self.position.description = "Gauges laid"
        self.player.interval = 700
        self._buttons()
        self.canvas = Canvas(1280, 490, dpi)
        self.picture_of = LandsPicture(self.canvas, self.length_mm, self.units)
        if not self._carried:
            self._to_end()
        self.ready()

    def _buttons(self) -> None:
        self.lay_it, self.out, self.before, self.after, self.give, self.take_off, self.clear = (
            widgets.Button(description=words, layout=widgets.Layout(width="auto"))
            for words in (
                "Lay the gauge here",
                "Step it to the end",
                "One space back",
                "One space on",
                "Keep yellow's repeatability",
                "Take last off",
                "Take all off",
            )
        )
        self.on_press(self.lay_it, self.lay)
        self.on_press(self.out, self.step_out)
        self.on_press(self.before, lambda: self.walk(-1))
        self.on_press(self.after, lambda: self.walk(1))
        self.on_press(self.give, self.give_spread)
        self.on_press(self.take_off, lambda: self._keep(self._laid()[:-1]))
        self.on_press(self.clear, lambda: self._keep(()))

    def arrange(self, rows: widgets.Widget) -> widgets.Box:
        """Put the buttons that lay gauges between the controls and the moves."""
        laying = widgets.Box(
            [self.before, self.after, self.lay_it, self.out, self.give, self.take_off, self.clear],
        ).add_class("workshop-buttons")
        return super().arrange(widgets.VBox([rows, laying]))

    def starts(self) -> list[int]:
        """Give the numbers of fits after which the next gauge is taken."""
        return [i for i in range(1, len(self.fits)) if self.fits[i].gauge != self.fits[i - 1].gauge]

    def _to_end(self) -> None:
        self._to(self.position.max)

    def _to(self, place: int) -> None:
        self._place = None
        with self.quietly():
            self.position.value = self.player.value = place

    # -- laying -------------------------------------------------------------
    def _laid(self) -> tuple[Fit, ...]:
        return self.fits[: self.position.value]

    def in_hand(self) -> Fit:
        """Give the gauge that would be laid next."""
        v = self.values()
        name = f"{v['left']:.1f} + {v['right']:.1f}"
        fit = lay((0, v["left"], v["left"] + v["right"]), v["at"], max(v["sd_um"], 1e-3), name, v["turned"])
        return self._onto_marks(fit, self._laid())

    def _onto_marks(self, fit: Fit, laid: tuple[Fit, ...]) -> Fit:
        wanted = np.linspace(0, self.length_mm, self.controls["points"].value)
        return replace(fit, lands_mm=onto(fit.lands_mm, np.unique([*wanted, *(x for f in laid for x in f.lands_mm)])))

    def walk(self, way: int) -> None:
        """Move the gauge in the hand along by its own first space, as far as the bar goes.

        Parameters
        ----------
        way : int
            1 onwards, -1 back.
        """
        slider, hand = self.controls["at"], self.in_hand()
        along = slider.value + way * style.place(hand.lands_mm[1] - hand.lands_mm[0], self.units)
        slider.value = round(min(max(along, slider.min), slider.max), 2)

    def give_spread(self) -> None:
        """Let the gauge that was laid last keep the spread of its own that the slider shows."""
        place, own_um = self.position.value, self.values()["own_um"]
        if not self._laid():
            self.refuse(
                Refusal("missing", where="the bar", found="no gauge", must_be="one at least", do="Lay one first")
            )
        elif own_um is None:
            self.refuse(
                Refusal(
                    "state",
                    where="the repeatability of the yellow gauge",
                    found="that of all gauges",
                    must_be="its own",
                    do="Tick the box, or move the slider",
                )
            )
        else:
            self._keep((*self._with_own(own_um), *self.fits[place:]), place)

    def _with_own(self, own_um: float | None) -> tuple[Fit, ...]:
        laid = self._laid()
        return laid if own_um is None or not laid else (*laid[:-1], replace(laid[-1], sd_um=own_um))

    def lay(self) -> None:
        """Lay the gauge in the hand beside those that lie there; refused in words where it hangs over."""
        fit = self.in_hand()
        if fit.lands_mm[-1] > self.length_mm + 1e-6:
            low, high, most = (
                f"{round(style.place(v, self.units), 2):g}" for v in (fit.lands_mm[0], fit.lands_mm[-1], self.length_mm)
            )
            unit = "in" if self.units == "inch" else "mm"
            self.refuse(
                Refusal(
                    "place",
                    where="the gauge",
                    found=f"over {low} to {high} {unit}",
                    must_be=f"over the bar, 0 to {most} {unit}",
                )
            )
        elif len(self._laid()) >= MOST_LAID:
            self.refuse(
                Refusal(
                    "count", where="the bar", found=f"{MOST_LAID} gauges", must_be="no more", do="Take one off first"
                )
            )
        else:
            self._keep((*self._laid(), fit))

    def step_out(self) -> None:
        """Lay the gauge in the hand here, and on by its own first space until the bar ends."""
        hand, laid = self.in_hand(), self._laid()
        by, k = hand.lands_mm[1] - hand.lands_mm[0], 1
        self.lay()
        if len(self._laid()) == len(laid):
            return
        laid = self._laid()
        while hand.lands_mm[-1] + k * by <= self.length_mm + 0.6 and len(laid) < MOST_LAID:
            laid = (*laid, self._onto_marks(replace(hand, lands_mm=tuple(x + k * by for x in hand.lands_mm)), laid))
            k += 1
        self._keep(laid)

    def _keep(self, fits: tuple[Fit, ...], place: int | None = None) -> None:
        """Go on with these gauges as the learner's own, at their end or at a place among them."""
        self.own = fits
        with self.quietly():
            self.controls["way"].value, self.controls["own_um_given"].value = "my own", False
        self._setting = ()
        self._to_end()
        self._place = place
        self.refresh()

    # -- the picture ----------------------------------------------------------
    def draw(self, way, points, sd_um, own_um, proud_um, left, right, at, turned, zoom) -> str:
        """Solve the gauges that are laid; give the sentence."""
        wanted = np.linspace(0, self.length_mm, points)
        setting = (way, points, sd_um if way != "my own" else None, proud_um)
        if setting != self._setting:
            self.fits = self.own if way == "my own" else layings(way, points, self.length_mm, max(sd_um, 1e-3))
            self._setting = setting
            self._fit_position(len(self.fits))
            if self._place is not None:
                self._to(self._place)
            self._rows = packed(self.fits)
        laid = self._with_own(own_um)
        found = known(laid, wanted, proud_um)
        self.picture_of.frame(max(self._rows, default=0) + 1, found.most_um or FIRST_SD * sd_um, zoom)
        self.picture_of.show_gauges(laid, self._rows[: len(laid)], self.in_hand())
        self.picture_of.show_spreads(laid, self._rows)
        self.picture_of.show_points(
            found.x_mm, found.reached, found.touched, found.sd_um, found.height_um, proud_um != 0
        )
        self.picture_of.show_swings(found.x_mm, found.touched, found.swings)
        return laid_words(found, laid, len(self.fits), proud_um, self.units)
