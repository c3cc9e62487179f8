"""What each choice at the bench costs: the same workshops over again, with the one choice changed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from simulate.bench.bending.moving_steel import FILE_N, HAND_N, Steel
from simulate.bench.bending.stress import Stock
from simulate.bench.cutting.rocking import SIDES, WAYS, lead
from simulate.bench.cutting.tools import Hands, Tool, tool_of
from simulate.bench.looking.sight import Sight
from simulate.core import checks
from simulate.method.planning.job import Job, blocks
from simulate.method.planning.plan import seed_of

LOOKS = ("laid down", "in the vice")
HOLDS = ("near the cut", "in its middle")
RESTS = ("not rested", "rested")
REST_H = 12.0
"""Hours that bars lie after each fit, where they are rested (common practice, no source)."""

OPTIONS = {"way": tuple(WAYS), "side": SIDES, "look": LOOKS, "held": HOLDS, "rest": RESTS}
"""What is chosen, and what there is to choose from."""

RANGE = (0.05, 0.5, 0.95)


@dataclass(frozen=True)
class Choices:
    """What a maker has chosen; each is one of its `OPTIONS`.

    Attributes
    ----------
    way, side : str
        How the file is led, and which of its sides cuts.
    look : str
        Where a pair is when it is looked at: in the vice, a hand steadies it and presses.
    held : str
        Where a bar is held while it is filed.
    rest : str
        Whether bars lie for a while after each fit.
    """

    way: str = OPTIONS["way"][0]
    side: str = SIDES[0]
    look: str = LOOKS[0]
    held: str = HOLDS[0]
    rest: str = RESTS[0]

    def __post_init__(self) -> None:
        """Refuse what cannot be chosen."""
        for name, options in OPTIONS.items():
            checks.choice(getattr(self, name), name, options)


@dataclass(frozen=True)
class ChoiceCost:
    """What one choice cost against another, all else alike.

    Attributes
    ----------
    name : str
        One of `OPTIONS`.
    worst_um, hours : ndarray, shape (3,)
        By how much the worst bar was further out, and the work longer, than with the other choice: 5, 50 and 95 % of
        the workshops. Below 0 where the choice saved. Hours in which bars rest and nobody works do not count.
    clear : (bool, bool)
        Whether so many more workshops were worse than better, or better than worse, that it is no chance (sign test,
        95 %): of the worst bar, of the hours.
    """

    name: str
    chosen: str
    instead: str
    worst_um: np.ndarray
    hours: np.ndarray
    clear: tuple[bool, bool]
    workshops: int


def choice_costs(  # noqa: PLR0913  (figures of one job, by their names)
    start_um: float,
    chosen: Choices = Choices(),
    *,
    names: Iterable[str] = tuple(OPTIONS),
    tool: str | Tool = "second-cut file",
    rough: str | Tool | None = "bastard file",
    stock: str | Stock = "hot rolled",
    rounds: int = 3,
    length_mm: float = 500.0,
    sight: Sight = Sight(),
    hands: Hands = Hands(),
    points: int = 51,
    bars: tuple[np.ndarray, np.ndarray] | None = None,
    workshops: int = 200,
    seed: int | None = 1,
) -> tuple[ChoiceCost, ...]:
    """Say what each choice costs in straightness and in hours, against every other option of it.

    Parameters
    ----------
    start_um : float
        How far each bar is out at the start.
    chosen : Choices
        What is changed, one choice at a time.
    names : iterable of str
        Which choices are changed.
    tool : str or Tool
        Takes its full depth in every pass, led as chosen.
    rough : str or Tool, optional
        What covers the distance in the first round, led as it is given; without it `tool` does.
    stock : str or Stock
        How the bars were made.
    rounds : int
        Of the loop of three.
    length_mm, sight, hands, points, bars : object
        As `plan_job`.
    workshops : int
    seed : int, optional

    Returns
    -------
    tuple of ChoiceCost
        In the order of `OPTIONS`.

    Raises
    ------
    Refusal
        Where a figure is out of its range, or there is no such choice.

    Notes
    -----
    Every option is tried by the same workshops: the same bars at the start, and hands that begin with the same chance.
    The differences are taken workshop by workshop. One choice at a time: it does not see choices that only matter
    together, and the hours rest on `PACES`. Bars settle where the tool is changed.

    Examples
    --------
    >>> led = choice_costs(60, names=["way"], rounds=2, workshops=20, points=41)
    >>> led[-1].instead, bool(led[-1].worst_um[1] > 0)
    ('draw-filing', True)
    """
    checks.kind(chosen, "chosen", Choices)
    start = checks.number(start_um, "start_um", 0, above=True)
    wanted = [checks.choice(name, "names", tuple(OPTIONS)) for name in names]
    rounds, seed = checks.whole(rounds, "rounds", 1), seed_of(seed)
    workshops = checks.whole(workshops, "workshops", 1)
    job = Job(length_mm, start, points, [], [], 0.5, sight, hands, 10.0, None, bars)

    def done(choices: Choices) -> tuple[np.ndarray, np.ndarray]:
        led = lead(tool, **WAYS[choices.way], side=choices.side)
        tools = [led if rough is None else tool_of(rough), *[led] * (rounds - 1)]
        one = replace(job, removal=[t.depth_um for t in tools], tools=tools, steel=steel_of(choices, stock))
        runs = list(blocks(one, workshops, seed))
        worst, hours = (np.concatenate([run[name][:, -1] for run in runs]) for name in ("worst", "hours"))
        return worst, hours

    mine, found = done(chosen), []
    for name in (name for name in OPTIONS if name in wanted):
        for other in (option for option in OPTIONS[name] if option != getattr(chosen, name)):
            theirs = done(replace(chosen, **{name: other}))
            more = [a - b for a, b in zip(mine, theirs)]
            worst, hours = (np.quantile(by, RANGE) for by in more)
            told = _is_clear(more[0]), _is_clear(more[1])
            found.append(ChoiceCost(name, getattr(chosen, name), other, worst, hours, told, workshops))
    return tuple(found)


def _is_clear(by: np.ndarray) -> bool:
    sign = np.sign(by)
    return bool(abs(sign.sum()) > 1.96 * np.sqrt(np.count_nonzero(sign)))


def steel_of(choices: Choices, stock: str | Stock | None) -> Steel:
    """How bars move where they are looked at, held and rested so.

    >>> steel_of(Choices(look="in the vice"), "hot rolled").hand_n
    20.0
    """
    return Steel(
        stock,
        rest_h=REST_H if choices.rest == RESTS[1] else 0.0,
        hand_n=HAND_N if choices.look == LOOKS[1] else 0.0,
        file_n=FILE_N if choices.held == HOLDS[1] else 0.0,
    )
