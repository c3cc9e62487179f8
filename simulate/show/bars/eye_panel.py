"""A wedge test as it would go with a known eye, and the curve that is fitted to it."""

from __future__ import annotations

import numpy as np
from matplotlib.collections import LineCollection

from simulate.bench.looking.eye import EYES, Eye, chance_seen, fit_eye, gap_seen_um, wedge_test
from simulate.core.refusal import Refusal
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.panel.panel import Panel

_GAPS = np.arange(0.5, 10.01, 0.5)
_FINE = np.linspace(0, 10.5, 211)


class EyePanel(Panel):
    """How many looks it takes to know an eye.

    Parameters
    ----------
    threshold_um : float
        Gap that the simulated eye sees in half of all looks, 1 to 8.
    spread_um : float
        Width of its doubtful zone, 0.1 to 2.
    false_open, missed : float
        How often it calls a dark mark open and an open mark dark, in percent, 0 to 20.
    looks : int
        At each mark of the wedge, 1 to 30.
    day : int
        Another day, another set of looks, 1 to 30.
    units : str, optional
    dpi : int

    Examples
    --------
    >>> "threshold" in EyePanel().sentence
    True
    """

    def __init__(
        self,
        threshold_um: float = 3.0,
        spread_um: float = 0.7,
        false_open: float = 4,
        missed: float = 2,
        looks: int = 5,
        day: int = 1,
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        self.height_slider("threshold_um", "The eye's true threshold", threshold_um, 1, 8, 0.1)
        self.height_slider("spread_um", "Width of its curve", spread_um, 0.1, 2, 0.1)
        self.slider("false_open", "Dark marks called open", false_open, 0, 20, 1, unit="%")
        self.slider("missed", "Open marks missed", missed, 0, 20, 1, unit="%")
        self.whole_slider("looks", "Trials at each mark", looks, 1, 30)
        self.whole_slider("day", "Day of the test", day, 1, 30)
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 500, self.dpi)
        unit = self._unit = style.small(1.0, self.units)
        with style.styled():
            axes = self.canvas.figure.add_axes((0.065, 0.14, 0.60, 0.76))
            axes.set_xlim(0, 10.5 * unit)
            axes.set_ylim(-5, 105)
            axes.grid(color="#DDDDDD", lw=0.8)
            axes.set_xlabel(f"gap on the wedge ({style.small_unit(self.units)})")
            axes.set_title("Seen open (% of trials)", loc="left", fontsize=style.BODY)
            make = self.canvas.moving
            self._true = make(axes.plot([], [], "--", color=style.ORANGE)[0])
            self._fit = make(axes.plot([], [], color=style.BLUE)[0])
            self._points = make(axes.plot([], [], "o", color=style.BLACK, ms=8)[0])
            self._range = LineCollection([], colors=style.BLACK, lw=(2.5, 7))
            axes.add_collection(self._range, autolim=False)
            make(self._range)
            side = self.canvas.figure.add_axes((0.70, 0.05, 0.29, 0.9))
            side.axis("off")
            side.set_xlim(0, 1)
            side.set_ylim(0, 1)
            lines = (
                ("o", style.BLACK, "what was seen"),
                ("-", style.BLUE, "curve fitted to it"),
                ("--", style.ORANGE, "the eye as it is"),
            )
            for k, (line, colour, words) in enumerate(lines):
                y = 0.95 - 0.075 * k
                side.plot(
                    [0, 0.14] if line != "o" else [0.07], [y, y] if line != "o" else [y], line, color=colour, ms=8
                )
                side.text(0.18, y, words, va="center", fontsize=style.BODY)
            side.text(
                0.0,
                0.71,
                "black bar: threshold, 95 %;\nthick: with both rates known",
                va="center",
                fontsize=style.BODY,
            )
            self._notes = make(side.text(0, 0.58, "", va="top", fontsize=style.BODY, linespacing=1.6))

    def draw(self, threshold_um, spread_um, false_open, missed, looks, day) -> str:
        """Test the eye and fit; give the sentence."""
        true = Eye("light", threshold_um, spread_um, false_open=false_open / 100, missed=missed / 100)
        seen = wedge_test(true, _GAPS, looks, seed=day)
        self._true.set_data(self._unit * _FINE, 100 * chance_seen(_FINE, true))
        self._points.set_data(self._unit * _GAPS, 100 * seen / looks)
        start = f"{_GAPS.size} marks, {looks} trial{'s' if looks > 1 else ''} at each. "
        try:
            self.eye = eye = fit_eye(_GAPS, seen, looks)
        except Refusal as why:
            return start + self._no_curve(str(why))
        self._fit.set_data(self._unit * _FINE, 100 * chance_seen(_FINE, eye))
        at = [100 * float(chance_seen(eye.threshold_um, eye))] * 2
        self._range.set_segments(
            [
                np.column_stack([self._unit * np.array(ends), at])
                for ends in ((eye.low_95_um, eye.high_95_um), eye.known_95_um)
            ]
        )
        return start + self._words(eye, true)

    def _words(self, eye: Eye, true: Eye) -> str:
        def spell(um: float) -> str:
            return style.spell(um, self.units)

        low, high, known = spell(eye.low_95_um), spell(eye.high_95_um), [spell(end) for end in eye.known_95_um]
        often, guess, miss = spell(gap_seen_um(eye)), f"{100 * eye.false_open:.0f} %", f"{100 * eye.missed:.0f} %"
        self._notes.set_text(
            f"fitted threshold {spell(eye.threshold_um)}\n95 %: {low} to {high}\nknown rates: {known[0]} to "
            f"{known[1]}\n"
            f"seen 19 times out of 20: {often}\nfalse open {guess}, missed {miss}\n"
            f"true threshold {spell(true.threshold_um)}"
        )
        few = {
            "false open": "how often you call dark marks open",
            "missed": "how often you miss open ones",
            "threshold": "the threshold from both sides",
        }
        more = (
            f" The trials are too few to show {' and '.join(few[w] for w in eye.unsettled)}." if eye.unsettled else ""
        )
        return (
            f"The fitted threshold is {spell(eye.threshold_um)} (95 %: {low} to {high}; with both rates known, "
            f"{known[0]} to {known[1]}); the true one is {spell(true.threshold_um)}. A gap of {often} is seen in 19 "
            f"of 20 attentive trials. Dark marks called open: {guess}; open marks missed: {miss}.{more}"
        )

    def _no_curve(self, why: str) -> str:
        self.eye = None
        self._fit.set_data([], [])
        self._range.set_segments([])
        self._notes.set_text(
            "no curve can be fitted:\nthe answers jump from never\nto always. Take finer steps\nor more trials."
        )
        return f"No curve can be fitted: {why}"


def preset_table() -> str:
    """Ways of looking, with what each sees half of the time and 19 times out of 20.

    Returns
    -------
    str

    Examples
    --------
    >>> preset_table().splitlines()[0]
    'light, knife edge        half 2.2 µm, 19 of 20: 3.1 µm'
    """
    return "\n".join(
        f"{name:24s} half {style.spell(e.threshold_um)}, 19 of 20: {style.spell(gap_seen_um(e))}"
        for name, e in EYES.items()
    )
