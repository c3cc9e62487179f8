"""A plate surveyed along eight lines: give readings, get a map with its closures."""

from __future__ import annotations

from pathlib import Path

import ipywidgets as widgets
import numpy as np

from simulate.readings.demo import demo_path
from simulate.readings.jack import UnionJack, union_jack
from simulate.show import style
from simulate.show.panel import FOCUS
from simulate.show.readings_panel import ReadingsPanel
from simulate.show.survey_picture import survey_picture
from simulate.surface.flat import Flatness, flatness
from simulate.surface.grades import PLATE_STANDARDS, plate_grade_sentence

WAYS = ("least squares", "the usual corner way")
"""How eight lines become one surface."""


class SurveyPanel(ReadingsPanel):
    """Readings of slope in, a map out.

    Parameters
    ----------
    path : str or Path, optional
        A readings file; the invented demo file by default.
    way : {"least squares", "the usual corner way"}
    reading_sd_arcsec : float
        Spread of one reading, 0 to 10; 0 leaves it to the closures.
    standard : {"DIN 876", "ISO 8512"}
    units : str, optional
    dpi : int

    Raises
    ------
    ValueError
        Where the file is refused, or a setting is out of its range.

    Examples
    --------
    >>> panel = SurveyPanel()
    >>> panel.sentence.startswith("Demo file, invented readings. Flatness")
    True
    """

    demo = Path(demo_path("demo_survey.csv"))

    def __init__(self, path=None, way: str = "least squares", reading_sd_arcsec: float = 0.5, standard: str = "DIN 876",
                 units: str | None = None, dpi: int = 100) -> None:
        super().__init__(units, dpi)
        source = Path(self.demo if path is None else path)
        self._load(source)
        self.solution: UnionJack | None = None
        self.menu("way", "Worked out by", list(WAYS), way)
        self.slider("reading_sd_arcsec", "Spread of a reading (arcsec), 0: unknown", reading_sd_arcsec, 0, 10, 0.1, ".1f")
        self.menu("standard", "Grades of", list(PLATE_STANDARDS), standard)
        self._inputs(source)
        union_jack(self._table)
        self.ready()

    def arrange(self, rows: widgets.Widget) -> widgets.Box:
        """Put the ways of giving readings over the picture.

        Parameters
        ----------
        rows : Widget

        Returns
        -------
        Box
        """
        return widgets.VBox([widgets.HTML(FOCUS), *self.ways(), rows, self.message, self.picture])

    def draw(self, way: str, reading_sd_arcsec: float, standard: str) -> str:
        """Work the survey out, draw it anew, and say what it says.

        Parameters
        ----------
        way : str
        reading_sd_arcsec : float
        standard : str

        Returns
        -------
        str
        """
        found = union_jack(self._table, reading_sd_arcsec or None)
        height = found.least_squares_height_um if way == WAYS[0] else found.height_um
        sd = found.least_squares_sd_um if way == WAYS[0] else found.sd_um
        self.solution = found
        level = flatness(found.x_mm, found.y_mm, height)
        self.canvas = survey_picture(found, level.residual_um, self.units, self.dpi)
        start = "Demo file, invented readings. " if self._name == self.demo.name else ""
        return start + self._words(found, level, sd, standard)

    def _words(self, found: UnionJack, level: Flatness, sd: np.ndarray, standard: str) -> str:
        def spell(um: float) -> str:
            return style.spell(um, self.units)

        value, height = float(level.value_um), level.residual_um
        wide, deep = np.ptp(found.x_mm), np.ptp(found.y_mm)
        off = np.abs(found.closure_um) > 2 * found.closure_sd_um
        closures = " and ".join(f"{spell(c)} (± {spell(s)} to be expected)" for c, s in
                                zip(found.closure_um, 2 * found.closure_sd_um))
        verdict = "more than the readings' spread explains: read it again" if off.any() else "as the spread of the readings allows"
        high, low, worst = int(height.argmax()), int(height.argmin()), int(sd.argmax())
        return (f"Flatness {spell(value)} at {height.size} stations, {plate_grade_sentence(value, wide, deep, standard).replace(' x ', ' × ')}. "
                f"Closures {closures}: {verdict}. Highest at {self._at(found, high)}, lowest at {self._at(found, low)}; least sure at "
                f"{self._at(found, worst)}, ± {spell(2 * sd[worst])} (95 %). One reading spreads by "
                f"{found.reading_sd_arcsec:.2g} arcsec. What lies off the eight lines is not in this figure.")

    def _at(self, found: UnionJack, k: int) -> str:
        x, y = (style.spell_place(float(a[k]), self.units) for a in (found.x_mm, found.y_mm))
        return f"x {x}, y {y}"
