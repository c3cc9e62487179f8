"""A plate surveyed along eight lines: give readings, get a map with its closures."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from simulate.core.number_format import three, two
from simulate.core.refusal import Refusal
from simulate.readings.survey.union_jack import UnionJack, union_jack
from simulate.readings.table.demo import demo_path
from simulate.show.drawing import style
from simulate.show.drawing.scale import HeldTop
from simulate.show.own.pictures.survey_picture import survey_picture
from simulate.show.own.readings_panel import ReadingsPanel
from simulate.show.own.stated import known_boxes
from simulate.show.units.switch import in_both
from simulate.surface.flatness import Flatness, flatness
from simulate.surface.tolerances.plate_grades import PLATE_STANDARDS, plate_grade_sentence, plate_limits_um

SHOWN = ("the plate", "the change since the round before")
"""What the map may show."""

WAYS = ("least squares", "from the corners, by hand")
"""How eight lines become one surface."""


def heights_of(found: UnionJack, way: str) -> np.ndarray:
    """Return the heights that a way of working out gives.

    `way` ({"least squares", "from the corners, by hand"}). Returns (points,).
    """
    return found.least_squares_height_um if way == WAYS[0] else found.height_um


class SurveyPanel(ReadingsPanel):
    """Readings of slope in, a map out.

    Parameters
    ----------
    path : str or Path, optional
        A readings file; the invented demo file by default.
    way : {"least squares", "from the corners, by hand"}
    reading_sd_arcsec : float, optional
        Repeatability of one reading, 0.1 to 10; None leaves it to the closures.
    standard : {"DIN 876", "ISO 8512", "GGG-P-463c"}
    round_shown : int
        0 for the last round of the file, otherwise its number.
    shown : {"the plate", "the change since the round before"}
    units : str, optional
    dpi : int

    Examples
    --------
    >>> panel = SurveyPanel()
    >>> panel.sentence.startswith("Demo file, invented readings. Flatness")
    True
    """

    demo = Path(demo_path("demo_survey.csv"))

    def __init__(
        self,
        path=None,
        way: str = "least squares",
        reading_sd_arcsec: float | None = 0.5,
        standard: str = "DIN 876",
        round_shown: int = 0,
        shown: str = SHOWN[0],
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        self._load(path)
        self.solution: UnionJack | None = None
        self._held: tuple[object, HeldTop] | None = None
        self.menu("way", "Method", list(WAYS), way)
        usual = 0.5 if reading_sd_arcsec is None else reading_sd_arcsec
        self.slider("reading_sd_arcsec", "Repeatability of a reading", usual, 0.1, 10, 0.1, ".1f", "arcsec")
        self.menu("standard", "Grading standard", list(PLATE_STANDARDS), standard)
        self.round_menu(round_shown)
        self.menu("shown", "Map", list(SHOWN), shown)
        known_boxes(self, reading_sd_arcsec=reading_sd_arcsec)
        self.zoom_tick()
        self._inputs()
        self.ready(strict=True)

    def draw(
        self, way: str, reading_sd_arcsec: float | None, standard: str, round_shown: int, shown: str, zoom: bool
    ) -> str:
        """Work the survey out, draw it anew, and say what it says.

        Refused: a round that is not there, and a change that nothing tells.
        """
        sd = reading_sd_arcsec
        found = union_jack(self._table, sd, round_shown or None)
        level = flatness(found.x_mm, found.y_mm, heights_of(found, way))
        done = self._rounds(found, sd, way)
        limits = plate_limits_um(float(np.ptp(found.x_mm)), float(np.ptp(found.y_mm)), standard)
        height, what, more = level.residual_um, "", self._progress(found, done, sd)
        if shown == SHOWN[1]:
            height, more = self._change(found, done, sd, way)
            what = f"Change from round {done[-2][0]} to {found.round},"
        top = self._shades(done)
        top_um = top.take(float(np.abs(height).max()), zoom, rounded=False)
        said = "Zoomed: " if top.zoomed else "Beyond the shades: " if top.leaves else ""
        self.canvas = survey_picture(
            found,
            height,
            self.units,
            self.dpi,
            said + (what or ("lines" if said else "Lines")),
            [(n - done[0][0], f) for n, f in done],
            {f"grade {g}": v for g, v in limits.items()},
            top_um,
        )
        self.solution = found
        return (
            self._start()
            + self._words(found, level, found.least_squares_sd_um if way == WAYS[0] else found.sd_um, standard)
            + more
        )

    def _shades(self, done: list[tuple[int, float]]) -> HeldTop:
        """Give where the shades end: for one file where its worst round has room, so that a flatter one looks so."""
        if self._held is None or self._held[0] is not self._table:
            self._held = self._table, HeldTop()
            self._held[1].take(max(flat_um for _, flat_um in done) / 2, False, rounded=False)
        return self._held[1]

    def _rounds(self, found: UnionJack, sd: float | None, way: str) -> list[tuple[int, float]]:
        """Flatness of every round up to the one shown."""
        done = []
        for number in np.unique(self._table.round[self._table.round < found.round]):
            try:
                one = union_jack(self._table, sd, int(number))
            except Refusal:
                continue
            done.append((int(number), float(flatness(one.x_mm, one.y_mm, heights_of(one, way)).value_um)))
        return [*done, (found.round, float(flatness(found.x_mm, found.y_mm, heights_of(found, way)).value_um))]

    def _progress(self, found: UnionJack, done: list[tuple[int, float]], sd: float | None) -> str:
        if len(done) < 2:
            return ""
        beside = "".join(f" {one}" for one in self.beside_said(sd, found.round))
        each = ", ".join(f"{three(value)} µm in round {number}" for number, value in done[:-1])
        return in_both(f" It was {each}; this is round {found.round}.", self.units) + beside

    def _change(
        self, found: UnionJack, done: list[tuple[int, float]], sd: float | None, way: str
    ) -> tuple[np.ndarray, str]:
        """What scraping did between two rounds, up to a plane, and whether the readings can tell."""
        if len(done) < 2:
            raise Refusal(
                "unsettled",
                where=self._name,
                found=f"round {found.round} is its first",
                must_be="a round before it, to show a change",
            )
        before = union_jack(self._table, sd, done[-2][0])
        if (
            before.x_mm.shape != found.x_mm.shape
            or np.abs([before.x_mm - found.x_mm, before.y_mm - found.y_mm]).max() > 0.5
        ):
            raise Refusal(
                "unsettled",
                where=self._name,
                found=f"rounds {before.round} and {found.round} were not read at the same stations",
                must_be="the same stations in both, to show a change",
            )
        change = flatness(
            found.x_mm, found.y_mm, heights_of(found, way) - heights_of(before, way), "least squares"
        ).residual_um
        unsure = 2 * float(np.hypot(found.least_squares_sd_um, before.least_squares_sd_um).max())
        low = int(change.argmin())
        told = "more than" if -change[low] > unsure else "no more than"
        return change, (
            f" Since round {before.round} most came off at {self._at(found, low)}: "
            f"{style.spell(-change[low], self.units)} "
            f"below the plane of the change, {told} the uncertainty of the readings "
            f"({style.spell(unsure, self.units)})."
        )

    def _words(self, found: UnionJack, level: Flatness, sd: np.ndarray, standard: str) -> str:
        def spell(um: float) -> str:
            return style.spell(um, self.units)

        value, height = float(level.value_um), level.residual_um
        wide, deep = np.ptp(found.x_mm), np.ptp(found.y_mm)
        free = found.least_squares_sd_um > 1e-9
        wide_band = float(
            ((found.whole_high_95_um - found.whole_low_95_um)[free] / (found.high_95_um - found.low_95_um)[free]).max()
        )
        off = np.abs(found.closure_um) > found.factor_95 * found.closure_sd_um
        closures = " and ".join(
            f"{spell(c)} (± {spell(s)} expected)"
            for c, s in zip(found.closure_um, found.factor_95 * found.closure_sd_um)
        )
        verdict = (
            "more than the scatter of the readings explains: read it again"
            if off.any()
            else "as the scatter of the readings allows"
        )
        grade = plate_grade_sentence(value, wide, deep, standard)
        high, low, worst = int(height.round(6).argmax()), int(height.round(6).argmin()), int(sd.round(6).argmax())
        return (
            f"Flatness {spell(value)} at {height.size} stations, "
            f"{in_both(grade, self.units)}. Closures {closures}: {verdict}. The plate is highest at "
            f"{self._at(found, high)} and lowest at {self._at(found, low)}. The least certain place is "
            f"{self._at(found, worst)}, "
            f"± {spell(found.factor_95 * sd[worst])} (95 %). That is for each station by itself; a band for all at "
            f"once is "
            f"{wide_band:.1f} times as wide. Repeatability of one reading: {two(found.reading_sd_arcsec)} arcsec. "
            f"What lies off the eight lines is not in this figure."
        )

    def _at(self, found: UnionJack, k: int) -> str:
        x, y = (style.spell_place(float(a[k]), self.units) for a in (found.x_mm, found.y_mm))
        return f"x {x}, y {y}"
