"""The practice bench as it stands: three hidden bodies, how they lie, the acts so far, and what a level is."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import numpy as np

from simulate.bench.bending.moving_steel import Steel
from simulate.bench.cutting.scrape_marks import MEMORY, Scraped
from simulate.bench.looking.sight import Seen, Sight
from simulate.bench.looking.spotting import Print
from simulate.bench.seating.pushed_bar import Hinge
from simulate.core.refusal import Refusal

BODIES = 3
RULES = 5
"""The rules by which new goes are played: since 2 a file's belly keeps short cuts shallow and wide, since 3
hands rock by an angle, since 4 plates print their scraper marks, a marking takes as long as their
size asks, and bars move when they are cut, held and pressed, since 5 both bars of a pair that is looked at in the vice
bend, looks between passes count the laying down too, and the side of a file is chosen."""
MOST_STROKES, MOST_PASSES = 300, 30


@dataclass(frozen=True)
class Act:
    """One thing that the learner did.

    Attributes
    ----------
    kind : str
        ``"lay"``, ``"look"``, ``"file"``, ``"touch"``, ``"rest"`` or ``"stop"``.
    given : dict
        What was chosen, by the names that the function of that kind takes.
    """

    kind: str
    given: Mapping = field(default_factory=dict)


@dataclass(frozen=True)
class Answer:
    """What a look gave back; nothing else of the bodies is known.

    Attributes
    ----------
    x_mm : ndarray, shape (places,)
        Where it was looked at: everywhere, or at the feeler's stations; the columns of a print on a plate.
    rocks : bool
        Felt by a light push at either end, or at a corner.
    glow : ndarray of int, shape (places,), or None
        How the light looked, as `simulate.bench.looking.light` names it.
    y_mm : ndarray or None
        On plates, where `x_mm` has no second place by itself.
    met : ndarray of bool or None
        On plates, where the one lay over the other.
    film_um : float or None
        How thick the marking was spread.
    print : Print or None
        On plates, the marks themselves; None under rules before 4.
    hinge : Hinge or None
        On bars, about which place the upper one turned when its right end was pushed.
    """

    kind: str
    x_mm: np.ndarray
    seen: Seen
    rocks: bool
    glow: np.ndarray | None = None
    y_mm: np.ndarray | None = None
    met: np.ndarray | None = None
    film_um: float | None = None
    print: Print | None = None
    hinge: Hinge | None = None


@dataclass(frozen=True)
class Tally:
    """What the acts so far have cost.

    Attributes
    ----------
    looks : int
        Those within a stretch of passes among them.
    strokes, cuts : tuple of int
        On each body; a cut is one filing or one pass.
    seconds : float
        By the pace of `planning.PACES`.
    rested_h : float
        Hours in which the bodies lay and nobody worked.
    """

    looks: int = 0
    strokes: tuple[int, ...] = (0,) * BODIES
    cuts: tuple[int, ...] = (0,) * BODIES
    seconds: float = 0.0
    rested_h: float = 0.0


@dataclass(frozen=True)
class PracticeState:
    """The bench after some acts.

    Attributes
    ----------
    x_mm : ndarray, shape (points,)
        Along each side of a plate alike.
    height_um : ndarray, shape (3, points) or (3, points, points)
        True heights, which the learner does not see before the stop.
    lower, upper : int
        The body below and the body in the vice, which is laid on it face down.
    turned : bool or int
        Whether the upper one lies end for end; on plates 0, 90, 180 or 270 degrees.
    press_mm : float or None
        Where a finger presses; None for its own weight.
    slide : str
        On plates, how the upper one is slid: a name of `practice_plates.SLIDES`.
    answer : Answer or None
        The last look, as long as nothing has been moved or filed since.
    level : str
        ``"lands"``, ``"bars"`` or ``"plates"``.
    rules : int
        A go that was begun under older rules is played on under them.
    scraped : tuple of tuple of Scraped
        On plates, the last passes of the scraper over each.
    to_come_um : tuple of float
        How far each body will still bow by what was cut from it.
    bowed_um : tuple of float
        How far each has bowed by that so far, which `height_um` holds.
    """

    seed: int
    length_mm: float
    error_um: float
    x_mm: np.ndarray
    height_um: np.ndarray
    lower: int = 0
    upper: int = 1
    turned: bool | int = False
    press_mm: float | None = None
    slide: str = "none"
    acts: tuple[Act, ...] = ()
    answer: Answer | None = None
    stopped: bool = False
    level: str = "bars"
    rules: int = RULES
    tally: Tally = Tally()
    scraped: tuple[tuple[Scraped, ...], ...] = ((),) * BODIES
    to_come_um: tuple[float, ...] = (0.0,) * BODIES
    bowed_um: tuple[float, ...] = (0.0,) * BODIES


@dataclass(frozen=True)
class Cut:
    """What a tool did to the body in the vice.

    `seconds`: of all the strokes. `lower_um`: the gauge, where metal was taken from both. `scraped`: on plates, the
    passes over the upper and the lower one.
    """

    height_um: np.ndarray
    strokes: int
    passes: int
    looks: int
    seconds: float
    lower_um: np.ndarray | None = None
    scraped: tuple[tuple[Scraped, ...], ...] = ((), ())


def do_cut(cut: Callable, state: PracticeState, given: Mapping, rng: np.random.Generator) -> tuple[dict, Cut]:
    """Do a cut after checking that it is given what it takes; an error from within it stays what it is."""
    takes = inspect.signature(cut)
    try:
        takes.bind(state, **given, rng=rng)
    except TypeError:
        raise Refusal(
            "act",
            where=f"{cut.__name__.lstrip('_')} at the level {state.level}",
            found=f"given {', '.join(map(str, given)) or 'nothing'}",
            must_be=f"given {', '.join(name for name in takes.parameters if name not in ('state', 'rng'))}",
        ) from None
    return cut(state, **given, rng=rng)


@dataclass(frozen=True)
class Level:
    """All that differs between lands, bars and plates; the acts are the same.

    `body`: what one of the three is called. `usual`: error in µm and length in mm of a go that asks for nothing else.
    `error_um`, `length_mm`: the least and the most. `aim_um`: where a good maker with these tools stops. `laid`: what
    else a lay chooses. `file`, `touch`: a cut at a place that the learner names, and passes at what a look shows.
    `form`: how far bodies are out. `steel`: how the bodies move; None where they are taken as stiff and at rest.
    `look_s`: what a look takes by the size of the bodies; None where it is the same for all.
    """

    name: str
    body: str
    usual: tuple[float, float]
    error_um: tuple[float, float]
    length_mm: tuple[float, float]
    aim_um: float
    turns: tuple
    sights: Mapping[str, Sight]
    start: Callable
    laid: Callable
    look: Callable
    file: Callable
    touch: Callable
    form: Callable
    metal_mm3: Callable
    hidden: Callable
    steel: Steel | None = None
    look_s: Callable | None = None


def counted(tally: Tally, bodies: tuple[int, ...], cut: Cut, look_s: float) -> Tally:
    """Add a cut to the tally.

    `bodies`: those that were cut; they share the strokes. `look_s`: what one look costs.

    >>> counted(Tally(), (1,), Cut(np.zeros(3), 20, 1, 0, 24.0), 120.0).strokes
    (0, 20, 0)
    """
    part = cut.strokes // len(bodies)
    strokes = tuple(n + (part if i in bodies else 0) for i, n in enumerate(tally.strokes))
    cuts = tuple(n + (cut.passes if i in bodies else 0) for i, n in enumerate(tally.cuts))
    seconds = tally.seconds + cut.seconds + cut.looks * look_s
    return replace(tally, looks=tally.looks + cut.looks, strokes=strokes, cuts=cuts, seconds=seconds)


def marks_kept(state: PracticeState, cut: Cut) -> tuple[tuple[Scraped, ...], ...]:
    """Put the passes of a cut to those that the faces still show.

    >>> state = PracticeState(1, 500, 200, np.zeros(2), np.zeros((3, 2)))
    >>> len(marks_kept(state, Cut(np.zeros(2), 1, 1, 0, 1.0, scraped=((Scraped(np.zeros((2, 2)), 5.0, (1,)),), ())))[1])
    1
    """
    kept = list(state.scraped)
    for plate, passes in zip((state.upper, state.lower), cut.scraped):
        kept[plate] = (*kept[plate], *passes)[-MEMORY:]
    return tuple(kept)


def frozen(**names: Sight) -> Mapping[str, Sight]:
    """Give ways of looking that nobody changes.

    `**names`: underscores stand for spaces.

    >>> list(frozen(marking_compound=Sight("marking compound", 2.0)))
    ['marking compound']
    """
    return MappingProxyType({name.replace("_", " "): sight for name, sight in names.items()})
