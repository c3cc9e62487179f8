"""The practice bench: file hidden bars, look, go on, and see the truth once you stop."""

from __future__ import annotations

import os

import ipywidgets as widgets

from simulate.bench.cut import TOOLS
from simulate.method.planning import PACES
from simulate.method.practice import PracticeState, file_place, lay, look, start_practice, stop
from simulate.method.practice_debrief import Debrief, debrief
from simulate.method.practice_state import BARS, MOST_STROKES, SHORTEST_MM, SIGHTS, WIDTH_MM
from simulate.readings.practice_log import open_practice, save_practice
from simulate.show import style
from simulate.show.panel import FOCUS, Panel
from simulate.show.practice_picture import HiddenPicture, TruthPicture
from simulate.show.practice_words import act_words, bench_words, debrief_words
from simulate.surface.form import straightness


FREE = "free"  # a menu shows nothing where a choice is None

class PracticePanel(Panel):
    """Three hidden bars, the learner's own acts, and a debrief.

    Every act is saved at once, so that a kernel that dies costs nothing: the
    panel opens again where it was. Metal never goes back.

    Parameters
    ----------
    seed : int
        Which bars: a class may share a number, or each take an own one.
    log : str
        The file that keeps the acts.
    error_um : float
        How far each bar is out at the start, 20 to 1000.
    length_mm : float
    units : str, optional
    dpi : int

    Raises
    ------
    ValueError
        Where a setting is out of its range, or the log is damaged.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     PracticePanel(log=f"{folder}/go.json").sentence[:24]
    'Practice bars number 1. '
    """

    def __init__(self, seed: int = 1, log: str = "my_practice.json", error_um: float = 200, length_mm: float = 500,
                 units: str | None = None, dpi: int = 100) -> None:
        super().__init__(units, dpi)
        self.log, self._start = log, {"error_um": error_um, "length_mm": length_mm}
        self.goes: list[PracticeState] = list(open_practice(log)) if os.path.exists(log) else []
        self._hidden, self._truth = HiddenPicture(dpi, self.units), None
        self.told: Debrief | None = None
        self._bring(seed)
        self._choices()
        self._buttons()
        self._match()
        self.ready()

    @property
    def state(self) -> PracticeState:
        """The bench as it stands."""
        return self.goes[self._place]

    def _bring(self, seed: int, another: bool = False) -> None:
        """Take up the last go on these bars, or begin one; after a stop, `another` one."""
        fresh = start_practice(seed, **self._start)
        goes = [go for go in self.goes if go.acts]
        mine = [i for i, go in enumerate(goes) if _same(go, fresh)]
        if another and mine and goes[mine[-1]].stopped:
            mine = []
        self.goes = goes if mine else [*goes, fresh]
        self._place = mine[-1] if mine else len(goes)

    def _choices(self) -> None:
        bars = [(f"bar {k + 1}", k) for k in range(BARS)]
        half = self.state.length_mm / 2
        ends = [("nowhere: its own weight", FREE), ("near the left end", -0.9 * half), ("in the middle", 0.0),
                ("near the right end", 0.9 * half)]
        self.menu("lower", "Gauge, lies below", bars, self.state.lower)
        self.menu("upper", "Bar in the vice, laid on top", bars, self.state.upper)
        self.tick("turned", "Turned end for end", self.state.turned)
        self.menu("press", "Press", ends, FREE)
        self.menu("sight", "Look by", list(SIGHTS), "light")
        self.menu("tool", "Tool", list(TOOLS), "second-cut file")
        unit, inch = ("in", True) if self.units == "inch" else ("mm", False)
        form, step = (".1f", 0.2) if inch else (".0f", 5)
        shown = style.place(half, self.units)
        self.slider("place", f"Middle of the cut ({unit})", 0, -shown, shown, step, form)
        least = style.place(SHORTEST_MM, self.units)
        self.slider("length", f"Length of the cut ({unit})", 0.4 * shown, least, 2 * shown, step, form)
        self.whole_slider("strokes", "Strokes", 20, 1, MOST_STROKES)
        self.position = self.whole_slider("position", "After the stop: show act", 0, 0, 0)

    def _buttons(self) -> None:
        wide = {"layout": widgets.Layout(width="auto")}
        self.look = widgets.Button(description="Look", **wide)
        self.file = widgets.Button(description="File", **wide)
        self.stop = widgets.Button(description="Stop and see the truth", **wide)
        self.number = widgets.IntText(value=self.state.seed, description="Bars number", style={"description_width": "8em"})
        self.again = widgets.Button(description="Open these bars, or another go", **wide)
        self.look.on_click(lambda _: self._do(lambda s, v: look(s, v["sight"])))
        self.file.on_click(lambda _: self._do(self._cut))
        self.stop.on_click(lambda _: self._do(lambda s, _v: stop(s)))
        self.again.on_click(lambda _: self._another())

    def arrange(self, rows: widgets.Widget) -> widgets.Box:
        """Put the buttons between the choices and the picture.

        Parameters
        ----------
        rows : Widget

        Returns
        -------
        Box
        """
        acts = widgets.HBox([self.look, self.file, self.stop, self.number, self.again],
                            layout=widgets.Layout(flex_flow="row wrap"))
        return widgets.VBox([widgets.HTML(FOCUS), rows, acts, self.message, self.picture])

    # -- acts -------------------------------------------------------------
    def _cut(self, state: PracticeState, values: dict) -> PracticeState:
        inch = style.place(1.0, self.units)
        half = state.length_mm / 2
        place = min(max(values["place"] / inch, -half), half)
        length = min(max(values["length"] / inch, SHORTEST_MM), state.length_mm)
        return file_place(state, place, length, values["strokes"], values["tool"])

    def _laid(self, state: PracticeState, values: dict) -> PracticeState:
        """The bars as the menus have them."""
        press_mm = None if values["press"] == FREE else values["press"]
        return lay(state, values["lower"], values["upper"], values["turned"], press_mm)

    def _do(self, act) -> None:
        """Lay the bars as chosen, do one act, keep it, and draw."""
        values = self.values()
        try:
            self.goes[self._place] = act(self._laid(self.state, values), values)
        except ValueError as refusal:
            self.refuse(str(refusal))
            return
        self._match()
        self.refresh()
        try:
            save_practice(self.log, [go for go in self.goes if go.acts])
        except ValueError as refusal:
            self.refuse(f"{refusal} What you did still stands here, and is saved with the next act that can be.")

    def _another(self) -> None:
        try:
            self._bring(self.number.value, another=True)
        except ValueError as refusal:
            self.refuse(str(refusal))
            return
        self._match()
        self.refresh()

    def _match(self) -> None:
        """Set controls and buttons to the go that is on the bench."""
        self._quiet = True
        state = self.state
        self.controls["lower"].value, self.controls["upper"].value = state.lower, state.upper
        self.controls["turned"].value = state.turned
        ends = [value for _, value in self.controls["press"].options]
        self.controls["press"].value = state.press_mm if state.press_mm in ends else FREE
        self.told = debrief(state) if state.stopped else None
        self._truth = TruthPicture(self.dpi, self.units, self.told) if self.told else None
        self.position.max = len(state.acts) if state.stopped else 0
        self.position.value = self.position.max
        self.position.disabled = not state.stopped
        for widget in [self.look, self.file, self.stop, *(w for n, w in self.controls.items() if n != "position")]:
            widget.disabled = state.stopped
        self._quiet = False

    # -- the picture --------------------------------------------------------
    def draw(self, position: int, place: float, length: float, strokes: int, tool: str, **values) -> str:
        """Draw the hidden bench, or the truth once it may be seen.

        Parameters
        ----------
        position : int
        place, length : float
            In the learner's unit.
        strokes : int
        tool : str
        **values

        Returns
        -------
        str
        """
        if self.told:
            return self._draw_truth(position)
        state = self._laid(self.state, values)
        inch = style.place(1.0, self.units)
        depth = strokes * PACES[tool].stroke_mm3 * 1000 / (length / inch * WIDTH_MM)
        many = "stroke" if strokes == 1 else "strokes"
        plan = (f"File would take {strokes} {many} of the {tool} at the orange line of bar {state.upper + 1}: "
                f"about {style.spell(depth, self.units)} at most")
        self._hidden.show(state, place / inch, length / inch, plan)
        self.canvas = self._hidden.canvas
        return f"{bench_words(state, self.units)} {plan}."

    def _draw_truth(self, position: int) -> str:
        acts, told = self.state.acts, self.told
        act = f"Act {position} of {len(acts)}: {act_words(acts[position - 1], self.units)}" if position else "The start"
        self._truth.show(position, act)
        self.canvas = self._truth.canvas
        now = ", ".join(f"bar {i + 1} {style.spell(v, self.units)}" for i, v in enumerate(told.straightness_um[position]))
        earlier = tuple(float(straightness(go.x_mm, go.height_um).value_um.max())
                        for go in self.goes[: self._place] if go.stopped and _same(go, self.state))
        return f"{act}; then out of straight: {now}. {debrief_words(told, self.units, earlier)}"


def _same(go: PracticeState, other: PracticeState) -> bool:
    return (go.seed, go.error_um, go.length_mm) == (other.seed, other.error_um, other.length_mm)
