"""References in a set of equations: what is known of them stands in, and what is not known of them is an unknown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from simulate.core.refusal import Refusal, a_kind_of
from simulate.readings.adjustment.bounds import Bounds, interval_bounds
from simulate.readings.adjustment.equations import NO_ROW, Equations
from simulate.readings.reference.known import Known, Source, merged

_RANK = 1e-7


@dataclass(frozen=True, kw_only=True)
class Laid:
    """Errors of references that readings feel, as unknowns of standard deviation 1.

    Attributes
    ----------
    lay : numpy.ndarray, shape (columns, errors)
        Orthonormal; error = lay.T @ z, z being the independent errors of all `sources`.
    mixed : int
        How many places of references are mixed from their neighbours.
    """

    references: tuple[Known, ...]
    lay: np.ndarray
    sources: tuple[Source, ...]
    mixed: int = 0


@dataclass(frozen=True, kw_only=True)
class Hold(Laid):
    """Unknowns of all bodies, where some bodies are known: ``shift + turn @ unknowns``.

    Attributes
    ----------
    shift : numpy.ndarray, shape (all,)
        Where the references stand at what is known of them, and all else at zero.
    turn : numpy.ndarray, shape (all, free + errors)
        The free unknowns come first, then the errors of the references, each of standard deviation 1.
    size : numpy.ndarray, shape (errors,)
        What each error does to the references, root mean square, in the unit of the values.
    """

    shift: np.ndarray
    turn: np.ndarray
    size: np.ndarray

    @property
    def free(self) -> int:
        """How many unknowns are not errors of references."""
        return self.turn.shape[1] - self.size.size

    def errors(self, columns: int) -> np.ndarray:
        """Pick the errors out of as many unknowns, shape (errors, columns)."""
        rows = np.zeros((self.size.size, columns))
        rows[np.arange(self.size.size), self.free + np.arange(self.size.size)] = 1.0
        return rows

    def rows(self, columns: int) -> np.ndarray:
        """Return the equations size * error = 0, each good to `size`, in a table of as many unknowns."""
        return self.size[:, None] * self.errors(columns)

    @property
    def guaranteed(self) -> bool:
        """Whether every reference has guaranteed ends."""
        return all(one.low is not None and one.high is not None for one in self.references)


def chosen(known: Sequence[Known], names: Sequence[str], every: Sequence[str], kind: str, where: str) -> list[Known]:
    """Give the references that stand in these readings, in the order of their names.

    `names`: bodies of the round that is solved. `every`: bodies of the whole file.
    """
    for one in known:
        if not isinstance(one, Known):
            raise Refusal(
                "type",
                where="known",
                found=a_kind_of(one),
                must_be="what known_from or from_certificate give",
            )
        if one.kind != kind:
            raise Refusal(
                "choice",
                where=one.name,
                found=f"known from {one.kind}",
                must_be=f"known from {kind}, as these readings are",
            )
        if one.name not in every:
            raise Refusal(
                "choice", where="known", found=one.name, must_be=f"one of the bodies of {where}: {', '.join(every)}"
            )
    mine = [one for name in names for one in known if one.name == name]
    if len({one.name for one in known}) < len(known):
        raise Refusal("choice", where="known", found="given twice for one body", must_be="given once for each")
    if known and len(mine) == len(names):
        raise Refusal(
            "count",
            where=where,
            found="no body that is not known already",
            must_be="at least one",
            do="Leave out what is known of the body that was worked on since",
        )
    return mine


def hold(size: int, blocks: Sequence[tuple[Known, np.ndarray, np.ndarray]]) -> Hold | None:
    """Put references into the unknowns of all bodies.

    `size`: how many unknowns there are with all bodies free. `blocks`: which unknowns each reference has, and ``mix @
    value`` as what they are. Returns: none where no body is known.

    The errors of all references that these unknowns feel are as many as the rank of their stacked roots; the singular
    vectors are taken as unknowns, independent of each other.
    """
    if not blocks:
        return None
    sources, roots = merged([one for one, _, _ in blocks])
    shift, at = np.zeros(size), np.concatenate([index for _, index, _ in blocks])
    shift[at] = np.concatenate([mix @ one.value for one, _, mix in blocks])
    u, s, vt = np.linalg.svd(
        np.vstack([mix @ root for (_, _, mix), root in zip(blocks, roots, strict=True)]), full_matrices=False
    )
    firm = s > _RANK * max(float(s[0]) if s.size else 0.0, 1e-300)
    left = np.setdiff1d(np.arange(size), at)
    turn = np.zeros((size, left.size + int(firm.sum())))
    turn[left, np.arange(left.size)] = 1.0
    turn[at, left.size :] = u[:, firm] * s[firm]
    return Hold(
        references=tuple(one for one, _, _ in blocks),
        shift=shift,
        turn=turn,
        size=s[firm] / np.sqrt(at.size),
        lay=vt[firm].T,
        sources=sources,
    )


def felt(root: np.ndarray) -> np.ndarray:
    """Give the combinations of errors that readings feel, orthonormal.

    `root` (readings, columns): what each error does to each reading. Returns (columns, errors).

    >>> np.abs(felt(np.array([[3.0, 4.0], [6.0, 8.0]]))).round(6).tolist()
    [[0.6], [0.8]]
    """
    _, s, vt = np.linalg.svd(root, full_matrices=False)
    return vt[s > _RANK * max(float(s[0]) if s.size else 0.0, 1e-300)].T


def with_references(equations: Equations, held: Hold | None) -> Equations:
    """Add to equations what is known of the references: each error is zero within its deviation.

    Returns: their row is `NO_ROW`.
    """
    if held is None or not held.size.size:
        return equations
    count = held.size.size
    name = " and ".join(one.name for one in held.references) + ", as known"
    return replace(
        equations,
        design=np.vstack([equations.design, held.rows(equations.design.shape[1])]),
        reading=np.concatenate([equations.reading, np.zeros(count)]),
        sd=np.concatenate([equations.sd, held.size]),
        group=np.concatenate([equations.group, np.full(count, len(equations.groups))]),
        groups=(*equations.groups, name),
        row=np.concatenate([equations.row, np.full(count, NO_ROW)]),
    )


def agreeing(held: Hold, design: np.ndarray, low: np.ndarray, high: np.ndarray, rows: np.ndarray) -> Bounds:
    """Look whether intervals agree with each other and with the references, each error within four deviations.

    `design` (readings, unknowns). `rows` (errors, unknowns): where the errors stand among the unknowns. Returns:
    without ends: what is known of a reference is likely, and guarantees nothing.
    """
    ends = (np.concatenate([end, way * 4 * held.size]) for end, way in ((low, -1), (high, 1)))
    found = interval_bounds(np.vstack([design, rows]), *ends, np.zeros((0, design.shape[1])))
    return replace(found, conflict_rows=tuple(row for row in found.conflict_rows if row < len(design)))
