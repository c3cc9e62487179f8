"""The three levels of the practice bench: lands, bars, plates; and a fresh bench of any of them."""

from __future__ import annotations

from simulate.method import practice_bars, practice_lands, practice_plates
from simulate.method.practice_state import RULES, Level, PracticeState
from simulate.surface import checks

LEVELS = {level.name: level for level in (practice_lands.LEVEL, practice_bars.LEVEL, practice_plates.LEVEL)}


def level_of(state: PracticeState) -> Level:
    """Give the level of a go.

    Parameters
    ----------
    state : PracticeState

    Returns
    -------
    Level

    Examples
    --------
    >>> level_of(start_practice()).body
    'bar'
    """
    return LEVELS[state.level]


def start_practice(seed: int = 1, error_um: float | None = None, length_mm: float | None = None, level: str = "bars",
                   rules: int = RULES) -> PracticeState:
    """Put three hidden bodies on the bench.

    Parameters
    ----------
    seed : int
        Which: the same number gives everybody the same.
    error_um : float, optional
        How far each of them is out; the level's usual error without it.
    length_mm : float, optional
        Of a gauge or a bar, or the side of a plate.
    level : str
        ``"lands"``, ``"bars"`` or ``"plates"``.
    rules : int
        1 for a go that was begun before a file's belly counted.

    Returns
    -------
    PracticeState

    Raises
    ------
    ValueError
        Where a figure is out of its range.

    Examples
    --------
    >>> start_practice(3).height_um.shape, start_practice(3, level="plates").height_um.shape
    ((3, 101), (3, 31, 31))
    """
    kind = LEVELS[checks.choice(level, "level", tuple(LEVELS))]
    seed = checks.whole(seed, "seed", 0, 10**9)
    error = checks.number(kind.usual[0] if error_um is None else error_um, "error_um", *kind.error_um)
    length = checks.number(kind.usual[1] if length_mm is None else length_mm, "length_mm", *kind.length_mm)
    rules = checks.whole(rules, "rules", 1, RULES)
    x, height = kind.start(seed, error, length)
    return PracticeState(seed, length, error, x, height, turned=kind.turns[0], level=level, rules=rules)
