"""Squaring a bar: the order of its faces, and how the error of each step enters the next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from simulate.core import checks
from simulate.core.refusal import Refusal, a_kind_of

FACES = ("A", "B", "C", "D")
"""Round the bar: A the first face, B the edge beside it, C opposite A, D opposite B."""

PAIRS = (("A", "B"), ("B", "C"), ("C", "D"), ("D", "A"), ("A", "C"), ("B", "D"))
"""Four corners, then two pairs that should be parallel."""


@dataclass(frozen=True)
class Step:
    """One face made to another.

    `face`: the face that is worked. `against`: a face that is finished. `by`: ``"square"`` for a neighbour,
    ``"micrometer"`` for the opposite face.
    """

    face: str
    against: str
    by: str


ORDERS = {
    "parallel pairs": (Step("C", "A", "micrometer"), Step("B", "A", "square"), Step("D", "B", "micrometer")),
    "all squared from A": (Step("B", "A", "square"), Step("D", "A", "square"), Step("C", "A", "micrometer")),
    "round the corners": (Step("B", "A", "square"), Step("C", "B", "square"), Step("D", "C", "square")),
}
"""Three orders that are met in shops; A is made flat first in each of them."""


@dataclass(frozen=True)
class Squared:
    """How the faces of a bar stand to each other.

    Attributes
    ----------
    pairs : tuple of str
        As in `PAIRS`: ``"A-B"`` and so on.
    of_square : numpy.ndarray, shape (6,)
        How many times the square's own error is in each pair; a corner that is too wide is positive.
    chance_urad : numpy.ndarray, shape (6,)
        Standard deviation that looks, micrometers and faces bring, without the square.
    sd_urad : numpy.ndarray, shape (6,)
        With the square's standard uncertainty.
    covariance : numpy.ndarray, shape (4, 4)
        Of the four faces, in urad squared, A held.
    worst : str
        The pair that is least sure.
    """

    pairs: tuple[str, ...]
    of_square: np.ndarray
    chance_urad: np.ndarray
    sd_urad: np.ndarray
    covariance: np.ndarray
    worst: str
    sentence: str

    @property
    def square_in_worst(self) -> str:
        """What part of the square's own error is in the worst pair, in words."""
        times = abs(self.of_square[self.pairs.index(self.worst)]).round(9)
        part = {0: "none of the error", 1: "the error", 2: "twice the error"}
        return f"{part.get(times, f'{times:g} times the error')} of the square"


def square_up(
    steps: Sequence[Step],
    *,
    square_urad: float = 30.0,
    look_urad: float = 10.0,
    micrometer_urad: float = 15.0,
    stand_urad: float = 5.0,
) -> Squared:
    """Carry the errors of each step through an order of faces.

    Parameters
    ----------
    steps : sequence of Step
        After the first face A, which is taken as the datum.
    square_urad : float
        Standard uncertainty of the square's own angle: the same in each use.
    look_urad : float
        Standard deviation of one look under the square: fresh in each use.
    micrometer_urad : float
        Standard deviation of one making parallel: fresh in each use.
    stand_urad : float
        How a tool stands on a face that is not quite flat: the same each time that face is stood on.

    Returns
    -------
    Squared
        What it cannot see: twist along the bar, and a micrometer whose faces are not parallel.

    Raises
    ------
    ValueError
        Where a face is made twice or not at all, is made against one that is not there yet, or a tool does not
        fit the pair.

    Notes
    -----
    Derived. The square makes each corner wide by its own error, whichever side it comes from; so two edges
    squared from one face are out of parallel by twice that error, and three corners leave the fourth narrow by
    three times, for the angles of four sides add up to a full turn.

    Examples
    --------
    >>> print(square_up(ORDERS["all squared from A"]).sentence)
    The least certain is B-D: 62 µrad, with twice the error of the square in it.
    """
    sds = [
        checks.number(square_urad, "square_urad", 0),
        *[checks.number(look_urad, "look_urad", 0)] * 4,
        *[checks.number(micrometer_urad, "micrometer_urad", 0)] * 4,
        *[checks.number(stand_urad, "stand_urad", 0)] * 4,
    ]
    gain = _gains(steps)
    pair = np.array([_relation(gain, *p) for p in PAIRS])
    spread = pair * np.array(sds)
    chance, sd = np.sqrt((spread[:, 1:] ** 2).sum(axis=1)), np.sqrt((spread**2).sum(axis=1))
    names = tuple("-".join(p) for p in PAIRS)
    worst = int(np.argmax(sd))
    found = Squared(
        names,
        pair[:, 0],
        chance,
        sd,
        (gain * np.array(sds) ** 2) @ gain.T,
        names[worst],
        "",
    )
    least = f"The least certain is {names[worst]}: {sd[worst]:.0f} µrad"
    return replace(found, sentence=f"{least}, with {found.square_in_worst} in it.")


def made_faces(steps: Sequence[Step], square_urad: float) -> np.ndarray:
    """Give the directions of the faces that a square of known error makes, with nothing else wrong.

    `square_urad`: positive is a square that is too wide. Returns (4,): how far each face is turned, A being 0; positive
    goes the way round from A to B.

    >>> made_faces(ORDERS["round the corners"], 10.0)
    array([  0., -10., -20., -30.])
    """
    return _gains(steps)[:, 0] * checks.number(square_urad, "square_urad")


def square_from_last_corner(gap_urad: float, corners: int = 3) -> float:
    """Find a square's own error from the corner that nobody made.

    Parameters
    ----------
    gap_urad : float
        What the square shows on the last corner, positive where the corner is too narrow for it.
    corners : int
        How many corners were made round the bar with it.

    Returns
    -------
    float
        Positive is a square that is too wide.

    Raises
    ------
    ValueError
        Where no corner was made.

    Notes
    -----
    Derived: the made corners are each wide by the error, so the last is narrow by as many times, and the
    square, wide itself, shows one more.

    Examples
    --------
    >>> square_from_last_corner(120.0)
    30.0
    """
    return checks.number(gap_urad, "gap_urad") / (checks.whole(corners, "corners", 1, 3) + 1)


def _gains(steps: Sequence[Step]) -> np.ndarray:
    """Rows: faces. Columns: the square; a look, a micrometer and a stand for each face."""
    checks.kind(steps, "steps", (tuple, list))
    gain, made = np.zeros((4, 13)), ["A"]
    for number, step in enumerate(steps):
        if not isinstance(step, Step):
            raise Refusal("type", where=f"steps[{number}]", found=a_kind_of(step), must_be="a Step")
        face, against = (
            FACES.index(checks.choice(name, f"steps[{number}]", FACES)) for name in (step.face, step.against)
        )
        checks.choice(step.by, f"by of steps[{number}]", ("square", "micrometer"))
        if step.face in made or step.against not in made:
            why = "is made already" if step.face in made else f"is made against {step.against}, which is not there yet"
            raise Refusal(
                "act",
                where=f"steps[{number}]",
                found=f"face {step.face}, which {why}",
                must_be="a face that is not made yet, against a finished one",
            )
        apart = (face - against) % 4
        if (apart == 2) != (step.by == "micrometer"):
            raise Refusal(
                "act",
                where=f"steps[{number}]",
                found=f"by {step.by} from {step.against} to {step.face}",
                must_be="by square for neighbours and by micrometer for opposite faces",
            )
        gain[face] = gain[against]
        gain[face, 9 + against] += 1
        if step.by == "square":
            sign = -1.0 if apart == 1 else 1.0
            gain[face, 0] += sign
            gain[face, 1 + face] += sign
        else:
            gain[face, 5 + face] += 1
        made.append(step.face)
    missing = [name for name in FACES if name not in made]
    if missing:
        raise Refusal(
            "count",
            where="steps",
            found=f"nothing that makes face {missing[0]}",
            must_be="a step for each of B, C and D",
        )
    return gain


def _relation(gain: np.ndarray, first: str, second: str) -> np.ndarray:
    """Corner angle, or parallelism, of a pair; a wide corner is positive."""
    a, b = FACES.index(first), FACES.index(second)
    return gain[a] - gain[b]
