"""Three small gauges with three lands each, made from each other at the bench."""

from __future__ import annotations

import numpy as np

from simulate.bench.looking.sight import Sight
from simulate.core.byte_cache import remembered
from simulate.method.bars.bar_history import BarStep
from simulate.method.lands.gauge_making import LandFit, LandGaugeHistory, fit_of_two, make_land_gauges, middle_of
from simulate.method.lands.stepping import gauges_from_pairs
from simulate.show.bars.run_panel import stage_starts
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.lands.land_gauges_picture import MOST_UM, NAMES, PAIRS, LandGaugesPicture
from simulate.show.panel.step_panel import StepPanel

ROUNDS = 4
REMOVAL_UM = 4.0


def pair_readings(middle_um: np.ndarray, sd_um: float = 0.0, seed: int = 0) -> np.ndarray:
    """Give what the three fits show: the sum of two middles over the outer lands.

    `middle_um` (3,). `sd_um`: scatter of each reading. Returns (3,): a on B, A on C, B on C.

    >>> pair_readings(np.array([1.0, 2, 3])).tolist()
    [3.0, 4.0, 5.0]
    """
    sums = np.array([middle_um[a] + middle_um[b] for a, b in PAIRS])
    return sums + sd_um * np.random.default_rng(seed).standard_normal(3)


@remembered
def gauges_run(
    middles: tuple[float, float, float], share: float, sight_um: float, seed: int
) -> tuple[LandGaugeHistory, np.ndarray]:
    """Simulate one workshop; the same question is answered from memory.

    Returns (looks, 3): the middle of each gauge at each look.
    """
    made = make_land_gauges(
        middles, rounds=ROUNDS, removal_um=REMOVAL_UM, share=share, seed=seed, sight=Sight("light", sight_um)
    )
    return made, middle_of(made.history.x_mm, np.stack([s.height_um for s in made.history.steps]))


class LandGaugesPanel(StepPanel):
    """Three gauges with three lands: read them in pairs, and make them straight.

    Parameters
    ----------
    a_um, b_um, c_um : float
        Middle land of each gauge over its outer ones at the start, -30 to 30.
    share : float
        Share of the split that the one gauge gives up (B in the first round), 0 to 1.
    sd_um : float
        Spread of the reading of one pair, 0 to 5.
    seed : int
    units : str, optional
    dpi : int
    sight_um : float
        Smallest gap that the eye sees over a land, 0.5 to 10.

    Examples
    --------
    >>> "A = (-4.0 + 13.0 - (-17.0)) / 2 = +13.0 µm" in LandGaugesPanel(13, -17, 0, sd_um=0, units="mm").sentence
    True
    """

    def __init__(
        self,
        a_um: float = 12,
        b_um: float = -20,
        c_um: float = 5,
        share: float = 0.5,
        sd_um: float = 0.5,
        seed: int = 1,
        units: str | None = None,
        dpi: int = 100,
        sight_um: float = 2.5,
    ) -> None:
        super().__init__(units, dpi)
        self.seed = seed
        for name, um in (("a_um", a_um), ("b_um", b_um), ("c_um", c_um)):
            self.height_slider(name, f"Starting error of gauge {name[0].upper()}", um, -MOST_UM, MOST_UM, 1)
        self.height_slider("sd_um", "Repeatability of a reading", sd_um, 0, 5, 0.5)
        self.height_slider("sight_um", "Smallest gap the eye sees", sight_um, 0.5, 10, 0.5)
        self.slider("share", "Share taken from one gauge", share, 0, 1, 0.05, ".2f")
        self.zoom_tick()
        self._moves()
        self.player.interval = 500
        self._setting: tuple = ()
        self.canvas = Canvas(1280, 560, self.dpi)
        self.picture_of = LandGaugesPicture(self.canvas, self.units)
        self.ready()

    def starts(self) -> list[int]:
        """Give the looks at which the next pair is taken up."""
        return stage_starts(self.made.history)

    def draw(self, a_um, b_um, c_um, sd_um, sight_um, share, zoom) -> str:
        """Make the gauges anew where a setting has changed; show the look at the position."""
        setting = ((a_um, b_um, c_um), share, max(sight_um, 0.1), self.seed)
        if (setting, zoom) != self._setting:
            self.made, self.middles = gauges_run(*setting)
            self._setting = (setting, zoom)
            self._fit_position(len(self.middles) - 1)
            self.picture_of.frame(self.middles, self.made.history.steps, self.made.history.floor_um, zoom)
        place = min(self.position.value, len(self.middles) - 1)
        step, middle = self.made.history.steps[place], self.middles[place]
        x, sight = self.made.history.x_mm, Sight("light", setting[2])
        fits = [fit_of_two(x, step.height_um[a], step.height_um[b], sight) for a, b in PAIRS]
        read = pair_readings(middle, sd_um, self.seed + place)
        self.picture_of.show(place, step, middle, fits, read)
        return (
            f"Check {place + 1} of {len(self.middles)}, {self._look(step, fits)} "
            f"{self._sentence(middle, read, sd_um, share)}"
        )

    # -- words ----------------------------------------------------------------
    def _look(self, step: BarStep, fits: list[LandFit]) -> str:
        low, up = NAMES[step.lower], NAMES[step.upper]
        what = {
            "fit": f"fitting {up} to {low}",
            "split": f"splitting what {low} and {up} show",
            "remake": f"refitting {up} to {low}",
        }[step.stage]
        fit = fits[PAIRS.index(tuple(sorted((step.lower, step.upper))))]
        open_ = style.spell(fit.gap_um.max(), self.units)
        seen = (
            f"every land is dark, and only one side is still open, {style.spell(step.gap_um.max(), self.units)}"
            if step.filed and not fit.seen.open.any()
            else "no light is seen"
            if not fit.seen.open.any()
            else f"it rocks on the middle, {open_} open at both ends when level"
            if fit.rocks
            else f"light in the middle, {open_} open"
        )
        bodies = " and ".join(NAMES[i] for i in step.filed)
        done = (
            "nothing is filed" + ", which is as close as eye and file can get" * bool(fit.seen.open.any())
            if not step.filed
            else f"a pass is taken from the middle land of {bodies}"
            if fit.rocks
            else f"a pass is taken from the outer lands of {bodies}"
        )
        return f"round {step.round}, {what}: {seen}; {done}."

    def _sentence(self, middle: np.ndarray, read: np.ndarray, sd_um: float, share: float) -> str:
        digits, unit = 2 if self.units == "inch" else 1, style.small_unit(self.units)

        def number(um, sign="+"):
            return f"{round(style.small(um, self.units), digits) + 0.0:{sign}.{digits}f}"

        def take(um):
            said = number(um, "")
            return f"({said})" if said.startswith("-") else said

        ab, ac, bc = read
        a, b, c = gauges_from_pairs(ab, ac, bc)
        known = f", each with an uncertainty of ± {style.spell(0.866 * sd_um, self.units)}" if sd_um else ""
        return (
            f"The pairs read AB {number(ab)}, AC {number(ac)}, BC {number(bc)} {unit}, so A = ({number(ab, '')} + "
            f"{take(ac)} - {take(bc)}) / 2 = {number(a)} {unit}, B {number(b)}, C {number(c)}{known}. Their true "
            "middles are "
            + ", ".join(f"{n} {number(v)}" for n, v in zip(NAMES, middle))
            + f" {unit}. A round leaves |2 × {share:.2f} − 1| = "
            f"{100 * abs(2 * share - 1):.0f} % of the error, until the floor of about "
            f"{style.spell(self.made.history.floor_um, self.units)}."
        )
