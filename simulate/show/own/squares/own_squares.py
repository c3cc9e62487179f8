"""The learner's own squares: give readings, get the angle of each, its grade, and where to file next."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from simulate.readings.adjustment.bounds import wrong
from simulate.readings.adjustment.next_reading import NextReading
from simulate.readings.adjustment.repeatability import step_asked
from simulate.readings.squares.solve_squares import SolvedSquares
from simulate.readings.squares.square_cut import SquareCut, cut_of
from simulate.readings.squares.square_findings import of_squares
from simulate.readings.table.demo import demo_path
from simulate.show.drawing import style
from simulate.show.own.pictures.own_squares_picture import own_squares_picture
from simulate.show.own.readings_panel import ReadingsPanel
from simulate.show.own.stated import known_boxes, repeatability_slider, stated, stated_menu
from simulate.show.units.switch import in_both
from simulate.surface.tolerances.edge_grades import square_grade_sentence

MOST = 6
"""So many squares have room in the picture."""


class OwnSquaresPanel(ReadingsPanel):
    """Gaps blade to blade in, the angle of each square out.

    Parameters
    ----------
    path : str or Path, optional
        A readings file; the invented demo file by default.
    blade_mm : float
        Height of the blades, 20 to 600.
    reading_sd_um : float, optional
        Spread of one gap, 0.5 to 50; without it the readings tell.
    round_shown : int
        0 for the last round of the file.
    feel_um, bend_um : float, optional
        For intervals: one standard deviation of the gap at which a feeler is felt to go, and root mean square bend of
        a blade; left to the readings by default.
    resolution_um : float, optional
        Smallest step of readings that are numbers; left to the figures by default.
    units : str, optional
    dpi : int

    Examples
    --------
    >>> panel = OwnSquaresPanel()
    >>> panel.sentence.startswith("Demo file, invented readings. Ash leans over its base by 176 µm in a metre")
    True
    """

    refers = True

    demo = Path(demo_path("demo_squares.csv"))

    def __init__(
        self,
        path=None,
        blade_mm: float = 150,
        reading_sd_um: float | None = None,
        round_shown: int = 0,
        units: str | None = None,
        dpi: int = 100,
        feel_um: float | None = None,
        bend_um: float | None = None,
        resolution_um: float | None = None,
    ) -> None:
        super().__init__(units, dpi)
        self._load(path)
        self.solution: SolvedSquares | None = None
        self.cuts: SquareCut | None = None
        self.place_slider("blade_mm", "Height of the blades", blade_mm, 20, 600, 5)
        repeatability_slider(self, reading_sd_um, 50, "Repeatability of a gap")
        stated_menu(self, "feel_um", "Feel of feelers, 1 SD", feel_um)
        stated_menu(self, "bend_um", "Bend of blades, RMS", bend_um)
        stated_menu(self, "resolution_um", "Smallest step of a reading", resolution_um, nought=False)
        self.round_menu(round_shown)
        known_boxes(self, reading_sd_um=reading_sd_um)
        self._inputs()
        self.ready(strict=True)

    def draw(
        self,
        blade_mm: float,
        reading_sd_um: float | None,
        feel_um: float | str,
        bend_um: float | str,
        resolution_um: float | str,
        round_shown: int,
    ) -> str:
        """Solve, draw anew, and say what the readings say."""
        given = {"feel_um": stated(feel_um), "bend_um": stated(bend_um), "resolution_um": stated(resolution_um)}
        told = of_squares(self._table, reading_sd_um, round_shown or None, known=self.known_already(), **given)
        found = told.solution
        self.refuse_crowd(len(found.names), "squares", MOST)
        high = max(blade_mm, float(found.read_mm.max()))
        cuts = cut_of(found, high)
        self.canvas = own_squares_picture(found, cuts, self.units, self.dpi)
        self.solution, self.cuts = found, cuts
        start = self._start(found.round)
        if high > blade_mm + 0.5:
            start += (
                f"Gaps were read up to {style.spell_place(high, self.units)}, so the blades are taken to be that high. "
            )
        return start + " ".join(
            part
            for part in [
                *self._each(found, cuts),
                self._whole(found),
                in_both(found.depends.sentence, self.units) if found.depends else "",
                self._next(cuts),
                *self._further(told.next),
                self._spread(found),
                *self._step(found),
                *self.beside_said(reading_sd_um, found.round, **given),
            ]
            if part
        )

    def _each(self, found: SolvedSquares, cuts: SquareCut) -> list[str]:
        said = []
        for k, (name, urad) in enumerate(zip(found.names, found.angle_urad)):
            out, end = style.spell(cuts.remove_um[k], self.units), "bottom" if cuts.at_foot[k] else "top"
            if not found.settled[k]:
                said.append(
                    f"{name} is not settled: readings without an upper limit leave its angle undetermined"
                    + self._certain(found, k)
                    + ". "
                    + (
                        f"File its {end}, at least {out} off there, and read again."
                        if cuts.sure[k]
                        else "Read it again with an upper limit."
                    )
                )
                continue
            way = "over" if urad >= 0 else "away from"
            grade = square_grade_sentence(
                round(float(cuts.remove_um[k]), 3), cuts.height_mm, style.spell_place(cuts.height_mm, self.units)
            )
            words = (
                f"{name} leans {way} its base by {style.spell_angle(abs(urad), self.units)}{self._range(found, k)}, "
                f"{out} at its top: {grade}{self._certain(found, k)}"
            )
            said.append(
                f"{words}. "
                + (
                    f"Take {out} off at its {end}, running out to zero at the other end."
                    if cuts.sure[k]
                    else f"{self._untold(found)}, so file nothing yet."
                    if found.low_95_urad is None
                    else "File nothing yet: its error is within the uncertainty of the readings."
                )
            )
        return said

    def _untold(self, found: SolvedSquares) -> str:
        return (
            "The readings contradict each other"
            if wrong(found.against)
            else "The repeatability of a reading is not known"
        )

    def _range(self, found: SolvedSquares, k: int) -> str:
        """Give the 95 % range: as plus and minus where it is the same to both sides."""
        if found.low_95_urad is None:
            return ""
        ends = found.low_95_urad[k], found.high_95_urad[k]
        if found.bend_um is None:
            return f" ± {style.angle_figure((ends[1] - ends[0]) / 2, self.units)} (95 %)"
        low, high = (style.angle_figure(end, self.units, "+") for end in ends)
        return f" (95 %: {low} to {high})"

    def _whole(self, found: SolvedSquares) -> str:
        if found.low_95_urad is None or found.settled.sum() < 2:
            return ""
        whole, alone = found.whole_high_95_urad - found.whole_low_95_urad, found.high_95_urad - found.low_95_urad
        wide = float(np.max((whole / np.maximum(alone, 1e-12))[found.settled]))
        return f"Each range is for one square by itself; ranges for all squares at once are {wide:.1f} times as wide."

    def _certain(self, found: SolvedSquares, k: int) -> str:
        if found.low_urad is None:
            return ""
        low, high = (
            None if np.isinf(end[k]) else style.angle_figure(end[k], self.units, "+")
            for end in (found.low_urad, found.high_urad)
        )
        if low and high:
            return f", and for certain between {low} and {high}"
        return f", and for certain {'above' if low else 'below'} {low or high}" if low or high else ""

    def _further(self, following: NextReading | None) -> list[str]:
        if following is None:
            return []
        return [in_both(following.sentence, self.units)]

    def _next(self, cuts: SquareCut) -> str:
        if not self.solution.settled.all() or self.solution.low_95_urad is None:
            return ""
        best = int(np.argmin(cuts.remove_um))
        worst = int(np.argmax(np.where(cuts.sure, cuts.remove_um, -1)))
        if not cuts.sure.any():
            return "Stop: file again only after finer readings."
        if worst == best:
            return f"Only {cuts.names[worst]} is certainly out: file it, and read every pair again."
        return (
            f"{cuts.names[best]} is the best now: take it as the gauge, file {cuts.names[worst]} first, and read "
            "every pair again before the next."
        )

    def _step(self, found: SolvedSquares) -> list[str]:
        return [in_both(one, self.units) for one in step_asked(found.resolution)]

    def _spread(self, found: SolvedSquares) -> str:
        if found.bend_um is not None:
            bends = style.spell(float(np.abs(found.bend_um).max()), self.units)
            said = (
                f"The uncertainty follows from the intervals; bends of the blades ({bends} at most by these "
                "readings) and feel are included."
            )
            against = [in_both(found.against.sentence, self.units)] if found.against else []
            return " ".join([said, *against])
        spread = style.spell(found.reading_sd_um, self.units)
        if found.sd_from == "given":
            return f"Repeatability of one gap: {spread}, as given."
        if found.sd_from == "resolution":
            return f"Repeatability of one gap: {spread}, which is what rounding leaves: the readings agree better "
            "than that."
        if found.sd_from == "residuals":
            more = f"{found.freedom} redundant reading{'s' * (found.freedom != 1)}"
            return f"Repeatability of one gap: {spread}, found from {more}."
        return "There are no redundant readings, so no range is given: read one pair again, or give your own figure."
