"""Keeps the looks of a single workshop, in the order a maker would take them; of a long run one in so many."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np

from simulate.bench.seating.bar_seat import rest
from simulate.core.values import whole
from simulate.method.bars.bar_history import BarStep
from simulate.surface.straightness import straightness


@dataclass(frozen=True, kw_only=True)
class Recording:
    """How many looks of a run are kept, and how far it goes.

    `most_looks`: where there are more, one in 2, 4, 8 ... of each fit is kept, and its first and its last; every look
    where not given. The bounds of the fits stay even where they alone are more. `most_passes`: passes over all bars
    after which no further round is begun; all rounds where not given.

    >>> Recording(most_looks=1000).most_passes is None
    True
    """

    most_looks: int | None = None
    most_passes: int | None = None

    def __post_init__(self) -> None:
        """Refuse fewer than one."""
        for name in ("most_looks", "most_passes"):
            if getattr(self, name) is not None:
                whole(getattr(self, name), name, 1)


class _Look(NamedTuple):
    """What a fit shows, and how many bars went into the vice before in this fit."""

    last: bool
    number: int
    filed_before: int
    gap: np.ndarray
    ends: tuple[int, int]
    bars: list[np.ndarray]
    cuts: list[np.ndarray]


@dataclass
class _Fit:
    """A fit under way: how many looks, how many bars in the vice, and what is kept."""

    looks: int = 0
    filed: int = 0
    kept: list[_Look] = field(default_factory=list)


class Recorder:
    """Collects the looks of one run.

    `x_mm` (points,). `threshold_um`: gaps above this are seen.
    """

    def __init__(self, x_mm: np.ndarray, threshold_um: float, recording: Recording = Recording()) -> None:
        self._x, self._threshold, self._lid = x_mm, threshold_um, recording
        self._steps: list[tuple[_Look, BarStep]] = []
        self._fits: dict[int, _Fit] = {}
        self._passes = 0
        self.every, self.rounds = 1, 0

    def goes_on(self) -> bool:
        """Say whether another round is begun."""
        return self._lid.most_passes is None or self._passes < self._lid.most_passes

    def look(
        self,
        row: int,
        last: bool,
        gap: np.ndarray,
        ends: tuple[int, int],
        bars: list[np.ndarray],
        cuts: list[np.ndarray],
    ) -> None:
        """Take over one look of a fit under way.

        `row`: which of the fits that are filed together. `last`: whether the bars are left after it. `gap` (points,).
        `ends`: where the bars touch. `bars`, `cuts` (points,): heights of the lower and of the upper bar, and what the
        pass after this look takes from each.
        """
        fit = self._fits.setdefault(row, _Fit())
        look = _Look(last, fit.looks, fit.filed, gap, ends, bars, cuts)
        fit.looks += 1
        fit.filed += sum(bool(cut.any()) for cut in cuts)
        if self._stays(look):
            # Copies: a row would keep alive all rows of its pass.
            fit.kept.append(look._replace(gap=gap.copy(), bars=[b.copy() for b in bars], cuts=[c.copy() for c in cuts]))
            self._thin()

    def _stays(self, look: _Look) -> bool:
        return look.last or look.number % self.every == 0

    def _thin(self) -> None:
        """Where more is kept than may be, let every second look go."""
        held = len(self._steps) + sum(len(fit.kept) for fit in self._fits.values())
        if self._lid.most_looks is None or held <= self._lid.most_looks:
            return
        self.every *= 2
        self._steps = [(look, step) for look, step in self._steps if self._stays(look)]
        for fit in self._fits.values():
            fit.kept = [look for look in fit.kept if self._stays(look)]

    def add(self, heights: np.ndarray, round_: int, stage: str, pairs: list[tuple[int, int]]) -> None:
        """Close the fits of one stage.

        `heights` (bars, points): as the stage began. `pairs`: the bars of each row.
        """
        now, self.rounds = heights.copy(), round_
        for row, (lower, upper) in enumerate(pairs):
            fit = self._fits.pop(row)
            for look in fit.kept:
                now[lower], now[upper] = look.bars
                cut = np.zeros_like(now)
                cut[lower], cut[upper] = look.cuts
                filed = tuple(int(b) for b, c in zip((lower, upper), look.cuts) if c.any())
                step = BarStep(
                    round_,
                    stage,
                    int(lower),
                    int(upper),
                    filed,
                    now.copy(),
                    look.gap,
                    self._x[list(look.ends)],
                    False,
                    look.gap > self._threshold,
                    cut,
                    self._passes + look.filed_before,
                    np.empty(0),
                )
                self._steps.append((look._replace(gap=None, bars=[], cuts=[]), step))
            self._passes += fit.filed

    def steps(self) -> tuple[BarStep, ...]:
        """Give the record, with form and rocking found for all looks at once."""
        steps = [step for _, step in self._steps]
        if not steps:
            return ()
        form = straightness(self._x, np.stack([s.height_um for s in steps])).value_um
        rocks = rest(self._x, np.stack([s.height_um[s.lower] + s.height_um[s.upper] for s in steps])).rocks
        return tuple(replace(s, straightness_um=f, rocks=bool(k)) for s, f, k in zip(steps, form, rocks))
