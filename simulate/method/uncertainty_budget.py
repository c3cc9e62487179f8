"""One budget from the rough bar to the aligned machine: what each link adds, and which to improve."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from simulate.core import checks
from simulate.core.number_format import three
from simulate.core.refusal import Refusal, a_kind_of, listed, shape_words


@dataclass(frozen=True)
class Link:
    """What one cause does at one step of a chain of references.

    Attributes
    ----------
    name : str
        What it is, in words: "sag of the bar between its supports".
    sd : float or array_like
        Its standard uncertainty, in its own unit, such as kelvin; many workshops along leading axes.
    um_per_unit : float
        Sensitivity: how many micrometres of the result one unit of it makes; 1 for what is in micrometres itself.
        Its sign counts where the cause is shared: -1/2 where the step takes half of it away.
    freedom : float
        Degrees of freedom behind `sd`; infinite where it is taken as known.
    cause : str
        What it shares with other links, such as "one eye": links of one cause move together and make one entry of the
        budget. Empty where the link moves by itself.
    """

    name: str
    sd: float | np.ndarray
    um_per_unit: float = 1.0
    freedom: float = np.inf
    cause: str = ""


@dataclass(frozen=True)
class Chain:
    """What the links come to together.

    Attributes
    ----------
    names : tuple of str
        Of the entries: a cause that several links share is one entry.
    contribution_um : numpy.ndarray, shape (..., entries)
        Standard uncertainty of the result from that entry alone; what its links do is added with its sign.
    share : numpy.ndarray, shape (..., entries)
        Part of the variance; adds up to 1.
    combined_um : numpy.ndarray, shape (...)
        Combined standard uncertainty.
    freedom : numpy.ndarray, shape (...)
        Effective degrees of freedom.
    factor : numpy.ndarray, shape (...)
        Coverage factor.
    expanded_um : numpy.ndarray, shape (...)
        `factor` times `combined_um`.
    if_halved_um : numpy.ndarray, shape (..., entries)
        What `combined_um` becomes when that one entry is halved.
    weakest : numpy.ndarray of int, shape (...)
        The entry that is worth improving first.
    sentence : str
        Empty for many workshops.
    links : tuple of str
        Of each step, in the order given.
    signed_um : numpy.ndarray, shape (..., links)
        What one standard uncertainty of the cause does at that step, with its sign.
    entry_of : tuple of int
        The entry that each link belongs to.
    """

    names: tuple[str, ...]
    contribution_um: np.ndarray
    share: np.ndarray
    combined_um: np.ndarray
    freedom: np.ndarray
    factor: np.ndarray
    expanded_um: np.ndarray
    if_halved_um: np.ndarray
    weakest: np.ndarray
    sentence: str
    links: tuple[str, ...]
    signed_um: np.ndarray
    entry_of: tuple[int, ...]

    def steps(self, entry: int) -> tuple[tuple[str, np.ndarray], ...]:
        """Give the links of one entry, each with what it does there.

        >>> eye = [Link("bar", 2.0, -0.5, cause="one eye"), Link("bed", 2.0, cause="one eye")]
        >>> [(name, float(um)) for name, um in combine_chain(eye).steps(0)]
        [('bar', -1.0), ('bed', 2.0)]
        """
        return tuple((name, self.signed_um[..., k]) for k, name in enumerate(self.links) if self.entry_of[k] == entry)


def half_width_sd(half_width: float) -> float:
    """Give the standard uncertainty of something that lies anywhere within plus or minus `half_width`.

    Returns ``half_width / sqrt(3)`` (JCGM 100:2008, 4.3.7; from memory).

    >>> round(half_width_sd(3.0), 4)
    1.7321
    """
    return checks.number(half_width, "half_width", 0) / float(np.sqrt(3))


def combine_chain(links: Sequence[Link], coverage: float = 0.95) -> Chain:
    """Combine named links into one uncertainty.

    `links`: links of one cause are added with their signs first, and squared with the others afterwards. `coverage`:
    part of all cases the expanded uncertainty is to hold. Returns: what it cannot see: links that move together and do
    not say so by their `cause`, such as two that hang on the same temperature, and a link nobody thought of.

    Guide to the Expression of Uncertainty in Measurement (JCGM 100:2008): root sum of squares of independent
    contributions (5.1.2), the plain sum with signs of those that are correlated by +1 (5.2.2, note 1), and the
    Welch-Satterthwaite formula (G.4.1), whose result is cut down to a whole number before the coverage factor is
    looked up. A shared cause has the degrees of freedom of its least known link.

    >>> chain = combine_chain([Link("lands", 3.0), Link("heat", 0.4, um_per_unit=10.0)])
    >>> float(chain.combined_um), chain.share.round(2).tolist()
    (5.0, [0.36, 0.64])
    >>> print(chain.sentence)  # doctest: +NORMALIZE_WHITESPACE
    Combined standard uncertainty 5 µm, 9.8 µm either way for 95 %; most of it from heat (64 %), and halving that
    leaves 3.61 µm.
    """
    coverage = checks.number(coverage, "coverage", 0, 1, above=True)
    if coverage == 1:
        raise Refusal("range", where="coverage", found="1", must_be="below 1, because no finite figure always holds")
    signed, freedoms = _checked(links)
    names, entry_of = _entries(links)
    belongs = np.eye(len(names))[list(entry_of)]  # (links, entries)
    contribution = np.abs(signed @ belongs)
    freedoms = np.array([freedoms[belongs[:, k] > 0].min() for k in range(len(names))])
    variance = contribution**2
    total = variance.sum(axis=-1)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(total[..., None] > 0, variance / total[..., None], 0.0)
        freedom = 1 / (share**2 / freedoms).sum(axis=-1)
    combined = np.sqrt(total)
    factor = scipy.stats.t.ppf((1 + coverage) / 2, np.maximum(np.floor(freedom + 1e-9), 1.0))
    halved = np.sqrt(np.maximum(total[..., None] - 0.75 * variance, 0.0))
    weakest = np.argmax(variance, axis=-1)
    sentence = _sentence(names, combined, factor, share, halved, weakest, coverage) if not combined.ndim else ""
    return Chain(
        names,
        contribution,
        share,
        combined,
        freedom,
        factor,
        factor * combined,
        halved,
        weakest,
        sentence,
        tuple(link.name for link in links),
        signed,
        entry_of,
    )


def _entries(links: Sequence[Link]) -> tuple[tuple[str, ...], tuple[int, ...]]:
    """Name the entries, each at the place of its first link, and say which of them each link belongs to."""
    alone = {link.name for link in links if not link.cause}
    for link in links:
        if link.cause in alone:
            raise Refusal(
                "same",
                where=f"cause of {link.name}",
                found=f"{link.cause!r}, the name of a link that has no cause",
                must_be="another name",
                do="Give one of them another name",
            )
    called = [link.cause or link.name for link in links]
    names = tuple(dict.fromkeys(called))
    return names, tuple(names.index(name) for name in called)


def _checked(links: Sequence[Link]) -> tuple[np.ndarray, np.ndarray]:
    checks.kind(links, "links", (tuple, list))
    if not links:
        raise Refusal("count", where="links", found="nothing", must_be="one link or more")
    for place, link in enumerate(links):
        if not isinstance(link, Link):
            raise Refusal("type", where=f"links[{place}]", found=a_kind_of(link), must_be="a Link")
        checks.kind(link.cause, f"cause of {link.name}", str)
    names = tuple(link.name for link in links)
    for name in names:
        if names.count(name) > 1:
            raise Refusal(
                "same",
                where=f"the name {name!r} in links",
                found=f"there {names.count(name)} times",
                must_be="there once",
                do="Give each link a name of its own",
            )
    parts, freedoms = [], []
    for link in links:
        sd = checks.numbers(link.sd, f"sd of {link.name}")
        if (sd < 0).any():
            raise Refusal("range", where=f"sd of {link.name}", found=f"{sd.min():g}", must_be="0 or more")
        parts.append(sd * checks.number(link.um_per_unit, f"um_per_unit of {link.name}"))
        endless = isinstance(link.freedom, (int, float)) and np.isposinf(link.freedom)
        freedoms.append(np.inf if endless else checks.number(link.freedom, f"freedom of {link.name}", 0, above=True))
    try:
        return np.stack(np.broadcast_arrays(*parts), axis=-1), np.array(freedoms)
    except ValueError:
        shapes = listed([shape_words(part.shape) for part in parts])
        raise Refusal(
            "shapes", where="sd of the links", found=shapes, must_be="of one shape, or single figures"
        ) from None


def _sentence(names, combined, factor, share, halved, weakest, coverage) -> str:
    worst = int(weakest)
    return (
        f"Combined standard uncertainty {three(combined)} µm, {three(factor * combined)} µm either way for "
        f"{100 * coverage:g} %; "
        f"most of it from {names[worst]} ({100 * share[worst]:.0f} %), and halving that leaves "
        f"{three(halved[worst])} µm."
    )
