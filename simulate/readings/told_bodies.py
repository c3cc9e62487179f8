"""What a result of any kind says of each of its bodies, in one shape: what a reference is made from."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import scipy

from simulate.core.refusal import Refusal, a_kind_of
from simulate.readings.adjustment.bounds import wrong
from simulate.readings.adjustment.posterior import WIDER
from simulate.readings.bars.solve_bars import BarSolution
from simulate.readings.bed.bed_findings import SolvedBed
from simulate.readings.lands.solve_lands import SolvedLands
from simulate.readings.network.line_work import SolvedLines, spans
from simulate.readings.network.places import flat_rigid
from simulate.readings.network.solve_heights import SolvedHeights, told_by
from simulate.readings.plates.solve_plates import SolvedPlates
from simulate.readings.reference.dependence import Dependence
from simulate.readings.squares.solve_squares import SolvedSquares
from simulate.readings.survey.union_jack import UnionJack


@dataclass(frozen=True, kw_only=True)
class ToldBody:
    """One body of a result.

    `kind`: ``"bars"``, ``"plates"`` or ``"squares"``: heights along a line, over a face, or one angle. `at` (values,)
    of int: which values of the result are its own. `x_mm`, `y_mm` (values,). `free` (values, k): orthonormal; what is
    taken out of the heights of this body alone. `settled`: whether the result tells it.
    """

    kind: str
    at: np.ndarray
    x_mm: np.ndarray | None = None
    y_mm: np.ndarray | None = None
    free: np.ndarray = field(default_factory=lambda: np.zeros((0, 0)))
    settled: bool = True

    def bare(self, values: np.ndarray) -> np.ndarray:
        """Take its own line or plane out of values, shape (values, ...)."""
        return values - self.free @ (self.free.T @ values) if len(self.free) else values


@dataclass(frozen=True, kw_only=True)
class Told:
    """All bodies of a result.

    `value` (values,), `covariance` (values, values). `dof`: degrees of freedom of the spread of the result's own
    readings; 0 where it is known. `assumed`: whether nothing tells it, or the readings contradict each other. `low`,
    `high` (values,): guaranteed ends.
    """

    bodies: dict[str, ToldBody]
    value: np.ndarray
    covariance: np.ndarray
    dof: float
    assumed: bool
    depends: Dependence | None = None
    low: np.ndarray | None = None
    high: np.ndarray | None = None


def told_bodies(solution: object) -> Told:
    """Say what a result of any kind tells of each of its bodies."""
    if isinstance(solution, BarSolution | SolvedPlates | SolvedSquares):
        return _named(solution)
    if isinstance(solution, SolvedLands):
        return _lands(solution)
    if isinstance(solution, UnionJack):
        return _survey(solution)
    if isinstance(solution, SolvedLines | SolvedBed):
        return _network(solution)
    raise Refusal(
        "type",
        where="solution",
        found=a_kind_of(solution),
        must_be="what solve_bars, solve_plates, solve_squares, solve_lands, union_jack, solve_level, solve_edge or "
        "solve_bed give",
    )


def _named(solution: BarSolution | SolvedPlates | SolvedSquares) -> Told:
    if isinstance(solution, SolvedSquares):
        kind, value, places = "squares", solution.angle_urad[:, None], {}
        ends = solution.low_urad, solution.high_urad
    else:
        kind, value, places = "bars", solution.height_um, {"x_mm": solution.x_mm}
        ends = solution.low_um, solution.high_um
        if isinstance(solution, SolvedPlates):
            kind, places = "plates", {"x_mm": solution.x_mm, "y_mm": solution.y_mm}
    seen = np.isfinite(value)
    count = np.concatenate([[0], np.cumsum(seen.sum(axis=1))])
    wider = 1.0 if isinstance(solution, SolvedSquares) else solution.wider
    bodies = {
        name: ToldBody(
            kind=kind,
            at=np.arange(count[i], count[i + 1]),
            **{axis: place[seen[i]] for axis, place in places.items()},
        )
        for i, name in enumerate(solution.names)
    }
    low, high = (None if end is None else end.reshape(value.shape)[seen] for end in ends)
    return Told(
        bodies=bodies,
        value=value[seen],
        covariance=wider**2 * solution.covariance.reshape(seen.size, seen.size)[np.ix_(seen.ravel(), seen.ravel())],
        dof=_own_dof(solution),
        assumed=solution.sd_from == "assumed",
        depends=solution.depends,
        low=low,
        high=high,
    )


def _own_dof(solution: BarSolution | SolvedPlates | SolvedSquares) -> float:
    """What the spread of the result's own readings rests on: 0 where it is known."""
    if solution.depends is not None:
        return solution.depends.own_dof
    if solution.sd_from not in ("residuals", "resolution"):
        return 0.0
    if not isinstance(solution, SolvedSquares) and solution.wider != 1:
        return 0.0  # points among intervals: their ranges are stretched, and have no t
    return float(solution.dof if isinstance(solution, BarSolution) else solution.freedom)


def _lands(solution: SolvedLands) -> Told:
    net = solution.network
    seen = net.reached
    x = net.x_mm[seen]
    return Told(
        bodies={"the bar": ToldBody(kind="bars", at=np.arange(x.size), x_mm=x, free=_line(x))},
        value=np.asarray(net.height_um, float)[seen],
        covariance=net.covariance_um2[np.ix_(seen, seen)],
        dof=_dof(solution.factor_95),
        assumed=solution.sd_from == "assumed" or wrong(solution.against),
    )


def _survey(solution: UnionJack) -> Told:
    x, y = solution.x_mm, solution.y_mm
    bodies = {"the plate": ToldBody(kind="plates", at=np.arange(x.size), x_mm=x, y_mm=y, free=_plane(x, y))}
    return Told(
        bodies=bodies,
        value=solution.least_squares_height_um,
        covariance=solution.covariance,
        dof=_dof(solution.factor_95),
        assumed=solution.sd_from == "assumed",
    )


def _network(solution: SolvedLines | SolvedBed) -> Told:
    heights = solution.heights
    net = heights.network
    found: dict[str, tuple[np.ndarray, np.ndarray, np.ndarray | None]] = {}
    if isinstance(solution, SolvedBed):
        bodies = solution.bodies
        found = {bodies.named(k): (at, bodies.x_mm[at], None) for k, at in enumerate(bodies.places)}
    else:
        if spans(net.x_mm, net.y_mm):
            found["the plate"] = (np.arange(net.points), net.x_mm, net.y_mm)
        for name, at in solution.lines.items():
            found[f"line {name}"] = (at, np.hypot(net.x_mm[at] - net.x_mm[at[0]], net.y_mm[at] - net.y_mm[at[0]]), None)
    spare = heights.depends.own_dof if heights.depends else float(heights.freedom)
    found_from = {"residuals", "resolution"} & set(heights.spreads.source)
    return Told(
        bodies={name: _height_body(heights, *one) for name, one in found.items() if one[0].size > 2},
        value=heights.height_um,
        covariance=(WIDER if heights.by_intervals else 1.0) ** 2 * heights.covariance,
        dof=spare if found_from and not heights.by_intervals else 0.0,
        assumed=heights.sd_from == "assumed" or wrong(heights.against),
        depends=heights.depends,
    )


def _height_body(heights: SolvedHeights, at: np.ndarray, x: np.ndarray, y: np.ndarray | None) -> ToldBody:
    free = _line(x) if y is None else _plane(x, y)
    rows = np.zeros((at.size, heights.network.points))
    rows[np.arange(at.size), at] = 1.0
    rows -= free @ (free.T @ rows)
    settled = all(told_by(heights, row) for row in rows)
    return ToldBody(kind="bars" if y is None else "plates", at=at, x_mm=x, y_mm=y, free=free, settled=settled)


def _dof(factor_95: float) -> float:
    """Degrees of freedom at which Student's t has this factor; 0 where it is the normal one."""
    if factor_95 <= float(scipy.stats.norm.ppf(0.975)) + 1e-6:
        return 0.0
    return float(scipy.optimize.brentq(lambda dof: scipy.stats.t.ppf(0.975, dof) - factor_95, 0.5, 1e5))


def _line(x: np.ndarray) -> np.ndarray:
    return _plane(x, np.zeros(x.size))


def _plane(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return np.linalg.svd(flat_rigid(x, y), full_matrices=False)[0]
