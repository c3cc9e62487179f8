"""A bed of two ways being filed with the references made before."""

from __future__ import annotations

import numpy as np

from simulate.bench.looking.sight import Sight
from simulate.core.byte_cache import remembered
from simulate.method.machine.bed import bed_budget, judge_bed, starting_bed
from simulate.method.machine.bed_filing import STAGES, BedHistory, BedLook, file_bed
from simulate.method.machine.bed_gauges import ALONG, land_map
from simulate.show.drawing import style
from simulate.show.drawing.rounds_curve import look_at
from simulate.show.machine.bed_picture import SEEN_UM, STRIP_MM, BedPicture
from simulate.show.panel.panel import Panel
from simulate.show.units.switch import in_both
from simulate.surface.tolerances.edge_grades import lathe_bed_sentence

_ROUNDS, _LANDS, _WAY = 3, 13, 30.0
_COUNT = _ROUNDS * len(STAGES) + 1


@remembered
def run(
    along: str,
    error_um: float,
    twist_urad: float,
    lean_urad: float,
    edge_um: float,
    land_sd_um: float,
    strip_urad: float,
    sight_um: float,
    removal_um: float,
    length_mm: float,
    apart_mm: float,
    seed: int,
) -> BedHistory:
    """Simulate one bed; the same question is answered from memory."""
    x, bed = starting_bed(length_mm, error_um, twist_urad, apart_mm=apart_mm, seed=seed)
    return file_bed(
        x,
        bed,
        edge_um * (1 - (2 * x / length_mm) ** 2),
        apart_mm=apart_mm,
        rounds=_ROUNDS,
        removal_um=removal_um,
        lean_urad=[lean_urad, -lean_urad],
        way_mm=_WAY,
        along=along,
        lands=_LANDS,
        land_sd_um=land_sd_um,
        strip_mm=STRIP_MM,
        strip_sight_um=SEEN_UM,
        strip_error_urad=strip_urad,
        sight=Sight("light", sight_um),
        seed=seed,
    )


class BedPanel(Panel):
    """A bed, filed stage by stage.

    Parameters
    ----------
    along : str
        What lies along the ways: one of `simulate.method.machine.bed_gauges.ALONG`.
    error_um : float
        How far each way is out of straight at the start, 20 to 500.
    twist_urad : float
        From the headstock to the tailstock, -1500 to 1500 µm in a metre.
    lean_urad : float
        How the tops of the ways lean towards each other at the start, -1500 to 1500 µm in a metre.
    edge_um : float
        How far the straightedge is proud in its middle, -40 to 40.
    land_sd_um : float
        Spread of one fit of the land gauges, 0 to 5.
    strip_urad : float
        How far from parallel the winding strips are, -300 to 300 µm in a metre.
    sight_um : float
        Widest gap that looks shut, 0.5 to 50.
    removal_um : float
        Metal a pass takes, 2 to 30.
    length_mm, apart_mm : float
        Of the bed, 300 to 1500, and between the middles of its ways, 100 to 400.
    look : int
        Which look is shown, 1 to 13.
    seed : int
    units : str, optional
    dpi : int

    Examples
    --------
    >>> BedPanel().sentence[:32]
    'Round 1, along each way: the fro'
    """

    at_hand = ("look", "along", "edge_um", "strip_urad", "sight_um")

    def __init__(  # noqa: PLR0913  (one for each control)
        self,
        along: str = ALONG[0],
        *,
        error_um: float = 150,
        twist_urad: float = 600,
        lean_urad: float = 200,
        edge_um: float = 0,
        land_sd_um: float = 0.8,
        strip_urad: float = 0,
        sight_um: float = 2.5,
        removal_um: float = 8,
        length_mm: float = 600,
        apart_mm: float = 200,
        look: int = 1,
        seed: int = 1,
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        self.seed = seed
        self.whole_slider("look", "Step", look, 1, _COUNT)
        self.menu("along", "Along each way", list(ALONG), along)
        self.height_slider("error_um", "Starting error of each way", error_um, 20, 500, 10)
        self.angle_slider("twist_urad", "Twist of the bed", twist_urad, -1500, 1500, 50)
        self.angle_slider("lean_urad", "Inward tilt of tops", lean_urad, -1500, 1500, 50)
        self.height_slider("edge_um", "Straightedge proud in its middle", edge_um, -40, 40, 1)
        self.height_slider("land_sd_um", "Repeatability of a land fit", land_sd_um, 0, 5, 0.1)
        self.angle_slider("strip_urad", "Strips out of parallel", strip_urad, -300, 300, 10)
        self.height_slider("sight_um", "Smallest gap the eye sees", sight_um, 0.5, 50, 0.5)
        self.height_slider("removal_um", "Metal removed per pass", removal_um, 2, 30, 0.5)
        self.place_slider("length_mm", "Length of the bed", length_mm, 300, 1500, 50)
        self.place_slider("apart_mm", "Distance between ways", apart_mm, 100, 400, 10)
        self.zoom_tick()
        self.history: BedHistory | None = None
        self._picture = BedPicture(_ROUNDS, self.units, self.dpi)
        self.canvas = self._picture.canvas
        self.ready()

    def draw(self, look, zoom, **values) -> str:
        """Simulate where a setting has changed; show one look."""
        history = self.history = run(**values, seed=self.seed)
        now, last = look_at(history.looks, look)
        if last:
            now = BedLook(
                now.round, "after the last round", history.height_um[-1], 0 * now.lean_urad, 0 * now.removed_um, 0.0, 0
            )
        step = self._picture.show(history, now, look, values["apart_mm"], values["strip_urad"], zoom)
        return self._end(history, now, values) if last else self._stage(history, now, step, values)

    def _stage(self, history: BedHistory, now: BedLook, step: float, values: dict) -> str:
        spell = self._spell
        gauge = {
            STAGES[0]: f" The widest gap under the straightedge is {spell(now.seen_um)}.",
            STAGES[1]: f" The strips show a step of {spell(abs(step))}.",
            STAGES[2]: f" The middles of the diagonals differ by {spell(abs(now.seen_um))}.",
            STAGES[3]: f" Across both ways the widest gap is {spell(now.seen_um)}.",
        }[now.stage]
        metal = f"{now.passes} passes take up to {spell(now.removed_um.max())}" if now.passes else "nothing is filed"
        return f"Round {now.round}, {now.stage}: {self._state(history, now, values)}.{gauge} Now {metal}."

    def _end(self, history: BedHistory, now: BedLook, values: dict) -> str:
        form = judge_bed(history.x_mm, now.height_um, values["apart_mm"])
        worst = float(form.crown_um[np.argmax(np.abs(form.crown_um))])
        limit = (
            lathe_bed_sentence(round(worst, 1), round(values["length_mm"]))
            if values["length_mm"] <= 1000
            else "there is no figure here for a bed above 1000 mm"
        )
        lands = values["along"] == ALONG[1]
        sd = float(land_map(values["length_mm"], _LANDS, max(values["land_sd_um"], 1e-9)).sd_um.max())
        budget = bed_budget(
            values["length_mm"],
            values["apart_mm"],
            edge_sd_um=sd if lands else 0.0,
            gauge="land gauges" if lands else "straightedge",
            sight_um=values["sight_um"],
            strip_mm=STRIP_MM,
        )
        known = "" if lands else ", without the uncertainty of the straightedge itself"
        leaves = (
            "as the land gauges determine them"
            if lands
            else ("the opposite of the straightedge that they were filed to")
        )
        return (
            f"After round {now.round}: {self._state(history, now, values)}, and across both ways the widest gap is "
            f"{self._spell(history.across_um[-1])}. Against ISO 1708: {in_both(limit, self.units)}. The ways are "
            f"{leaves}. From the gauges used, a way has an uncertainty of ± {self._spell(budget.straight.expanded_um)} "
            f"and the twist of ± {self._spell(budget.twist.expanded_um)} across (95 %){known}."
        )

    def _state(self, history: BedHistory, now: BedLook, values: dict) -> str:
        form = judge_bed(history.x_mm, now.height_um, values["apart_mm"])
        return (
            f"the front way is out of straight by {self._spell(form.straightness_um[0])}, the back way by "
            f"{self._spell(form.straightness_um[1])}, and the bed is twisted by "
            f"{style.spell_angle(form.twist_urad, self.units, '+')}"
        )

    def _spell(self, um: float) -> str:
        return style.spell(float(um), self.units)
