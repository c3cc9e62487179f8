"""The learner's own squares: give readings, get the angle of each, its grade, and where to file next."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.demo import demo_path
from simulate.readings.cut_squares import SquareCut, square_cut
from simulate.readings.findings_squares import of_squares
from simulate.readings.next_reading import NextReading
from simulate.readings.squares import SolvedSquares
from simulate.show import style
from simulate.show.own_squares_picture import own_squares_picture
from simulate.show.readings_panel import ReadingsPanel
from simulate.show.units import in_both
from simulate.surface.edges import square_grade_sentence

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
    reading_sd_um : float
        Spread of one gap, 0 to 50; 0 leaves it to the readings.
    round_shown : int
        0 for the last round of the file.
    units : str, optional
    dpi : int

    Raises
    ------
    ValueError
        Where the file is refused, or a setting is out of its range.

    Examples
    --------
    >>> panel = OwnSquaresPanel()
    >>> panel.sentence.startswith("Demo file, invented readings. Ash leans over its base by 176 µm in a metre")
    True
    """

    demo = Path(demo_path("demo_squares.csv"))

    def __init__(self, path=None, blade_mm: float = 150, reading_sd_um: float = 0, round_shown: int = 0, units: str | None = None, dpi: int = 100) -> None:
        super().__init__(units, dpi)
        source = Path(self.demo if path is None else path)
        self._load(source)
        self.solution: SolvedSquares | None = None
        self.cuts: SquareCut | None = None
        self.place_slider("blade_mm", "Height of the blades", blade_mm, 20, 600, 5)
        self.height_slider("reading_sd_um", "Spread of a gap, 0: unknown", reading_sd_um, 0, 50, 0.5)
        self.round_menu(round_shown)
        self._inputs(source)
        self.ready(strict=True)

    def draw(self, blade_mm: float, reading_sd_um: float, round_shown: int) -> str:
        """Solve, draw anew, and say what the readings say.

        Parameters
        ----------
        blade_mm, reading_sd_um : float
        round_shown : int

        Returns
        -------
        str
        """
        told = of_squares(self._table, reading_sd_um or None, round_shown or None)
        found = told.solution
        if len(found.names) > MOST:
            raise Refusal("count", where=self._name, found=f"{len(found.names)} squares",
                          must_be=f"at most {MOST}, for the picture has room for no more", do="Give fewer in one file")
        high = max(blade_mm, float(found.read_mm.max()))
        cuts = square_cut(found.names, found.angle_urad, found.sd_urad, high, found.factor_95)
        self.canvas = own_squares_picture(found, cuts, self.units, self.dpi)
        self.solution, self.cuts = found, cuts
        start = "Demo file, invented readings. " if self._name == self.demo.name else ""
        several = f"Round {found.round}. " if self._table.round.min() != self._table.round.max() else ""
        if high > blade_mm + 0.5:
            several += f"Gaps were read up to {style.spell_place(high, self.units)}, so the blades are taken as that high. "
        return start + several + " ".join([*self._each(found, cuts), self._next(cuts), *self._further(told.next), self._spread(found)])

    def _each(self, found: SolvedSquares, cuts: SquareCut) -> list[str]:
        said = []
        for k, (name, urad) in enumerate(zip(found.names, found.angle_urad)):
            out, end = style.spell(cuts.remove_um[k], self.units), "foot" if cuts.at_foot[k] else "top"
            way = "over" if urad >= 0 else "away from"
            words = (f"{name} leans {way} its base by {style.spell_angle(abs(urad), self.units)} "
                     f"± {style.spell_angle(found.factor_95 * found.sd_urad[k], self.units).split()[0]} (95 %), {out} at its top: "
                     f"{square_grade_sentence(round(float(cuts.remove_um[k]), 3), cuts.height_mm, style.spell_place(cuts.height_mm, self.units))}")
            if found.low_urad is not None:
                ends = [style.spell_angle(end[k], self.units, "+").split()[0] for end in (found.low_urad, found.high_urad)]
                words += f", and for certain between {ends[0]} and {ends[1]}"
            said.append(f"{words}. " + (f"File its {end}, {out} off there, running out to nothing at the other end." if cuts.sure[k]
                                        else "Leave it: it is out by no more than the readings may be wrong."))
        return said

    def _further(self, following: NextReading | None) -> list[str]:
        if following is None:
            return []
        return [in_both(following.sentence.replace("urad", "µm in a metre"), self.units)]

    def _next(self, cuts: SquareCut) -> str:
        best = int(np.argmin(cuts.remove_um))
        worst = int(np.argmax(np.where(cuts.sure, cuts.remove_um, -1)))
        if not cuts.sure.any():
            return "Stop: file on only after finer readings."
        if worst == best:
            return f"Only {cuts.names[worst]} is surely out: file it, and read every pair again."
        return f"{cuts.names[best]} is the best now: take it as the gauge, file {cuts.names[worst]} first, and read every pair again before the next."

    def _spread(self, found: SolvedSquares) -> str:
        if self._table.is_interval.all():
            return "How sure follows from the widths of the intervals."
        spread = style.spell(found.reading_sd_um, self.units)
        if self.values()["reading_sd_um"]:
            return f"One gap spreads by {spread}, as given."
        if found.freedom:
            more = f"{found.freedom} reading{'s' * (found.freedom != 1)} more than needed"
            return f"One gap spreads by {spread}, found from {more}."
        return f"No reading is more than needed, so one gap is taken to spread by {spread}; read a third height, or give your own figure."
