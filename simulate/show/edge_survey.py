"""A plate surveyed with a straightedge and scraped by that survey."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from simulate.core.refusal import Refusal
from simulate.method.cut_plan import CutPlan, after_passes, cut_plan
from simulate.method.families import beyond_plane
from simulate.method.survey import EdgeSurvey, read_edge, survey_edge
from simulate.show import style
from simulate.show.canvas import Canvas, Words
from simulate.show.panel import Panel
from simulate.show.plate_map import PlateMap, fine, line_step
from simulate.surface.flat import flatness
from simulate.surface.grades import plate_grade_sentence
from simulate.surface.plates import starting_plates

_POINTS, _SIDE_MM = 11, 400.0
_KINDS = {"along": "Edge along every row", "across": "Edge across every column", "corners": "Edge corner to corner",
          "winding": "Winding strips"}


@lru_cache(maxsize=32)
def _worked_out(seed: int, error_um: float, blade_um: float, pass_um: float,
                lines: tuple[str, ...]) -> tuple[np.ndarray, np.ndarray, EdgeSurvey, CutPlan]:
    x, y, (plate,) = starting_plates(_SIDE_MM, _SIDE_MM, error_um, points=_POINTS, plates=1, seed=seed)
    found = survey_edge(x, y, read_edge(x, y, plate, lines, blade_um), max(blade_um / np.sqrt(12), 0.5))
    return x, plate, found, cut_plan(x, y, found.height_um, pass_um)


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
    blade_um : float
        From one feeler to the next, 1 to 50.
    pass_um : float
        What one pass of the scraper takes, 2 to 50.
    done : int
        Passes that have been scraped, 0 to 60; more than the plan holds change nothing.
    units : str, optional
    dpi : int

    Raises
    ------
    ValueError
        Where a setting is out of its range.

    Examples
    --------
    >>> "1 shape stays unseen" in EdgeSurveyPanel().sentence
    True
    """

    def __init__(self, seed: int = 2, lines=("along", "across"), error_um: float = 200, blade_um: float = 5,
                 pass_um: float = 10, done: int = 0, units: str | None = None, dpi: int = 100) -> None:
        super().__init__(units, dpi)
        self.seed = seed
        for one in lines:
            if one not in _KINDS:
                raise Refusal(found=f"lines holds {one!r}; allowed are {', '.join(map(repr, _KINDS))}.")
        for name, words in _KINDS.items():
            self.tick(name, words, name in lines)
        self.height_slider("error_um", "The plate is out by", error_um, 20, 500, 10)
        self.height_slider("blade_um", "From one feeler to the next", blade_um, 1, 50, 1)
        self.height_slider("pass_um", "Metal a pass takes", pass_um, 2, 50, 1)
        self.whole_slider("done", "Passes scraped by this survey", done, 0, 60)
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 500, self.dpi)
        with style.styled():
            self._maps = [PlateMap(self.canvas, self.canvas.figure.add_axes((0.02 + 0.328 * k, 0.085, 0.3, 0.768)), gaps=k == 2,
                                   letters=False) for k in range(3)]
            self._legend = self.canvas.moving(Words(self._maps[0].axes, style.SMALL, va="top"))
            self._legend.set_position((-1, -1.03))

    def draw(self, error_um: float, blade_um: float, pass_um: float, done: int, **ticks) -> str:
        """Survey, plan and scrape; give the sentence.

        Parameters
        ----------
        error_um, blade_um, pass_um : float
        done : int
        **ticks : bool

        Returns
        -------
        str

        Raises
        ------
        ValueError
            Where nothing is read.
        """
        lines = tuple(name for name in _KINDS if ticks[name])
        x, plate, found, plan = _worked_out(self.seed, error_um, blade_um, pass_um, lines)
        taken = after_passes(plan, pass_um, done)
        now, told = beyond_plane(plate - taken), beyond_plane(found.height_um - taken)
        left = plan.remove_um - taken
        top = max(float(np.abs(now).max()), float(np.abs(told).max()))
        step = style.to_um(line_step(style.small(top, self.units)), self.units)
        self._maps[0].show("The plate as it is", fine(now), step, top)
        self._maps[1].show("As the survey has it", fine(told), step, top)
        most = max(float(left.max()), 1.0)
        lines_um = style.to_um(line_step(style.small(most, self.units)), self.units)
        working = fine((left > 0) & (plan.first_pass <= done + 1) & (plan.first_pass > 0)) > 0.5
        self._maps[2].show(f"To take off, lines every {style.spell(lines_um, self.units)}", fine(left), lines_um, most, working)
        self._legend.set_text(f"Plates: lines every {style.spell(step, self.units)}; solid proud, dotted level, dashed hollow. "
                              "Squares: where the next pass works.")
        return self._words(x, plate - taken, found, plan, min(done, int(plan.passes)))

    def _words(self, x, plate: np.ndarray, found: EdgeSurvey, plan: CutPlan, done: int) -> str:
        value = float(flatness(x, x, plate).value_um)
        grade = plate_grade_sentence(value, _SIDE_MM, _SIDE_MM).replace(" x ", " × ")
        sure = style.spell(2 * float(found.sd_um.max()), self.units)
        read = found.sentence.split(". ")[0]
        unseen = found.sentence.rsplit("; ", 1)[1].rstrip(".")
        return (f"{read}; {unseen}, and every other is known to ± {sure} (95 %) or better. The plan takes "
                f"{style.spell(plan.remove_um.max(), self.units)} at the highest place in {int(plan.passes)} passes; {done} are done. The "
                f"plate itself is now {style.spell(value, self.units)} out of flat, {grade}.")
