"""A bar's points from readings of gauges with three lands, and whether they came out as foretold."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import scipy

from simulate.core import checks
from simulate.core.number_format import three, two
from simulate.core.refusal import Refusal
from simulate.method.lands.design_matrix import reading_rows, row_of
from simulate.method.lands.land_fit import Fit, snapped
from simulate.method.lands.levelling import Network, solve_network
from simulate.readings.adjustment.bounds import Bounds, Contradiction, contradiction, wrong
from simulate.readings.adjustment.end_errors import FEEL_WEIGHT, FEELS_UM
from simulate.readings.adjustment.observations import given_sd, given_step, needs
from simulate.readings.adjustment.repeatability import Resolution, repeatability, resolution_of
from simulate.readings.lands.land_intervals import (
    MOST_BOUNDED,
    bounds_of_points,
    bounds_sentence,
    fits_and_columns,
    spread_of_points,
    weighed,
)
from simulate.readings.lands.land_posterior import ends_alone, with_ranges
from simulate.readings.table.readings import Readings
from simulate.readings.table.size_limit import refuse_too_many


@dataclass(frozen=True)
class SolvedLands:
    """Heights of the points of a bar, and their uncertainty.

    `network`: points, heights, deviations and covariance. `residual_um` (readings,): reading (middle of an interval)
    less what the solved points give; beyond an interval that is open on one side, by how much they fall short of it.
    `reading_sd_um`: of one reading; for intervals the root mean square of width / sqrt(12). `round`: which round was
    solved. `factor_95`: height plus or minus this many sd holds the truth 95 times in 100. `sd_from`: ``"given"``,
    ``"residuals"``, ``"resolution"`` (the readings agree better than they are written), ``"intervals"`` or
    ``"assumed"``. `middle_um`, `row_sd_um` (readings,): what each row weighed in with; the deviation is inf where it
    did not. `low_um`, `high_um` (points,): guaranteed ends of each height by the intervals, widened by `margin_um`; inf
    where nothing holds it; None where no intervals were read, or where they contradict each other. `conflict`: a
    sentence where they do. `low_95_um`, `high_95_um` (points,): each height by itself lies between them, 95 %; nan
    where a point is not reached, None where the spread of a reading is only assumed. `whole_low_95_um`,
    `whole_high_95_um` (points,): a band that holds all points at once, 95 %. `against`: intervals that contradict each
    other, and whether feel explains it. `margin_um`: by so much the ends of intervals were widened before heights were
    bounded: feel stays within it for all readings at once, 95 times in 100. `resolution`: smallest step of the point
    readings. `open_mm`: points of which only readings that are open on one side speak.
    `draws_um` (draws, points): errors that the readings may have put on the heights; 0 where a point is not reached.
    """

    network: Network
    residual_um: np.ndarray
    reading_sd_um: float
    round: int
    sentence: str
    factor_95: float = 1.96
    sd_from: str = "given"
    middle_um: np.ndarray | None = None
    row_sd_um: np.ndarray | None = None
    low_um: np.ndarray | None = None
    high_um: np.ndarray | None = None
    conflict: str = ""
    low_95_um: np.ndarray | None = None
    high_95_um: np.ndarray | None = None
    whole_low_95_um: np.ndarray | None = None
    whole_high_95_um: np.ndarray | None = None
    against: Contradiction | None = None
    margin_um: float = 0.0
    resolution: Resolution | None = None
    open_mm: tuple[float, ...] = ()
    draws_um: np.ndarray | None = None

    @property
    def left_open(self) -> tuple[str, ...]:
        """Points that readings open on one side leave open."""
        return tuple(f"{x:g} mm" for x in self.open_mm)


@dataclass(frozen=True)
class Foretold:
    """Measured points against a prediction.

    `x_mm` (points,): points that both have. `height_um`, `foretold_sd_um` (points,): the deviation holds the bar's and
    the readings' own. `probability`: how often a bar that is as good as foretold comes out no better than this.
    `verdict`: what that probability means, in a few words.
    """

    x_mm: np.ndarray
    height_um: np.ndarray
    foretold_sd_um: np.ndarray
    probability: float
    sentence: str
    verdict: str = ""


def solve_lands(
    table: Readings,
    reading_sd_um: float | None = None,
    *,
    zero_sd_um: dict | None = None,
    round: int | None = None,
    feel_um: float | None = None,
    resolution_um: float | None = None,
) -> SolvedLands:
    """Find the height of each point of a bar over the line of its two outermost points.

    Where intervals were read, the estimate and its 95 % range are those of the posterior of a stated prior
    (``land_posterior``). A point that only readings open on one side speak of is bounded, and not estimated.

    `table`: what `read_readings` gives for ``gauge, left_mm, middle_mm, right_mm, proud_um``, or with
    ``proud_at_least_um, proud_at_most_um``. `reading_sd_um`: standard deviation of one reading. Without it, it is found
    from the residuals where readings are more than needed, those of the points alone where intervals stand among them;
    otherwise it is taken as 1 um and `sentence` says so. `zero_sd_um`: gauge name to how well its zero is known; a
    gauge not named has none. `round`: which round; the last one by default. `feel_um`: one standard deviation of the
    end of an interval; found under a stated prior where it is not given. `resolution_um`: smallest step of the point
    readings; the step that the figures show where it is not given. Returns: what it cannot see: a zero error that all
    gauges share looks like a bow of the bar. Guaranteed bounds take every gauge for straight that `zero_sd_um` does not
    name.

    >>> from simulate.readings.table.read import read_readings
    >>> text = b"gauge,left_mm,middle_mm,right_mm,proud_um\\nlong,0,200,400,6\\nsmall,0,100,200,-1\\n"
    >>> solve_lands(read_readings(text)).network.height_um.tolist()
    [0.0, 2.0, 6.0, 0.0]
    """
    needs(table, "lands")
    given = given_sd(reading_sd_um, "reading_sd_um")
    rounds = sorted(set(table.round.tolist()))
    number = rounds[-1] if round is None else checks.choice(round, "round", tuple(rounds))
    part = table.rows(table.round == number)
    points = np.unique(snapped(np.concatenate([part.left_mm, part.position_mm, part.right_mm]))).size
    refuse_too_many(part, points, f"{points} points under {len(set(part.lower.tolist()))} gauges")
    ends = [part.left_mm.min(), part.right_mm.max()]
    step_um = given_step(resolution_um)
    point = part.proud_um[~part.is_interval]
    step = resolution_of(point, step_um, part.last_digit) if point.size else None
    sd, source, over = (given, "given", 0) if given is not None else _from_residuals(part, zero_sd_um, ends, step)
    middle, row_sd = weighed(part, sd, step) if source in ("residuals", "resolution") else weighed(part, given)
    weigh = np.isfinite(row_sd)
    whole = _network(part, middle, np.where(weigh, row_sd, 1.0), zero_sd_um, ends)
    if whole.reached.sum() < 3:
        raise Refusal(
            "unsettled",
            where=table.source,
            found=f"no point between the ends is fixed ({whole.words[0].lower()}{whole.words[1:-1]})",
            must_be="one or more that are fixed to both ends",
            do="Lay a gauge that bridges them as well",
        )
    found = (
        whole if weigh.all() else _network(part, middle, row_sd, zero_sd_um, ends) if weigh.any() else ends_alone(whole)
    )
    if source == "assumed" and part.is_interval[weigh].any() and found.reached.all() and not zero_sd_um:
        point, over = spread_of_points(part.rows(weigh), found, middle[weigh], row_sd[weigh])
        if over:
            sd, source = repeatability(over * point**2, over, step)
            row_sd = np.where(part.is_interval, row_sd, weighed(part, sd, step)[1])
            found = _network(part, middle, row_sd, zero_sd_um, ends)
    intervals = part.is_interval.any() and len(found.x_mm) <= MOST_BOUNDED
    sharp, against, margin = Bounds(None, None), None, 0.0
    bounds = sharp
    if intervals:
        sharp = bounds_of_points(part, whole, zero_sd_um or {})
        against = _against(part, whole, sharp, feel_um, zero_sd_um or {})
        margin = felt_margin(int(part.is_interval.sum()), feel_um)
        wider = replace(part, low_um=part.low_um - margin, high_um=part.high_um + margin)
        if not wrong(against):
            bounds = bounds_of_points(wider, whole, zero_sd_um or {}) if margin else sharp
    surely = _surely(part, whole, bounds, margin) if bounds.low_um is not None else against.sentence if against else ""
    spread = _usual(np.where(part.is_interval, row_sd, sd)[weigh])
    factor = float(scipy.stats.t.ppf(0.975, over) if over else scipy.stats.norm.ppf(0.975))
    found, ends_95, draws, remarks = with_ranges(
        part, found, row_sd, source, factor, over, feel_um, sharp.conflict_um, zero_sd_um or {}
    )
    open_ = tuple(float(v) for v in whole.x_mm[whole.reached & ~found.reached])
    return SolvedLands(
        found,
        _residual(part, found, middle, weigh),
        spread,
        number,
        " ".join([_sentence(found, spread, source, surely, open_), *remarks]),
        factor,
        source,
        middle,
        row_sd,
        bounds.low_um,
        bounds.high_um,
        against.sentence if against else "",
        *ends_95,
        against=against,
        margin_um=margin,
        resolution=step,
        open_mm=open_,
        draws_um=draws,
    )


def _against(
    part: Readings, whole: Network, sharp: Bounds, feel_um: float | None, doubtful: dict
) -> Contradiction | None:
    """A reading of nought is a difference of two gaps that were felt, so feel is not held to a part of the reading."""
    if sharp.low_um is not None:
        return None
    table, feel = part.rows(part.is_interval), FEELS_UM[-1] if feel_um is None else feel_um
    fits, column = fits_and_columns(table, whole)
    free = {name: np.inf for name, sd in doubtful.items() if sd > 0 and name in {f.gauge for f in fits}}
    matrix = reading_rows(fits, whole.x_mm, column, free)[0].toarray()
    give = np.full(len(table), feel)
    sds = f"one standard deviation {feel:g} um, {'the usual figure' if feel_um is None else 'as you stated'}"
    return contradiction(
        sharp, table.row, matrix, (table.low_um, table.high_um), (give, give), "the feel at the ends of intervals", sds
    )


def felt_margin(count: int, feel_um: float | None) -> float:
    """Give what the errors of feel of so many readings all stay within, 95 times in 100.

    Where no feel is stated it is that of the feels that are thought of, each as likely as it is beforehand.

    >>> round(felt_margin(1, 2.0), 2), felt_margin(9, 0.0), round(felt_margin(9, None), 1)
    (3.92, 0.0, 9.8)
    """
    feel, weight = (np.array(FEELS_UM), np.array(FEEL_WEIGHT)) if feel_um is None else (np.array([feel_um]), np.ones(1))
    feel, weight = feel[feel > 0], weight[feel > 0]
    if not feel.size:
        return 0.0

    def missed(margin: float) -> float:
        return float(weight @ (1 - (2 * scipy.stats.norm.cdf(margin / feel) - 1) ** count)) - 0.05

    return float(scipy.optimize.brentq(missed, 0.0, 9 * float(feel.max())))


def certain_how(solution: SolvedLands) -> str:
    """Say by what the bounds of a solution are certain."""
    return "certain, feel allowed for" if solution.margin_um else "certain by the intervals alone"


def _surely(part: Readings, whole: Network, bounds: Bounds, margin: float) -> str:
    said = bounds_sentence(part, whole, bounds)
    if not said or not margin:
        return said
    within = "which all readings stay within 95 times in 100"
    return f"{said[:-1]}, with {two(margin)} um of feel allowed at every end, {within}."


_SPREAD_FROM = {
    "given": "as given",
    "intervals": "from the width of the intervals",
    "residuals": "found from the readings that check each other",
    "resolution": "which is what rounding leaves, because the readings agree better than that",
    "assumed": "assumed, because nothing in the readings shows it",
}


def _sentence(found: Network, spread: float, source: str, surely: str, open_: tuple[float, ...] = ()) -> str:
    said = ", ".join(
        f"{x:g} mm {h:+.1f} um (± {s:.1f} um)"
        for x, h, s in zip(found.x_mm[found.reached], found.height_um[found.reached], found.sd_um[found.reached])
    )
    told = [
        f"Heights above the line through the ends: {said}; standard deviation of one reading {three(spread)} um, "
        f"{_SPREAD_FROM[source]}."
    ]
    if open_:
        told.append(
            f"Bounded on one side only: {row_of(np.array(open_))} mm; give proud_at_most beside proud_at_least there."
        )
    return " ".join(told + [s for s in (surely, "" if found.reached.all() or open_ else found.words) if s])


def _usual(sd: np.ndarray) -> float:
    return float(np.sqrt(np.mean(sd**2))) if sd.size else 0.0


def _network(
    table: Readings, middle: np.ndarray, row_sd: np.ndarray, zero_sd_um: dict | None, ends: list[float]
) -> Network:
    weigh = np.isfinite(row_sd)
    fits = [
        Fit((a, m, b), s, table.names[g])
        for a, m, b, g, s in zip(
            table.left_mm[weigh], table.position_mm[weigh], table.right_mm[weigh], table.lower[weigh], row_sd[weigh]
        )
    ]
    zeros = {
        name: sd
        for name, sd in (zero_sd_um or {}).items()
        if name in {f.gauge for f in fits} or name not in table.names
    }
    return solve_network(
        fits,
        ends,
        wanted_mm=np.concatenate([table.left_mm, table.position_mm, table.right_mm]),
        readings_um=middle[weigh],
        zero_sd_um=zeros,
    )


def _residual(table: Readings, found: Network, reading: np.ndarray, weigh: np.ndarray) -> np.ndarray:
    """Reading less middle over the line of the outer lands, and less the gauge's zero; nan where a point is open."""
    left, middle, right = (
        found.height_um[np.searchsorted(found.x_mm, snapped(v))]
        for v in (table.left_mm, table.position_mm, table.right_mm)
    )
    part = (table.position_mm - table.left_mm) / (table.right_mm - table.left_mm)
    zero = np.array([found.zero_um.get((table.names[g], 0), (0.0, 0.0))[0] for g in table.lower])
    residual = reading - (middle - (1 - part) * left - part * right) - zero
    short = np.where(np.isfinite(table.low_um), np.maximum(residual, 0.0), np.minimum(residual, 0.0))
    return np.where(weigh, residual, short)


def _from_residuals(
    table: Readings, zero_sd_um: dict | None, ends: list[float], step: Resolution | None
) -> tuple[float, str, int]:
    if table.is_interval.any():
        return 1.0, "intervals" if table.is_interval.all() else "assumed", 0
    found = _network(table, table.proud_um, np.ones(len(table)), None, ends)
    over = found.redundancy.sum()
    if over < 0.5 or zero_sd_um or not found.reached.all():
        return 1.0, "assumed", 0
    left = _residual(table, found, table.proud_um, np.ones(len(table), bool))
    return (*repeatability(float((left**2).sum()), over, step), int(over.round()))


def against_prediction(solved: SolvedLands, predicted: Network) -> Foretold:
    """Hold measured points against what a progression foretold of a bar worked straight by it.

    `predicted`: as from `solve_network` or `progression`, with the spread of one fit at the bench. Returns: what it
    cannot see: a prediction that was too modest also comes out well.

    The sum of squares ``h' C^-1 h`` with C the bar's covariance and the readings' own is chi-squared, with as
    many degrees of freedom as points (derived).

    >>> from simulate.readings.table.read import read_readings
    >>> text = b"gauge,left_mm,middle_mm,right_mm,proud_um\\nlong,0,200,400,0\\n"
    >>> against_prediction(solve_lands(read_readings(text), 1.0), solve_network([Fit((0, 200, 400), 1.0)])).probability
    1.0
    """
    mine, foreseen = solved.network, predicted
    ends = [(n.x_mm[n.sd_um == 0][0], n.x_mm[n.sd_um == 0][-1]) for n in (mine, foreseen)]
    if not np.allclose(*ends, rtol=0, atol=1e-4):
        raise Refusal(
            "same",
            where="predicted",
            found=f"from {ends[1][0]:g} to {ends[1][1]:g}",
            must_be=f"between the ends that were read, {ends[0][0]:g} and {ends[0][1]:g}",
        )
    x = np.intersect1d(mine.x_mm[mine.sd_um > 0], foreseen.x_mm[foreseen.sd_um > 0])
    if not x.size:
        raise Refusal(
            "missing",
            where="predicted",
            found="none of the points that were read",
            must_be="one point or more in common",
        )
    a, b = np.searchsorted(mine.x_mm, x), np.searchsorted(foreseen.x_mm, x)
    both = mine.covariance_um2[np.ix_(a, a)] + foreseen.covariance_um2[np.ix_(b, b)]
    height, sd = mine.height_um[a], np.sqrt(np.diag(both))
    probability = float(scipy.stats.chi2.sf(height @ np.linalg.solve(both, height), x.size))
    worst = int(np.argmax(np.abs(height) / sd))
    verdict = (
        "so far out that something else was at work"
        if probability < 0.01
        else "worse than predicted, as happens to one good bar in twenty"
        if probability < 0.05
        else "as predicted"
    )
    return Foretold(
        x,
        height,
        sd,
        probability,
        f"Of the points at {row_of(x)} mm, the one at {x[worst]:g} mm is farthest out for its "
        f"uncertainty, {height[worst]:+.1f} um "
        f"where ± {sd[worst]:.1f} was predicted: {verdict}. A good bar would come out no better "
        f"{100 * probability:.0f} times in 100.",
        verdict,
    )
