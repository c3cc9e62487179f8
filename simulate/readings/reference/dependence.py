"""What a result owes to its references: how their errors move it, and how sure that leaves it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import scipy

from simulate.core.number_format import three
from simulate.core.refusal import listed
from simulate.readings.adjustment.least_squares import Adjustment, adjust, spread_of_widths
from simulate.readings.adjustment.repeatability import Resolution
from simulate.readings.reference.hold import Hold, Laid
from simulate.readings.reference.known import Known, Source, by_source


@dataclass(frozen=True, kw_only=True)
class Dependence:
    """What a result owes to its references.

    Attributes
    ----------
    references : tuple of Known
        As they were before these readings.
    sensitivity : numpy.ndarray, shape (values, errors)
        What each independent error of the sources does to each value of the result.
    z_mean : numpy.ndarray, shape (errors,)
        What these readings say of the errors.
    z_covariance : numpy.ndarray, shape (errors, errors)
    own_dof : float
        Degrees of freedom of the spread of these readings; 0 where it is known.
    """

    references: tuple[Known, ...]
    sources: tuple[Source, ...]
    sensitivity: np.ndarray
    z_mean: np.ndarray
    z_covariance: np.ndarray
    own_dof: float = 0.0
    sentence: str = ""

    @property
    def sd(self) -> np.ndarray:
        """The part of each value's standard deviation that comes from the references."""
        return np.sqrt((self.sensitivity**2).sum(axis=1))

    @property
    def assumed(self) -> bool:
        """Whether nothing tells how large some of the errors are."""
        return any(one.assumed for one in self.sources)


def dependence(
    held: Laid, of_values: np.ndarray, mean: np.ndarray, covariance: np.ndarray, own_dof: float = 0.0
) -> Dependence:
    """Say what a result owes to its references.

    `of_values` (values, errors): covariance of the values with the references' errors. `mean`, `covariance` (errors,):
    of the errors, after the readings.

    What the readings leave of a value is uncorrelated with what they say, so that the covariance of value and error
    after the readings is also that of the value's own error with the reference's: the sensitivity. What is left of
    the value's covariance is independent of the reference. Both hold for least squares and for a posterior mean.
    """
    turn = held.lay
    away = np.eye(len(held.lay)) - held.lay @ held.lay.T
    return Dependence(
        references=held.references,
        sources=held.sources,
        sensitivity=of_values @ turn.T,
        z_mean=turn @ mean,
        z_covariance=turn @ covariance @ turn.T + away,
        own_dof=own_dof,
    )


def error_covariance(held: Hold, of: Dependence, covariance: np.ndarray) -> np.ndarray:
    """Set the references' errors beside values, shape (values + errors, values + errors)."""
    across = of.sensitivity @ held.lay
    errors = held.lay.T @ of.z_covariance @ held.lay
    return np.block([[covariance, across], [across.T, errors]])


def range_dof(of: Dependence, covariance: np.ndarray) -> float:
    """Give the degrees of freedom of a result's ranges.

    `covariance` (values, values): of the result. Returns: 0 where every part of the uncertainty is known.

    The Welch-Satterthwaite formula (JCGM 100:2008, G.4.1), with mean variances of all values.
    """
    parts = [(float((root**2).sum()), one.dof) for one, root in by_source(of.sources, of.sensitivity)]
    whole = float(np.trace(covariance))
    parts.append((max(whole - sum(part for part, _ in parts), 0.0), of.own_dof))
    unsure = sum(part**2 / each for part, each in parts if each)
    return whole**2 / unsure if unsure > 1e-9 * whole**2 else 0.0


def half_95(dof: float) -> float:
    """How many standard deviations either side hold a value 95 times in 100; normal where `dof` is 0."""
    return float(scipy.stats.t.ppf(0.975, dof) if dof else scipy.stats.norm.ppf(0.975))


def adjust_held(
    held: Hold | None,
    design: np.ndarray,
    reading: np.ndarray,
    datum: np.ndarray,
    reading_sd: float | None = None,
    width: np.ndarray | None = None,
    resolution: Resolution | None = None,
) -> tuple[Adjustment, Dependence | None]:
    """Fit unknowns to readings as ``adjust`` does, some bodies being known.

    `design`, `datum` (readings, all): with all bodies free; `datum` only of those that are.
    """
    if held is None:
        return adjust(design, reading, datum, reading_sd, width, resolution), None
    columns, count, errors = held.turn.shape[1], reading.size, held.size.size
    width = np.zeros(count) if width is None else width
    found = adjust(
        np.vstack([design @ held.turn, held.rows(columns)]),
        np.concatenate([reading - design @ held.shift, np.zeros(errors)]),
        np.vstack([datum @ held.turn, held.errors(columns)]),
        reading_sd,
        np.concatenate([width, np.sqrt(12) * held.size]),
        resolution,
    )
    n = len(datum)
    told = spread_of_widths(width[np.isfinite(reading)]) if found.sd_from == "intervals" else found.reading_sd
    own = found.freedom if found.sd_from in ("residuals", "resolution") else 0
    of = dependence(held, found.covariance[:n, n:], found.value[n:], found.covariance[n:, n:], own)
    covariance = found.covariance[:n, :n]
    return replace(
        found,
        value=found.value[:n],
        covariance=covariance,
        residual=found.residual[:count],
        hidden=found.hidden[:, :n],
        reading_sd=told,
        over=range_dof(of, covariance),
    ), of


def told(
    held: Laid,
    of: Dependence,
    names: Sequence[str],
    sd: np.ndarray,
    half: float,
    unit: str = "um",
    bounds_out: bool = False,
) -> Dependence:
    """Add the sentence that says what each body of a result owes to its references.

    `sd` (bodies, values): of the result; nan where nothing was read. `half`: how many of them make 95 %. `bounds_out`:
    whether guaranteed bounds had to be left out.
    """
    start = " and ".join(f"{one.name}, known from {one.said}" for one in of.references)
    part, place = np.full(sd.shape, np.nan), np.isfinite(sd)
    part[place] = of.sd
    each = []
    for name, whole, own in zip(names, sd, part, strict=True):
        if np.isfinite(whole).any():
            at = int(np.nanargmax(whole.round(6)))
            each.append(
                f"{name} ± {three(half * whole[at])} {unit}, of which ± {three(half * own[at])} {unit} comes from there"
            )
    said = [f"{listed(names)} depend{'s' * (len(names) == 1)} on {start}"]
    if of.assumed:
        said[0] += "; the repeatability there is only assumed, so no range is given"
    elif each and np.isfinite(half):
        said[0] += f" (95 % where least certain: {'; '.join(each)})"
    if held.mixed:
        many = held.mixed != 1
        said += [
            f"{held.mixed} station{'s' * many} of the reference lie{'s' * (not many)} between places where it is known",
            "Its height there is taken on the straight line between neighbours, and any error in that is not counted",
        ]
    if bounds_out:
        said.append("Guaranteed bounds are left out, because what is known of a reference is likely and not certain")
    return replace(of, sentence=". ".join(said) + ".")
