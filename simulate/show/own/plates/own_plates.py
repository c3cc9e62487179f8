"""The learner's own plates: give gaps, get a map of each plate, where to scrape, and how the work goes."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from simulate.readings.adjustment.observations import needs
from simulate.readings.adjustment.repeatability import step_asked
from simulate.readings.findings import Findings, findings
from simulate.readings.outcome.band_words import band_sentence
from simulate.readings.outcome.round_record import OwnRounds
from simulate.readings.plates.solve_plates import SolvedPlates
from simulate.readings.rounds.compare import compare
from simulate.readings.rounds.own_rounds import own_rounds
from simulate.readings.table.demo import demo_path
from simulate.show.drawing import style
from simulate.show.own.pictures.own_plates_picture import ROUNDS, own_plates_picture, simulated_plates
from simulate.show.own.readings_panel import ReadingsPanel
from simulate.show.own.stated import known_boxes, repeatability_slider, stated, stated_menu, target_slider
from simulate.show.units.switch import in_both
from simulate.surface.tolerances.plate_grades import PLATE_STANDARDS, plate_grade_sentence, plate_limits_um

MOST = 4
"""So many plates have room in the picture."""


class OwnPlatesPanel(ReadingsPanel):
    """Gaps between plates in, a map of each plate out.

    Parameters
    ----------
    path : str or Path, optional
        A readings file; the invented demo file by default.
    round_shown : int
        0 for the last round of the file, otherwise its number.
    reading_sd_um : float, optional
        Spread of one gap, 0.5 to 200; without it the readings tell.
    target_um : float, optional
        How flat the plates have to be, 1 to 500; without it as flat as the readings can tell.
    standard : {"DIN 876", "ISO 8512", "GGG-P-463c"}
    feel_um : float, optional
        Gap at which a blade is felt to go, one standard deviation; left to the readings by default.
    units : str, optional
    dpi : int
    resolution_um : float, optional
        Smallest step of readings that are numbers; left to the figures by default.

    Raises
    ------
    ValueError
        Where the file is refused, its placements leave shapes unseen, or a setting is out of its range.

    Examples
    --------
    >>> panel = OwnPlatesPanel()
    >>> "Oak" in panel.sentence
    True
    """

    refers = True
    photographs = ("plates",)
    at_hand = ("round_shown", "reading_sd_um", "target_um", "reading_sd_um_given", "target_um_given")

    demo = Path(demo_path("demo_plates_rounds.csv"))

    def __init__(
        self,
        path=None,
        round_shown: int = 0,
        reading_sd_um: float | None = None,
        target_um: float | None = None,
        standard: str = "DIN 876",
        feel_um: float | None = None,
        place_mm: float = 1,
        whole: bool = False,
        units: str | None = None,
        dpi: int = 100,
        resolution_um: float | None = None,
    ) -> None:
        super().__init__(units, dpi)
        self.found: Findings | None = None
        self._load(path)
        self.round_menu(round_shown)
        repeatability_slider(self, reading_sd_um, 200)
        target_slider(self, target_um, "Target flatness")
        self.menu("standard", "Grading standard", list(PLATE_STANDARDS), standard)
        stated_menu(self, "feel_um", "Feel of blades, 1 SD", feel_um)
        self.place_slider("place_mm", "Blade position, 1 SD", place_mm, 0, 10, 0.5)
        stated_menu(self, "resolution_um", "Smallest step of a reading", resolution_um, nought=False)
        known_boxes(self, reading_sd_um=reading_sd_um, target_um=target_um)
        self.tick("whole", "Band for the whole plate", whole)
        self._inputs()
        self.ready(strict=True)

    def draw(
        self,
        round_shown: int,
        reading_sd_um: float | None,
        target_um: float | None,
        standard: str,
        feel_um: float | str,
        place_mm: float,
        resolution_um: float | str,
        whole: bool,
    ) -> str:
        """Solve, draw anew, and say what the readings say."""
        needs(self._table, "plates")
        given = {"feel_um": stated(feel_um), "place_mm": place_mm, "resolution_um": stated(resolution_um)}
        known = self.known_already()
        found = findings(self._table, reading_sd_um, round_shown or None, target_um, known=known, **given)
        self.refuse_crowd(len(found.solution.names), "plates", MOST)
        solution: SolvedPlates = found.solution
        wide, deep = float(np.ptp(solution.x_mm)), float(np.ptp(solution.y_mm))
        limits = {f"grade {g}": um for g, um in plate_limits_um(wide, deep, standard).items()}
        done = self._rounds(solution, own_rounds(self._table, reading_sd_um, known, **given))
        simulated = self._band(solution, done)
        canvas = own_plates_picture(solution, found.map, done, simulated, limits, self.units, self.dpi, whole)
        said = [
            self._first(found, wide, deep, standard),
            *step_asked(solution.resolution),
            band_sentence(solution, whole, "plate"),
            *((solution.depends.sentence,) if solution.depends else ()),
            *found.consistency.sentences,
            *found.cut,
        ]
        said += [one.sentence for one in (found.next, found.stop) if one is not None]
        said += found.hidden[:2]  # what matters most stands first
        if simulated is not None and done[-1][0] > 0:
            said.append(compare(simulated, *done[-1], body="plate").sentence)
        self.found, self.canvas = found, canvas
        return self._start() + in_both(" ".join(said), self.units)

    def _first(self, found: Findings, wide: float, deep: float, standard: str) -> str:
        s: SolvedPlates = found.solution
        each = "; ".join(
            f"{name} {style.spell(flat)} out of flat, {plate_grade_sentence(flat, wide, deep, standard)}"
            for name, flat in zip(s.names, s.flatness_um)
        )
        sure = (
            ""
            if s.low_95_um is None or s.high_95_um is None
            else (
                " The least certain height has an uncertainty of ± "
                f"{style.spell(np.nanmax(s.high_95_um - s.low_95_um) / 2)} (95 %)."
            )
        )
        seen = "found from the readings"
        how = {"residuals": seen, "resolution": seen}.get(s.sd_from, s.sd_from)
        spread = (
            "" if s.sd_from == "intervals" else f" Repeatability of one gap: {style.spell(s.reading_sd_um)} ({how})."
        )
        return " ".join([f"Round {s.round}: {each}.{sure}{spread}", *s.remarks])

    def _rounds(self, solution: SolvedPlates, own: OwnRounds) -> list[tuple[int, float]]:
        """Worst plate of every round up to the one shown, counted from the first that can be solved."""
        done = [(int(number), float(um)) for number, um in zip(own.round, own.form_um) if number < solution.round]
        done.append((solution.round, float(solution.flatness_um.max())))
        return [(number - done[0][0], value) for number, value in done]

    def _band(self, solution: SolvedPlates, done: list[tuple[int, float]]):
        if len(solution.names) != 3:
            return None
        along = min(max(round(np.sqrt(solution.x_mm.size)), 3), 9)
        error = float(f"{max(done[0][1], 1.0):.3g}")
        return simulated_plates(
            float(np.ptp(solution.x_mm)), float(np.ptp(solution.y_mm)), along, error, max(ROUNDS, done[-1][0])
        )
