"""The law of the split, round by round: what each round left, what |2s - 1| says on paper, and the runs before."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, NullFormatter

from simulate.method.bars.bar_history import BarHistory
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Room, Words

LEAST_UM, MOST_UM = 1.0, 2500.0
GHOSTS, _ROUNDS = 3, 8
_MARKS = (("v", "#4D4D4D"), ("D", "#6B6B6B"), ("p", "#858585"))


class Ghost(NamedTuple):
    """An earlier run: what set it apart, and its worst bar after each round in µm."""

    words: str
    worst_um: np.ndarray


def worst_by_round(history: BarHistory) -> np.ndarray:
    """Give how far the worst bar is out at the start and after each round, in µm.

    Returns (rounds + 1,).
    """
    return history.straightness_um.max(axis=-1)


def on_paper(start_um: float, share: float, rounds: int) -> np.ndarray:
    """Give what |2s - 1| leaves of an error, with no floor.

    Returns
    -------
    ndarray, shape (rounds + 1,)

    Examples
    --------
    >>> on_paper(500.0, 0.6, 3).round(6).tolist()
    [500.0, 100.0, 20.0, 4.0]
    """
    return start_um * abs(2 * share - 1) ** np.arange(rounds + 1)


def along_rounds(history: BarHistory) -> np.ndarray:
    """Say where each look of a run lies on an axis of rounds done.

    Returns (looks,).
    """
    rounds = np.array([step.round for step in history.steps])
    first, count = np.searchsorted(rounds, rounds), np.bincount(rounds)[rounds]
    return rounds - 1 + (np.arange(rounds.size) - first) / count


def _beside(ends: np.ndarray, words: Words) -> np.ndarray:
    """Give places for words beside a line, the nearest to its middle first.

    `ends` (2, 2): of the line, in dots. Returns (places, 2).
    """
    wide, tall = words.size()
    part = np.array([0.5, 0.4, 0.6, 0.3, 0.7, 0.15, 0.85])[:, None, None]
    away = np.array([(x, s * y) for y in (0.8, 1.3, 2.0, 3.0) for x in (-wide / 2, 6, -wide - 6) for s in (1, -1)])
    on = ends[0] + part * (ends[1] - ends[0])
    return (on + away * (1, tall)).reshape(-1, 2)


class LawPicture:
    """Draws a run of three bars by rounds; everything that moves stays an artist."""

    def __init__(self, canvas: Canvas, axes: Axes, units: str = "mm") -> None:
        self.canvas, self.axes, self.units = canvas, axes, units
        self._ends = 0
        slow, moving = canvas.slow, canvas.moving
        axes.set_yscale("log")
        axes.set_ylim(*(style.small(um, units) for um in (LEAST_UM, MOST_UM)))
        axes.yaxis.set_major_formatter(FuncFormatter(lambda v, _: f"{v:g}"))
        axes.yaxis.set_minor_formatter(NullFormatter())
        unit = style.small_unit(units)
        axes.set_title(f"The worst bar, by rounds ({unit}, log scale)", loc="left", fontsize=style.BODY)
        axes.set_xlabel("rounds done (thin: each bar)")
        axes.grid(axis="y", color="#DDDDDD", lw=0.8)
        self._zone = slow(axes.axhspan(1, 2, facecolor=style.STEEL, lw=0, zorder=0))
        self._half = slow(axes.axhline(1, color="#555555", lw=1.2, zorder=1))
        self._bars = [slow(axes.plot([], [], line, color=c, lw=0.8, alpha=0.4)[0]) for c, line, _ in style.LINES]
        self._ghosts = [slow(axes.plot([], [], f"{m}-", color=c, lw=1, ms=6)[0]) for m, c in _MARKS]
        self._ghost_words = [slow(Words(axes, style.SMALL, colour=c)) for _, c in _MARKS]
        self._paper = slow(axes.plot([], [], ":", color=style.ORANGE, lw=2.5, zorder=3)[0])
        self._paper_words = slow(Words(axes, style.SMALL, colour=style.letters(style.ORANGE)))
        self._worst = slow(axes.plot([], [], "o-", color=style.BLACK, lw=2.5, ms=8, zorder=4)[0])
        self._ratios = [slow(Words(axes, style.SMALL)) for _ in range(_ROUNDS)]
        self._zone_words = slow(Words(axes, style.SMALL, va="bottom"))
        self._zone_words.set_text("floor: nine of ten\nworkshops end in\nthe grey, half\nbelow the line")
        self._leads = [slow(axes.plot([], [], color="#777777", lw=1, clip_on=False)[0]) for _ in range(GHOSTS + 1)]
        self._cursor = moving(axes.axvline(0, color="#555555", lw=1.5, zorder=2))
        self._now = [moving(axes.plot([], [], m, color=c, ms=10, mec="white", zorder=5)[0]) for c, _, m in style.LINES]

    def frame(self, history: BarHistory, share: float, floor_um: tuple[float, float], ghosts: list[Ghost]) -> None:
        """Take over a run.

        `floor_um`: within which half, and nine of ten, of all workshops end. `ghosts`: runs before this one, the latest
        first; at most `GHOSTS`.
        """
        worst = worst_by_round(history)
        rounds = worst.size - 1
        if max(rounds, 4) != self._ends:
            self._ends = max(rounds, 4)
            self.axes.set_xlim(-0.15, self._ends + 0.15)
            self.axes.set_xticks(range(self._ends + 1), ["start", *map(str, range(1, self._ends + 1))])
            self.canvas.invalidate()
        half, most = (style.small(um, self.units) for um in floor_um)
        low = self.axes.get_ylim()[0]
        self._zone.set_y(low)
        self._zone.set_height(most - low)
        self._half.set_ydata([half, half])
        along = along_rounds(history)
        for line, out in zip(self._bars, np.array([s.straightness_um for s in history.steps]).T):
            line.set_data(along, self._shown(out))
        paper = on_paper(worst[0], share, self._ends)
        self._paper.set_data(np.arange(paper.size), self._shown(paper))
        self._worst.set_data(np.arange(worst.size), self._shown(worst))
        for ghost, line in zip([*ghosts, *[None] * GHOSTS], self._ghosts):
            line.set_data(
                *(([], []) if ghost is None else (np.arange(ghost.worst_um.size), self._shown(ghost.worst_um)))
            )
        self._write_ratios(worst)
        self._name(paper, share, ghosts)
        self.canvas.renew()

    def _shown(self, um: np.ndarray) -> np.ndarray:
        return style.small(np.maximum(um, 0.9 * LEAST_UM), self.units)

    def _write_ratios(self, worst: np.ndarray) -> None:
        """Write on each round what it left of the error before, where the words cover no curve."""
        looks = [self.axes.transData.transform(line.get_xydata()) for line in self._bars]
        room = Room(self.axes, [self._worst, self._paper, self._half, *self._ghosts], np.concatenate(looks))
        self._zone_words.put_clear(self._zone_places(), room)
        self._keep_cursor_off()
        for k, words in enumerate(self._ratios):
            words.set_text(f"×{worst[k + 1] / max(worst[k], 1e-9):.2f}" if k < worst.size - 1 else "")
            if k < worst.size - 1:
                ends = self.axes.transData.transform(np.column_stack([(k, k + 1), self._shown(worst[k : k + 2])]))
                words.put_clear(_beside(ends, words), room)

    def _keep_cursor_off(self) -> None:
        """End the line of the step where the words of the floor stand: it would run through them."""
        low, high = self.axes.transAxes.inverted().transform(self._zone_words.box().reshape(2, 2))[:, 1]
        self._cursor.set_ydata([0, low] if low > 0.5 else [high, 1])

    def _zone_places(self) -> np.ndarray:
        """Give places for the words of the floor: along the foot of the picture, and along its head."""
        x = np.arange(-0.1, self._ends - 1.5, 0.2)
        foot, head = (self.axes.transAxes.transform((0, y))[1] for y in (0.01, 0.77))
        at = self.axes.transData.transform(np.column_stack([x, np.ones_like(x)]))[:, 0]
        return np.array([(dot, y) for y in (foot, head) for dot in at])

    def _name(self, paper: np.ndarray, share: float, ghosts: list[Ghost]) -> None:
        """Put names at the ends of lines, pushed apart where they would meet."""
        law = abs(2 * share - 1)
        ends = [(float(self._shown(paper[-1])), f"paper ×{law:.2f}", self._paper_words)]
        for ghost, words in zip(ghosts, self._ghost_words):
            ends.append((float(self._shown(ghost.worst_um[: self._ends + 1][-1])), ghost.words, words))
        for artist in (*self._ghost_words, *self._leads):
            artist.set_text("") if isinstance(artist, Words) else artist.set_data([], [])
        low, high = np.log(self.axes.get_ylim())
        at, wide = -1.0, self._ends + 0.3
        for lead, (value, name, words) in zip(self._leads, sorted(ends, key=lambda end: end[0])):
            at = max((np.log(value) - low) / (high - low), at + 0.052, 0.012)
            y = float(np.exp(low + at * (high - low)))
            words.set_text(name)
            words.set_position((self._ends + 0.075 * wide, y))
            lead.set_data([self._ends + 0.02 * wide, self._ends + 0.065 * wide], [value, y])

    def show(self, history: BarHistory, position: int) -> None:
        """Move the cursor to one look."""
        x = along_rounds(history)[position]
        self._cursor.set_xdata([x, x])
        for mark, value in zip(self._now, self._shown(history.steps[position].straightness_um)):
            mark.set_data([x], [value])
