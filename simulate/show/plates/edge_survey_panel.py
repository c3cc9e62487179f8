"""A plate surveyed with a straightedge and scraped by that survey."""

from __future__ import annotations

import numpy as np

from simulate.bench.looking.sight import FEELERS_MM, FINE_FEELERS_MM
from simulate.core.byte_cache import remembered
from simulate.core.refusal import Refusal, either
from simulate.method.plates.edge_survey import EdgeSurvey, is_twist, read_edge, survey_edge
from simulate.method.plates.scraping_plan import CutPlan, after_passes, cut_plan
from simulate.method.plates.symmetry import beyond_plane
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.drawing.plate_map import PlateMap, fine, line_step
from simulate.show.drawing.scale import HeldTop
from simulate.show.panel.panel import Panel
from simulate.surface.flatness import flatness
from simulate.surface.starting_plates import starting_plates
from simulate.surface.tolerances.plate_grades import plate_grade_sentence

_POINTS, _SIDE_MM = 11, 400.0
_KINDS = {
    "along": "Edge along every row",
    "across": "Edge across every column",
    "corners": "Edge corner to corner",
    "winding": "Winding strips",
}
_READ = {
    "along": f"{_POINTS} lines along",
    "across": f"{_POINTS} across",
    "corners": "two corner to corner",
    "winding": "winding strips",
}
"""How the sentence names what was read."""
_SETS = {"feelers": FEELERS_MM, "fine feelers": FINE_FEELERS_MM}


@remembered
def _worked_out(
    seed: int, error_um: float, read_by: str, step_um: float, pass_um: float, lines: tuple[str, ...]
) -> tuple[np.ndarray, np.ndarray, EdgeSurvey, CutPlan, tuple[int, int]]:
    """The plate, its survey and plan, and how many of the gaps lie under the thinnest blade."""
    x, y, (plate,) = starting_plates(_SIDE_MM, _SIDE_MM, error_um, points=_POINTS, plates=1, seed=seed)
    blades = 1000 * np.array(_SETS[read_by]) if read_by in _SETS else None
    read = read_edge(x, y, plate, lines, step_um, blades)
    wide = step_um if blades is None else blades[0]
    found = survey_edge(x, y, read, max(wide / np.sqrt(12), 0.5))
    gaps = np.concatenate(
        [np.ravel(g) for g in (read.along_um, read.across_um, read.corners_um) if g is not None] or [[]]
    )
    under = 0 if blades is None else int((gaps < blades[0]).sum())
    return x, plate, found, cut_plan(x, y, found.height_um, pass_um), (under, gaps.size)


class EdgeSurveyPanel(Panel):
    """Choose what the straightedge reads, see the plate it tells of, and scrape by it.

    Parameters
    ----------
    seed : int
        Which plate: every student may have an own one.
    lines : sequence of str
        What is read at the start: some of along, across, corners, winding.
    error_um : float
        How far the plate is from flat, 20 to 500.
    read_by : str
        ``"dial"``, ``"feelers"`` (a usual set) or ``"fine feelers"`` (one that begins at 0.03 mm).
    step_um : float
        What the dial is read to, 1 to 20.
    pass_um : float
        What one pass of the scraper takes, 2 to 50.
    done : int
        Passes that have been scraped, 0 to 60; more than the plan holds change nothing.
    units : str, optional
    dpi : int

    Examples
    --------
    >>> "1 shape, twist, stays unseen" in EdgeSurveyPanel().sentence
    True
    """

    at_hand = ("along", "across", "corners", "winding", "error_um", "read_by", "done")

    def __init__(
        self,
        seed: int = 2,
        lines=("along", "across"),
        error_um: float = 200,
        read_by: str = "dial",
        step_um: float = 5,
        pass_um: float = 10,
        done: int = 0,
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        self.seed = seed
        for one in lines:
            if one not in _KINDS:
                raise Refusal("choice", where="lines", found=f"{one!r}", must_be=either(_KINDS))
        for name, words in _KINDS.items():
            self.tick(name, words, name in lines)
        self.height_slider("error_um", "Starting error of the plate", error_um, 20, 500, 10)
        thin = {name: style.spell(1000 * blades[0], self.units) for name, blades in _SETS.items()}
        ways = [("a dial", "dial"), *((f"feelers from {least}", name) for name, least in thin.items())]
        self.menu("read_by", "Gauge for the gaps", ways, read_by)
        self.height_slider("step_um", "Step of the dial", step_um, 1, 20, 1)
        self.height_slider("pass_um", "Metal removed per pass", pass_um, 2, 50, 1)
        self.whole_slider("done", "Passes scraped by this survey", done, 0, 60)
        self.zoom_tick()
        self._tops = HeldTop(), HeldTop()
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 500, self.dpi)
        with style.styled():
            self._maps = [
                PlateMap(
                    self.canvas,
                    self.canvas.figure.add_axes((0.02 + 0.328 * k, 0.085, 0.285, 0.768)),
                    gaps=k == 2,
                    letters=False,
                    bar=self.units if k else "",
                )
                for k in range(3)
            ]
            self._legend = self.canvas.moving(Words(self._maps[0].axes, style.SMALL, va="top"))
            self._legend.set_position((-1, -1.03))

    def draw(
        self, error_um: float, read_by: str, step_um: float, pass_um: float, done: int, zoom: bool, **ticks
    ) -> str:
        """Survey, plan and scrape; give the sentence. It is refused where nothing is read."""
        lines = tuple(name for name in _KINDS if ticks[name])
        x, plate, found, plan, under = _worked_out(self.seed, error_um, read_by, step_um, pass_um, lines)
        taken = after_passes(plan, pass_um, done)
        now, told = beyond_plane(plate - taken), beyond_plane(found.height_um - taken)
        left = plan.remove_um - taken
        top = self._tops[0].take(float(max(np.abs(now).max(), np.abs(told).max())), zoom, rounded=False)
        step = style.to_um(line_step(style.small(top, self.units)), self.units)
        self._maps[0].show("The plate as it is", fine(now), step, top)
        self._maps[1].show("As surveyed", fine(told), step, top)
        most = self._tops[1].take(max(float(left.max()), 1.0), zoom, rounded=False)
        lines_um = style.to_um(line_step(style.small(most, self.units)), self.units)
        working = fine((left > 0) & (plan.first_pass <= done + 1) & (plan.first_pass > 0)) > 0.5
        self._maps[2].show(
            f"To take off, lines every {style.spell(lines_um, self.units)}", fine(left), lines_um, most, working
        )
        self._legend.set_text(
            f"{'Zoomed: l' if zoom else 'L'}ines every {style.spell(step, self.units)}; solid proud, dotted zero, "
            "dashed hollow. Small squares: where to scrape in the next pass."
        )
        off = None if read_by == "dial" else float(np.abs(now - told).max())
        words = self._words(x, plate - taken, found, plan, min(done, int(plan.passes)), (*under, read_by), off)
        return f"Read: {', '.join(_READ[line] for line in lines)}; {_unseen(found.hidden)}, {words}"

    def _words(
        self, x, plate: np.ndarray, found: EdgeSurvey, plan: CutPlan, done: int, under: tuple, off: float | None
    ) -> str:
        value = float(flatness(x, x, plate).value_um)
        grade = plate_grade_sentence(value, _SIDE_MM, _SIDE_MM)
        sure = style.spell(2 * float(found.sd_um.max()), self.units)
        known = f"and every other has an uncertainty of ± {sure} (95 %) or less"
        if off is not None:
            thinnest = style.spell(1000 * _SETS[under[2]][0], self.units)
            known = (
                f"and {under[0]} of {under[1]} gaps take{'s' * (under[0] == 1)} no blade: under {thinnest} "
                "nothing is known. The survey "
                f"is wrong by {style.spell(off, self.units)} at its worst station"
            )
        return (
            f"{known}. The plan takes {style.spell(plan.remove_um.max(), self.units)} at the "
            f"highest place in {_passes(int(plan.passes))}; {_done(done, int(plan.passes))}. The plate itself is now "
            f"{style.spell(value, self.units)} out of flat, {grade}."
        )


def _unseen(hidden: np.ndarray) -> str:
    """How many shapes the lines leave unseen, twist by its name."""
    if len(hidden) == 1:
        return f"1 shape{', twist,' if is_twist(hidden[0]) else ''} stays unseen"
    return f"{len(hidden)} shapes stay unseen" if len(hidden) else "nothing at the stations stays unseen"


def _passes(count: int) -> str:
    return "1 pass" if count == 1 else f"{count} passes"


def _done(done: int, planned: int) -> str:
    if done < planned:
        return f"{done} {'is' if done == 1 else 'are'} done"
    return "all are done, and further ones find nothing to take"
