"""What an error does that all readings have in common: how far it moves the result, and how little is noticed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core.number_format import three
from simulate.readings.adjustment.consistency import Consistency
from simulate.readings.adjustment.equations import Equations, Solved


@dataclass(frozen=True)
class SharedError:
    """What one pattern of errors in the readings does.

    `value` (values,): what it puts on each value. `noticed`: part of the pattern that is left in the residuals, 0 to 1:
    0 means that nothing shows it.
    """

    value: np.ndarray
    noticed: float


def shared_error(equations: Equations, solved: Solved, pattern: np.ndarray) -> SharedError:
    """Put a pattern of errors on all readings and see what becomes of it.

    `pattern` (readings,): what is known of references, behind the readings, has no part in it.

    >>> from simulate.readings.adjustment.equations import solve
    >>> twice = Equations(np.ones((2, 1)), np.zeros(2), np.ones(2), np.zeros(2, int), ("fit",), np.array([2, 3]),
    ...                   np.eye(1), "given")
    >>> found = shared_error(twice, solve(twice), np.ones(2))
    >>> found.value.round(6).tolist(), round(found.noticed, 6)
    ([1.0], 0.0)
    """
    whole = np.zeros(equations.sd.size)
    whole[: pattern.size] = pattern
    right = whole[solved.used] / equations.sd[solved.used]
    weighted = equations.design[solved.used] / equations.sd[solved.used, None]
    left = right - solved.reach @ (solved.reach.T @ right)
    size = float(np.linalg.norm(right))
    return SharedError(
        equations.datum @ (solved.cofactor @ (weighted.T @ right)),
        float(np.linalg.norm(left)) / size if size else 0.0,
    )


def notice(noticed: float) -> str:
    """Return in words how much of an error is left in the residuals.

    >>> notice(0.0)
    'and no reading would reveal it'
    """
    if noticed < 0.01:
        return "and no reading would reveal it"
    return f"and {'only ' * (noticed < 0.5)}{100 * noticed:.0f} % of it is left in the residuals"


def blunders(found: Consistency, unit: str = "um") -> list[str]:
    """Say what blunders could hide in."""
    said = []
    rows = found.unchecked_rows
    if rows and found.dof:
        listed = ", ".join(map(str, rows[:8])) + (f" and {len(rows) - 8} more" if len(rows) > 8 else "")
        many = "s" * (len(rows) != 1)
        said.append(
            f"Nothing checks the reading{many} of row{many} {listed}: a mistake of any size there would go unnoticed."
        )
    elif rows:
        said.append("No reading checks another: a blunder of any size goes straight into the result.")
    if found.hides_up_to is not None:
        said.append(
            f"A single reading may be wrong by up to {three(found.hides_up_to)} {unit} before the others give it away."
        )
    return said
