"""The learner's own land readings: heights of a bar's points, how sure they are, and whether they came out as
foretold."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from simulate.core.refusal import Refusal
from simulate.method.lands.land_fit import Fit
from simulate.method.lands.levelling import Network, solve_network
from simulate.readings.adjustment.observations import of_round
from simulate.readings.adjustment.repeatability import step_asked
from simulate.readings.lands.land_findings import of_lands
from simulate.readings.lands.solve_lands import Foretold, SolvedLands, against_prediction
from simulate.readings.outcome.findings_record import Findings
from simulate.readings.table.demo import demo_path
from simulate.show.drawing import style
from simulate.show.lands.laying import layings
from simulate.show.own.pictures.own_lands_picture import own_lands_picture
from simulate.show.own.readings_panel import ReadingsPanel
from simulate.show.own.stated import known_boxes, repeatability_slider, stated, stated_menu
from simulate.show.units.switch import in_both

AS_LAID = "fits of this file"
WORKED = (AS_LAID, "anchored", "chained")
"""How the bar was worked, as far as the prediction goes."""
MOST_NAMED = 9


class OwnLandsPanel(ReadingsPanel):
    """Readings of land gauges in, the points of a bar out, held against a prediction.

    Parameters
    ----------
    path : str or Path, optional
        A readings file; the invented demo file by default.
    worked : str
        One of `WORKED`.
    fit_sd_um : float
        Spread of one fit when the bar was worked, 0.5 to 20.
    reading_sd_um : float, optional
        Spread of one reading, 0.5 to 20; None leaves it to the readings.
    feel_um : float, optional
        One standard deviation of the end of an interval; left to the readings by default.
    resolution_um : float, optional
        Smallest step of readings that are numbers; left to the figures by default.
    units : str, optional
    dpi : int

    Examples
    --------
    >>> panel = OwnLandsPanel()
    >>> panel.sentence.startswith("Demo file, invented readings. Round 2. Heights above the line through the ends")
    True
    """

    demo = Path(demo_path("demo_lands.csv"))

    def __init__(
        self,
        path=None,
        worked: str = AS_LAID,
        fit_sd_um: float = 1,
        reading_sd_um: float | None = 1,
        units: str | None = None,
        dpi: int = 100,
        feel_um: float | None = None,
        resolution_um: float | None = None,
    ) -> None:
        super().__init__(units, dpi)
        self._load(path)
        self.solution: SolvedLands | None = None
        self.foretold: Foretold | None = None
        self.menu("worked", "Method of working", WORKED, worked)
        self.height_slider("fit_sd_um", "Repeatability of bench fits", fit_sd_um, 0.5, 20, 0.5)
        repeatability_slider(self, reading_sd_um, 20)
        stated_menu(self, "feel_um", "Feel of feelers, 1 SD", feel_um)
        stated_menu(self, "resolution_um", "Smallest step of a reading", resolution_um, nought=False)
        known_boxes(self, reading_sd_um=reading_sd_um)
        self._inputs()
        self.ready(strict=True)

    def draw(
        self,
        worked: str,
        fit_sd_um: float,
        reading_sd_um: float | None,
        feel_um: float | str,
        resolution_um: float | str,
    ) -> str:
        """Solve, draw anew, and say what the readings say."""
        given = {"feel_um": stated(feel_um), "resolution_um": stated(resolution_um)}
        told = of_lands(self._table, reading_sd_um, **given)
        found = told.solution
        predicted = self._predicted(found, worked, max(fit_sd_um, 1e-3))
        settled = not found.open_mm and found.low_95_um is not None
        foretold = against_prediction(found, predicted) if settled else None
        self.canvas = own_lands_picture(found, predicted, self.units, self.dpi)
        self.solution, self.foretold = found, foretold
        return self._start(found.round) + " ".join(
            [
                *self._heights_said(found),
                *self._step(found),
                *((self._against(foretold),) if foretold else ()),
                *self._further(told),
                *self.beside_said(reading_sd_um, found.round, **given),
            ]
        )

    def _predicted(self, found: SolvedLands, worked: str, sd: float) -> Network:
        net = found.network
        if worked == AS_LAID:
            part = of_round(self._table, found.round)
            fits = [Fit((a, m, b), sd) for a, m, b in zip(part.left_mm, part.position_mm, part.right_mm)]
            return solve_network(fits, net.x_mm[[0, -1]])
        x = net.x_mm
        if np.ptp(np.diff(x)) > 1e-3 or x.size % 2 == 0:
            raise Refusal(
                "spacing",
                where="the row of points that the readings touch",
                found=f"{np.diff(x).min():g} to {np.diff(x).max():g} mm between {x.size} points",
                must_be=f"evenly spaced, with an odd number of points, for '{worked}'",
                do=f"Take '{AS_LAID}', which needs neither",
            )
        return solve_network(
            [Fit(tuple(x[0] + v for v in f.lands_mm), f.sd_um) for f in layings(worked, x.size, np.ptp(x), sd)]
        )

    # -- words ----------------------------------------------------------------
    def _at(self, mm: float) -> str:
        return f"{round(style.place(mm, self.units), 2):g} {'in' if self.units == 'inch' else 'mm'}"

    def _height(self, found: SolvedLands, k: int) -> str:
        def signed(um: float) -> str:
            places = 2 if self.units == "inch" else 1
            return f"{round(style.small(um, self.units), places) + 0.0:+.{places}f}"

        height, unit = found.network.height_um[k], style.small_unit(self.units)
        if found.low_95_um is None or found.high_95_um is None:
            return f"{signed(height)} {unit}"
        if self._table.is_interval.any():
            return f"{signed(height)} {unit} ({signed(found.low_95_um[k])} to {signed(found.high_95_um[k])})"
        return f"{signed(height)} ± {style.spell(found.high_95_um[k] - height, self.units)}"

    def _end(self, um: float) -> str:
        return style.spell(0.0 if abs(um) < 1e-3 else um, self.units)

    def _heights_said(self, found: SolvedLands) -> list[str]:
        net, low, high = found.network, found.low_95_um, found.high_95_um
        own = np.flatnonzero(net.reached & (net.sd_um > 0))
        off = own[np.argsort(-np.abs(net.height_um[own]), kind="stable")]
        named = np.sort(off[:MOST_NAMED])
        points = ", ".join(f"{self._height(found, k)} at {self._at(net.x_mm[k])}" for k in named)
        more = "" if own.size <= MOST_NAMED else f" (the {MOST_NAMED} farthest out, of {own.size})"
        how = (
            "the repeatability of a reading is not known, so no range is given: make one fit again"
            if low is None or high is None
            else "± is 95 % for each point by itself"
            if not self._table.is_interval.any()
            else "ranges in brackets are 95 % for each point by itself"
        )
        said = [f"Heights above the line through the ends: {points}{more}; {how}."] if own.size else []
        if own.size > 1 and low is not None:
            wide = float(np.max((found.whole_high_95_um - found.whole_low_95_um)[own] / (high - low)[own]))
            said.append(f"A band for all points at once is {wide:.1f} times as wide.")
        if found.open_mm:
            said.append(
                f"Bounded on one side only: {', '.join(self._at(v) for v in found.open_mm[:MOST_NAMED])}; read there "
                "again with an upper limit."
            )
        if not net.reached.all() and not found.open_mm:
            said.append(
                f"Not fixed to the ends: {', '.join(self._at(v) for v in net.x_mm[~net.reached][:MOST_NAMED])}."
            )
        if found.conflict:
            said.append(in_both(found.conflict, self.units))
        elif found.low_um is not None:
            sure = own[np.isfinite(found.low_um[own]) & np.isfinite(found.high_um[own])]
            if sure.size:
                ends = ", ".join(
                    f"{self._at(net.x_mm[k])} between {self._end(found.low_um[k])} and {self._end(found.high_um[k])}"
                    for k in sure[:MOST_NAMED]
                )
                felt = style.spell(found.margin_um, self.units)
                how = (
                    f", 95 times in 100 for all readings at once, with {felt} of feel allowed"
                    if found.margin_um
                    else ""
                )
                said.append(f"For certain, by the intervals alone{how}: {ends}.")
        return said

    def _against(self, foretold: Foretold) -> str:
        worst = int(np.argmax(np.abs(foretold.height_um) / foretold.foretold_sd_um))
        return (
            f"Against the prediction: {self._at(foretold.x_mm[worst])} is farthest out, "
            f"{style.spell(abs(foretold.height_um[worst]), self.units)} where ± "
            f"{style.spell(foretold.foretold_sd_um[worst], self.units)} was predicted, scatter included: "
            f"{foretold.verdict}. A good bar would come out no better in {100 * foretold.probability:.0f} cases out of "
            "100."
        )

    def _step(self, found: SolvedLands) -> list[str]:
        return [in_both(one, self.units) for one in step_asked(found.resolution)]

    def _further(self, told: Findings) -> list[str]:
        said = [*told.cut, *((told.next.sentence,) if told.next else ())]
        return [in_both(one, self.units) for one in said]
