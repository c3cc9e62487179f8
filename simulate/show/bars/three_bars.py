"""Three bars: the loop that makes a straightedge from nothing."""

from __future__ import annotations

from time import monotonic
from typing import NamedTuple

import numpy as np
from matplotlib.axes import Axes

from simulate.bench.bending.moving_steel import STEELS
from simulate.bench.cutting.rocking import SIDES, WAYS
from simulate.method.bars.bar_history import BarHistory
from simulate.method.bars.floor_table import WorstBar, worst_bar
from simulate.show.bars.law_picture import GHOSTS, Ghost, LawPicture, worst_by_round
from simulate.show.bars.run_panel import RunPanel
from simulate.show.drawing import style
from simulate.show.drawing.run_sentences import settled_words, three_bar_words

_HOW = {"skill": "an average hand", "way": "along the bar", "side": SIDES[0], "steel": next(iter(STEELS))}


LOOKED_AT_S = 1.5
"""A run that stood shorter was only passed on the way of a slider."""


class _Past(NamedTuple):
    values: dict
    worst_um: np.ndarray
    since: float


def names_apart(pasts: list[dict], now: dict, units: str) -> list[str]:
    """Name earlier runs by what set each apart from the present one, and from each other.

    `pasts`: their settings, no two alike and none as now.

    >>> now = {"share": 0.5, "sight_um": 2.5}
    >>> names_apart([{"share": 0.6, "sight_um": 5.0}, {"share": 0.6, "sight_um": 2.5}], now, "mm")
    ['eye 5.0 µm', 'share 0.60']
    """
    said = {
        "share": lambda v: f"share {v:.2f}",
        "sight_um": lambda v: f"eye {style.spell(v, units)}",
        "removal_um": lambda v: f"pass {style.spell(v, units)}",
        "error_um": lambda v: f"out {style.spell(v, units)}",
        "rounds": lambda v: f"{v} rounds",
    }
    apart = [
        [said.get(name, str)(past[name]) for name in dict.fromkeys((*said, *past)) if past.get(name) != now.get(name)]
        for past in pasts
    ]
    names: dict[int, str] = {}
    for k in sorted(range(len(pasts)), key=lambda k: len(apart[k])):  # those with the fewest ways to be named first
        free = [words for words in apart[k] if words not in names.values()]
        names[k] = free[0] if free else ", ".join(apart[k])
    return [names[k] for k in range(len(pasts))]


class ThreeBarsPanel(RunPanel):
    """Three bars round the loop, look by look.

    Parameters
    ----------
    length_mm : float
    seed : int
        Which three bars: every student may have an own one.
    error_um : float
        How far each bar is out at the start, 20 to 1000.
    removal_um : float
        Metal a pass takes, 2 to 40.
    share : float
        Share of the split's metal that the first of the two bars gives up, 0 to 1.
    sight_um : float
        The smallest gap that the eye sees, 0.5 to 50.
    tool : str
    rounds : int
        1 to 8.
    units : str, optional
        ``"mm"`` or ``"inch"``.
    dpi : int
        160 for a projector.
    **how : str
        `skill`, whose hands, a name in `SKILLS`; `way`, how the file is led, a name in `WAYS`; `side` of the file, one
        of `SIDES`; `steel`, how the bars move, a name in `STEELS`.

    Examples
    --------
    >>> panel = ThreeBarsPanel(rounds=1)
    >>> panel.sentence.startswith("Round 1, fitting bar 2 to bar 1")
    True
    """

    beside = ("past",)

    def __init__(
        self,
        length_mm: float = 500,
        seed: int = 1,
        error_um: float = 300,
        removal_um: float = 10,
        share: float = 0.5,
        sight_um: float = 2.5,
        tool: str = "second-cut file",
        rounds: int = 4,
        units: str | None = None,
        dpi: int = 100,
        **how: str,
    ) -> None:
        if not how.keys() <= _HOW.keys():
            raise TypeError(f"ThreeBarsPanel also takes {', '.join(_HOW)}, but not {', '.join(how)}")
        self.past: list[_Past] = self._carried.get("past", [])
        self._before: _Past | None = None
        first = {"error_um": error_um, "removal_um": removal_um, "share": share, "sight_um": sight_um, "tool": tool}
        super().__init__(3, length_mm, seed, units, dpi, **first, rounds=rounds, **(_HOW | how))

    def _curve_paper(self, axes: Axes) -> LawPicture:
        return LawPicture(self.canvas, axes, self.units)

    def _frame_curve(self, values: dict) -> None:
        """Draw the run by rounds; the run before stays as a ghost where it stood long enough to be looked at."""
        now, before = monotonic(), self._before
        if before is not None and now - before.since >= LOOKED_AT_S:
            self.past = [before, *(past for past in self.past if past.values != before.values)][:GHOSTS]
        self._before = _Past(values, worst_by_round(self.history), now)
        ends = self._ends(values)
        others = [past for past in self.past if past.values != values]
        names = names_apart([past.values for past in others], values, self.units)
        ghosts = [Ghost(name, past.worst_um) for name, past in zip(names, others)]
        self.curve.frame(self.history, values["share"], (ends.half_um, ends.most_um), ghosts)

    def _ends(self, values: dict) -> WorstBar:
        given = {name: values[name] for name in ("removal_um", "sight_um", "tool", "skill")}
        return worst_bar(**given, **WAYS[values["way"]], side=values["side"], steel=STEELS[values["steel"]])

    def words(self, history: BarHistory, place: int, values: dict) -> str:
        """Say what the picture shows."""
        said = three_bar_words(history, place, values["share"], self._ends(values), self.units)
        last = place == len(history.steps) - 1
        return said + settled_words(history, self.units) * (last and STEELS[values["steel"]].moves)
