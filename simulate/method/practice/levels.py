"""The three levels of the practice bench: lands, bars, plates; and a fresh bench of any of them."""

from __future__ import annotations

from simulate.core import checks
from simulate.method.planning.job import PACES
from simulate.method.practice import bars_level as practice_bars
from simulate.method.practice import lands_level as practice_lands
from simulate.method.practice import plates_level as practice_plates
from simulate.method.practice.state import RULES, Level, PracticeState

LEVELS = {level.name: level for level in (practice_lands.LEVEL, practice_bars.LEVEL, practice_plates.LEVEL)}
_LOOK_S = PACES["second-cut file"].look_s


def level_of(state: PracticeState) -> Level:
    """Give the level of a go.

    >>> level_of(start_practice()).body
    'bar'
    """
    return LEVELS[state.level]


def look_s(state: PracticeState) -> float:
    """What a look takes in seconds: of plates by their size, but under rules before 4."""
    own = level_of(state).look_s
    return _LOOK_S if own is None or state.rules < 4 else own(state.length_mm)


def start_practice(
    seed: int = 1,
    error_um: float | None = None,
    length_mm: float | None = None,
    level: str = "bars",
    rules: int = RULES,
) -> PracticeState:
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
