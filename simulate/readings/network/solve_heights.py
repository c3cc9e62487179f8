"""Heights from readings of any kind: values with ranges, what stays unseen, and what is certain by intervals alone."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from simulate.core.spaces import canonical_basis, symmetric_root
from simulate.readings.adjustment.bounds import Bounds, Contradiction, gaps_against, interval_bounds, wrong
from simulate.readings.adjustment.equations import Equations, Solved, solve
from simulate.readings.adjustment.least_squares import MOST_BOUNDS
from simulate.readings.adjustment.ranges import half_range, with_whole
from simulate.readings.adjustment.repeatability import coarse, least_of_points, rounding_sd
from simulate.readings.adjustment.whole_band import DRAWS
from simulate.readings.network.heights import Network
from simulate.readings.network.left_open import left_by_intervals
from simulate.readings.network.places import OFF_LINE
from simulate.readings.network.spreads import Spreads, equations_of, row_sd, spreads_of
from simulate.readings.reference.dependence import Dependence, dependence, told
from simulate.readings.reference.known import Source

_HIDDEN, _COUNTS = 1e-8, 1e-3


@dataclass(frozen=True, kw_only=True)
class SolvedHeights:
    """What readings say of heights.

    `height_um`, `sd_um` (points,): with what moves all as one, and what nothing shows, taken out. `covariance` (points,
    points). `low_95_um`, `high_95_um` (points,): of each height by itself; None where the spread of a reading is only
    assumed, or readings contradict each other by more than feel explains. `low_whole_um`, `high_whole_um` (points,): a
    band that holds all heights at once 95 times in 100. `draws_um` (draws, points): errors that the readings may have
    put on the heights. `hidden` (k, points): orthonormal; what no reading shows, beyond moving all as one. `open` (k,
    points): orthonormal; what no reading with both its ends shows, with what is hidden. `residual` (readings,): reading
    less what the heights make of it, in its own unit; nan where a side is open. `freedom`: readings to spare.
    `by_intervals`: whether a stated prior takes part, since some readings are intervals. `bounds`: of the heights, by
    the intervals alone; None where there are none, too many heights, or a contradiction. `against`: intervals that
    contradict each other, and whether feel explains it. `depends`: what the heights owe to bodies that were known
    already. `feel_um`: how far an interval's end was taken to be off. `thinned`, `coarse_seats`: true where intervals
    left too much to weigh every case, or to draw where each edge rests (``Posterior``). `rests_on` (sources, points,
    points): what each instrument's readings put into the covariance, then what each source of what is known beforehand
    does; None by intervals. `dof` (sources,): degrees of freedom that the spread of each rests on; inf where it is
    known.
    """

    network: Network
    height_um: np.ndarray
    sd_um: np.ndarray
    covariance: np.ndarray
    low_95_um: np.ndarray | None
    high_95_um: np.ndarray | None
    low_whole_um: np.ndarray | None
    high_whole_um: np.ndarray | None
    draws_um: np.ndarray
    hidden: np.ndarray
    open: np.ndarray
    residual: np.ndarray
    spreads: Spreads
    freedom: int
    by_intervals: bool
    bounds: Bounds | None
    feel_um: float
    equations: Equations
    solved: Solved
    rests_on: np.ndarray | None = None
    dof: np.ndarray | None = None
    thinned: bool = False
    coarse_seats: bool = False
    against: Contradiction | None = None
    depends: Dependence | None = None

    @property
    def sd_from(self) -> str:
        """Where the spread of a reading comes from, the least firm of all instruments."""
        return self.spreads.overall

    @property
    def coarse(self) -> bool:
        """Whether rounding is most of the scatter of an instrument."""
        tools = zip(self.network.instruments, self.spreads.sd, self.spreads.source)
        return any(coarse(sd, source, tool.resolution) for tool, sd, source in tools)

    @property
    def factor_95(self) -> float:
        """Half the range of the usual height over its standard deviation; inf where nothing tells it."""
        if self.low_95_um is None or self.high_95_um is None:
            return float("inf")
        firm = self.sd_um > 1e-9
        half = (self.high_95_um - self.low_95_um)[firm] / 2
        return float(np.median(half / self.sd_um[firm])) if firm.any() else 1.96


@dataclass(frozen=True, kw_only=True)
class OnHeights:
    """What follows from heights, with what it has from them."""

    heights: SolvedHeights

    @property
    def factor_95(self) -> float:
        """Half the range of the usual height over its standard deviation."""
        return self.heights.factor_95

    @property
    def depends(self) -> Dependence | None:
        """What the heights owe to bodies that were known already."""
        return self.heights.depends


def solve_heights(
    network: Network,
    feel_um: float | None = None,
    place_mm: float | None = None,
    bounds: bool = True,
) -> SolvedHeights:
    """Work heights out of a network of readings.

    `feel_um`, `place_mm`: of blades: one standard deviation of the gap at which one is felt to go, and of where it went
    in. `bounds`: whether to bound the heights by the intervals alone. Returns: what it cannot see: what all readings
    share, and what lies between the places.

    Points alone are weighed by least squares, with the spread of each instrument from what the readings leave over
    (`spreads_of`) and Student's t. With intervals among them the heights are what `left_by_intervals` leaves.
    """
    placed, network = network.design[:, : network.points], without_rigid(network)
    spreads = spreads_of(network)
    sd = np.array(spreads.sd)
    hidden = unseen(network, sd)
    datum = datum_of(network, hidden)
    equations = equations_of(network, sd, datum, spreads.overall)
    least, rounding = _least(network, spreads, placed)
    equations = replace(equations, sd=np.maximum(equations.sd, least), rounding=rounding)
    solved = solve(equations)
    common = {"network": network, "hidden": hidden, "spreads": spreads, "freedom": solved.dof, "solved": solved}
    ranged = ~network.point_reading
    if not ranged.any():
        return _with_words(_by_points(common, equations, datum))
    wanted = datum if bounds and len(datum) <= MOST_BOUNDS and network.laid is None else datum[:0]
    held = _bounded(network, ranged, wanted)
    left = left_by_intervals(network, spreads, datum, held.conflict_um, feel_um, place_mm)
    read = network.row[ranged], network.design[ranged], (network.low[ranged], network.high[ranged]), left.slope[ranged]
    at_known = np.broadcast_to(network.at_known, ranged.shape)[ranged]
    against = gaps_against(held, *read, (feel_um, place_mm), at_known, network.errors if network.laid else None)
    depends = None if network.laid is None else dependence(network.laid, *left.of_errors)
    unsure = spreads.overall == "assumed" or wrong(against) or (depends is not None and depends.assumed)
    of = left.of_heights
    errors = of.draws - of.mean
    ranges = with_whole(of.mean[None], of.low_95[None], of.high_95[None], errors[:, None])
    found = SolvedHeights(
        **common,
        equations=replace(equations, against=against),
        open=hidden if np.isfinite(network.width).all() else unseen(network, sd, closed=True),
        height_um=of.mean,
        sd_um=of.sd,
        covariance=of.covariance,
        **_ends(None if unsure else ranges),
        draws_um=errors,
        residual=network.middle - left.reading,
        by_intervals=True,
        bounds=held if held.low_um is not None and len(wanted) else None,
        feel_um=left.feel_um,
        thinned=of.thinned,
        coarse_seats=of.coarse_seats,
        against=against,
        depends=depends,
    )
    return _with_words(found, bounds)


def _with_words(found: SolvedHeights, bounds: bool = False) -> SolvedHeights:
    """Say what heights owe to bodies that were known already."""
    network = found.network
    if network.laid is None or found.depends is None:
        return found
    sd = np.full((len(network.bodies), network.points), np.nan)
    sd[network.body, np.arange(network.points)] = found.sd_um
    words = told(network.laid, found.depends, network.bodies, sd, found.factor_95, bounds_out=bounds)
    return replace(found, depends=words)


def _bounded(network: Network, told: np.ndarray, wanted: np.ndarray) -> Bounds:
    """Bound heights by intervals alone; of known bodies four deviations, which guarantee nothing."""
    low, high = (end[told] for end in network.ends)
    if network.laid is None:
        return interval_bounds(network.design[told], low, high, wanted)
    errors = network.errors
    most = np.full(len(errors), 4.0)
    both = np.concatenate([low, -most]), np.concatenate([high, most])
    found = interval_bounds(np.vstack([network.design[told], errors]), *both, wanted)
    return replace(found, conflict_rows=tuple(row for row in found.conflict_rows if row < told.sum()))


def without_rigid(network: Network) -> Network:
    """Let what moves all as one move no reading at all, where it moves none but by the rounding of places.

    Places of a line that are written to 0.1 mm do not lie on it exactly. Taken as they stand they would tell a plane,
    ten thousand times worse than a reading is good to, and use up what the readings have to spare. What a level with
    one zero for all lines does tell of a plane stays.
    """
    left, size, _ = np.linalg.svd(network.rigid, full_matrices=False)
    left = left[:, size > 1e-9 * size.max(initial=1e-300)]
    heights, others = network.design[:, : network.points], network.design[:, network.points :]
    moved = heights @ left
    rest = moved - others @ (np.linalg.pinv(others) @ moved) if others.size else moved
    _, size, way = np.linalg.svd(rest, full_matrices=False)
    none = left @ way[size <= OFF_LINE * np.linalg.norm(heights, axis=0).max(initial=0.0)].T
    design = np.hstack([heights - (heights @ none) @ none.T, others])
    return replace(network, design=design)


def datum_of(network: Network, hidden: np.ndarray) -> np.ndarray:
    """Take out what moves all as one, and what nothing shows.

    Returns (points, unknowns).
    """
    loose = np.hstack([network.rigid, hidden.T])
    left, size, _ = np.linalg.svd(loose, full_matrices=False)
    left = left[:, size > 1e-9 * max(size.max(initial=0.0), 1e-300)]
    datum = np.zeros((network.points, network.design.shape[1]))
    datum[:, : network.points] = np.eye(network.points) - left @ left.T
    return datum


def unseen(network: Network, sd: np.ndarray, closed: bool = False) -> np.ndarray:
    """Find what moves no reading, beyond moving all as one.

    `closed`: whether readings that are open on one side count for nothing. Returns (k, points): orthonormal and
    canonical.
    """
    weigh = np.where(np.isfinite(row := row_sd(network, sd)), row, np.inf if closed else 1.0)
    weighed = np.vstack([network.design / weigh[:, None], network.errors])
    size = np.linalg.norm(weighed, axis=0)
    size[size == 0] = 1.0
    _, s, vt = np.linalg.svd(weighed / size, full_matrices=True)
    firm = np.zeros(len(vt), bool)
    firm[: s.size] = s > _HIDDEN * s[0]
    loose = vt[~firm]
    of_heights = np.linalg.norm(loose[:, : network.points], axis=1) > _HIDDEN  # what moves zeros alone is no shape
    loose = (loose[of_heights] / size)[:, : network.points].T
    if not loose.size:
        return np.zeros((0, network.points))
    loose = loose / np.maximum(np.linalg.norm(loose, axis=0), 1e-300)
    rigid = network.rigid
    loose = loose - rigid @ (np.linalg.pinv(rigid) @ loose)
    left, size, _ = np.linalg.svd(loose, full_matrices=False)
    return canonical_basis(left[:, size > 1e-6].T)


def _least(network: Network, spreads: Spreads, placed: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Least deviation of each row: of an instrument whose spread was found, that of figures alike, and of one figure.

    `placed` (readings, points): as the places were read, before what moves all as one is taken out.
    """
    least, rounding = np.zeros((2, len(network.row) + len(network.errors)))
    for k, tool in enumerate(network.instruments):
        mine = network.point_reading & (network.instrument == k)
        least[: mine.size] += least_of_points(placed, network.middle, mine, spreads.source[k], tool.resolution)
        rounding[: mine.size][mine] = rounding_sd(spreads.source[k], tool.resolution)
    return least, rounding


def _by_points(common: dict, equations: Equations, datum: np.ndarray) -> SolvedHeights:
    network, spreads, solved = common["network"], common["spreads"], common["solved"]
    used = solved.used
    weighted = equations.design[used] / equations.sd[used, None]
    gain = datum @ (solved.cofactor @ weighted.T)
    right = equations.reading[used] / equations.sd[used]
    height, covariance = gain @ right, gain @ gain.T
    unknown = solved.cofactor @ (weighted.T @ right)
    depends = _depends(network, gain, solved.cofactor @ weighted.T, right, spreads, solved.dof)
    source, dof = _sources(network, used), _dof_of(spreads, () if network.laid is None else network.laid.sources)
    share = np.stack([gain[:, source == k] @ gain[:, source == k].T for k in range(dof.size)])
    errors = _drawn(share, dof)
    sd = np.sqrt(np.clip(np.diag(covariance), 0, None))
    ranges = None
    if spreads.overall != "assumed" and not (depends and depends.assumed):
        half = half_range(np.einsum("kii->ki", share), dof)
        ranges = with_whole(height[None], (height - half)[None], (height + half)[None], errors[:, None])
    return SolvedHeights(
        **common,
        equations=equations,
        open=common["hidden"],
        height_um=height,
        sd_um=sd,
        covariance=covariance,
        **_ends(ranges),
        draws_um=errors,
        residual=network.middle - network.at_known - network.design @ unknown,
        by_intervals=False,
        bounds=None,
        feel_um=0.0,
        rests_on=share,
        dof=dof,
        depends=depends,
    )


def _depends(
    network: Network, gain: np.ndarray, every: np.ndarray, right: np.ndarray, spreads: Spreads, spare: int
) -> Dependence | None:
    """What heights owe to known bodies; `gain` and `every` give heights and all unknowns from weighed readings."""
    if network.laid is None:
        return None
    mine = network.errors @ every
    own = float(spare) if {"residuals", "resolution"} & set(spreads.source) else 0.0
    return dependence(network.laid, gain @ mine.T, mine @ right, mine @ mine.T, own)


def _sources(network: Network, used: np.ndarray) -> np.ndarray:
    """Number where each reading's error comes from: its instrument, and behind those what is known beforehand."""
    tools = len(network.instruments)
    source = np.append(network.instrument, np.full(len(network.errors), tools))
    if network.laid is not None:
        column = np.abs(network.laid.lay).argmax(axis=0)
        ends = np.cumsum([one.columns for one in network.laid.sources])
        source[len(network.instrument) :] = tools + np.searchsorted(ends, column, side="right")
    return source[used]


def _dof_of(spreads: Spreads, known: tuple[Source, ...]) -> np.ndarray:
    """Give the degrees of freedom of each instrument, then of each source of what is known beforehand."""
    found = [
        freedom if how in ("residuals", "resolution") else np.inf
        for freedom, how in zip(spreads.dof, spreads.source, strict=True)
    ]
    return np.array([*found, *([one.dof or np.inf for one in known] or [np.inf])], float)


def _drawn(share: np.ndarray, dof: np.ndarray, seed: int = 1) -> np.ndarray:
    """Draw errors of all heights, each source's spread as uncertain as what it was found from leaves it."""
    rng = np.random.default_rng(seed)
    total = np.zeros((DRAWS, share.shape[1]))
    for mine, freedom in zip(share, dof, strict=True):
        draws = rng.standard_normal((DRAWS, len(mine))) @ symmetric_root(mine)
        if np.isfinite(freedom):
            draws = draws / np.sqrt(rng.chisquare(freedom, (DRAWS, 1)) / freedom)
        total += draws
    return total


def _ends(ranges) -> dict:
    names = ("low_95", "high_95", "low_whole", "high_whole")
    return {f"{name}_um": None if ranges is None else getattr(ranges, name)[0] for name in names}


def told_by(solved: SolvedHeights, weights: np.ndarray) -> bool:
    """Say whether the readings tell a combination of heights: nothing that is hidden moves it."""
    return _still(solved.hidden, weights)


def open_ended(solved: SolvedHeights, weights: np.ndarray) -> bool:
    """Say whether a combination of heights leans on readings that are open on one side."""
    return not _still(solved.open, weights)


def _still(shapes: np.ndarray, weights: np.ndarray) -> bool:
    size = float(np.linalg.norm(weights))
    return not len(shapes) or size == 0 or float(np.abs(shapes @ weights).max()) <= 1e-6 * size


def parts_of(solved: SolvedHeights, weights: np.ndarray) -> np.ndarray:
    """Give what each source puts into the variance of a combination of heights, by points."""
    return np.einsum("i,kij,j->k", weights, solved.rests_on, weights)


def firm(solved: SolvedHeights, weights: np.ndarray) -> bool:
    """Say whether the spread behind a combination of heights is known, and not assumed, and no reading is wrong."""
    if wrong(solved.against) or (solved.depends is not None and solved.depends.assumed):
        return False
    if solved.spreads.overall != "assumed":
        return True
    if solved.rests_on is None:
        return False
    parts = parts_of(solved, weights)
    assumed = np.flatnonzero([one == "assumed" for one in solved.spreads.source])
    return float(parts[assumed].sum()) <= _COUNTS * max(float(parts.sum()), 1e-300)
