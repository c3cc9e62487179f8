"""What is said of any network of heights: how good a reading is, features in a table, what stays unseen."""

from __future__ import annotations

import numpy as np

from simulate.core.number_format import three, with_sign
from simulate.readings.adjustment.posterior import thinned_words
from simulate.readings.adjustment.shared_errors import notice, shared_error
from simulate.readings.network.against_known import AS_KNOWN
from simulate.readings.network.features import Feature
from simulate.readings.network.solve_heights import SolvedHeights
from simulate.readings.outcome.findings_record import UNKNOWN, certain_words, end_words

NOT_TOLD = "not determined"
COARSE_SEATS = (
    "There are too many heights or readings to work out where each edge rests.",
    "In trials, such 95 % ranges contained only 86 to 95 true heights in 100.",
)
HEADING = ("what", "value", "± 95 %", "published limit")


def feature_rows(features: tuple[Feature, ...]) -> tuple[tuple[str, ...], ...]:
    """Give features as rows of a table: what, value, range, limit."""
    return tuple((named(one), value_words(one), range_words(one), limit_words(one)) for one in features)


def named(one: Feature) -> str:
    """Name a feature, as a part of a sentence too.

    >>> def of(name, of):
    ...     return named(Feature(name=name, of=of, value=9.0, low_95=np.nan, high_95=np.nan, unit="um"))
    >>> of("flatness", ""), of("twist", "over 800 mm"), of("squareness", "corner A-B over 44 mm")
    ('flatness', 'twist over 800 mm', 'squareness of corner A-B over 44 mm')
    """
    return f"{one.name}{'' if one.of.startswith('over ') or not one.of else ' of'} {one.of}".strip()


def value_words(one: Feature) -> str:
    """Give the value of a feature with its unit; a figure of form has no sign."""
    if not one.told:
        return NOT_TOLD
    return f"{(with_sign if signed(one) else three)(one.value)} {one.unit}"


def not_yet(one: Feature) -> str:
    """Say that nothing is changed while the range of a feature is not known: whether it may stay is not known either.

    >>> not_yet(Feature(name="offset", of="", value=9.0, low_95=np.nan, high_95=np.nan, unit="um"))
    'change nothing yet; it reads +9 um, and its range is not known'
    """
    return f"change nothing yet; it reads {value_words(one)}, and its range is not known"


def plus_minus(one: Feature) -> str:
    """Give half the range of a feature in brackets; empty where it is not known."""
    return f" (± {three(one.half)} {one.unit}, 95 %)" if one.ranged else ""


def signed(one: Feature) -> bool:
    """Say whether a feature has a sense: a minimum zone has none."""
    return one.name not in ("flatness", "straightness", "thickness variation")


def range_words(one: Feature) -> str:
    """Give the range of a feature: about its value where it lies evenly, from end to end otherwise."""
    if not one.told:
        return "-"
    if not one.ranged:
        return UNKNOWN
    off = abs((one.low_95 + one.high_95) / 2 - one.value)
    if off <= 0.05 * max(one.half, 1e-12):
        return f"± {three(one.half)} {one.unit}"
    told = with_sign if signed(one) else three
    return f"{told(one.low_95)} to {told(one.high_95)} {one.unit}"


def limit_words(one: Feature) -> str:
    """Give the published limit, and whether the value is inside."""
    if one.limit is None or not one.told:
        return "-"
    low, high = one.limit.low, one.limit.high
    span = (
        three(high)
        if low == 0 and not signed(one)
        else f"{with_sign(low)} to {with_sign(high)}"
        if low
        else f"0 to {with_sign(high)}"
    )
    room = 1e-9 * max(abs(low), abs(high))
    inside = low - room <= one.value <= high + room
    sure = one.ranged and (
        one.low_95 >= low and one.high_95 <= high if inside else one.low_95 > high or one.high_95 < low
    )
    where = f"{'inside' if inside else 'outside'} {span} {one.unit} ({one.limit.source})"
    return where if sure else f"{where}, but not for certain"


def spread_words(solved: SolvedHeights) -> str:
    """Say how good one reading of each instrument is, and how that is known."""
    said = []
    network, spreads = solved.network, solved.spreads
    for k, tool in enumerate(network.instruments):
        if tool.name == AS_KNOWN:
            continue
        sd, source, spare = spreads.sd[k], spreads.source[k], spreads.spare[k]
        step = three(tool.resolution.step) if tool.resolution else ""
        together = "together with the others " if spreads.shared[k] else ""
        how = {
            "given": "as given",
            "residuals": f"found {together}from {three(spare)} redundant reading{'s' * (three(spare) != '1')}",
            "resolution": f"which is what rounding to {step} leaves",
            "assumed": "assumed: there are no redundant readings to estimate it from",
        }.get(source)
        if how:
            said.append(f"the repeatability of one reading of {tool.name} is {three(sd)} {tool.unit} ({how})")
    text = "; ".join(said)
    return f"{text[0].upper()}{text[1:]}." if text else "Every reading is an interval."


def prior_words(solved: SolvedHeights) -> tuple[str, ...]:
    """Say what was taken for granted where readings are intervals."""
    if not solved.by_intervals:
        return ()
    feel = (
        f", and that the feel of a blade is good to {three(solved.feel_um)} um (one standard deviation)"
        if solved.feel_um
        else ""
    )
    return (
        "The ranges assume that each shape is smooth over a sixth to a third of its length, with some "
        f"roughness, or that it is rough throughout{feel}.",
        *thinned_words(solved.thinned),
        *(COARSE_SEATS if solved.coarse_seats else ()),
    )


def bounds_words(solved: SolvedHeights) -> tuple[str, ...]:
    """Say what the intervals alone make certain, or which of them contradict each other."""
    if solved.against is not None:
        return (solved.against.sentence,)
    held = solved.bounds
    return () if held is None else certain_words(held.low_um, held.high_um, "height", "um")


def known_words(solved: SolvedHeights) -> tuple[str, ...]:
    """Say what heights owe to bodies that were known already."""
    return () if solved.depends is None else (solved.depends.sentence,)


def hidden_words(solved: SolvedHeights, candidates: dict[str, np.ndarray]) -> tuple[str, ...]:
    """Name what no reading shows.

    `candidates` (points,): shapes by the sentence that names them.
    """
    left, said = solved.hidden.T, []
    rigid = solved.network.rigid
    for sentence, shape in candidates.items():
        bare = shape - rigid @ (np.linalg.pinv(rigid) @ shape)
        size = float(np.linalg.norm(bare))
        if size < 1e-9 or not left.size:
            continue
        bare = bare / size
        if np.linalg.norm(bare - solved.hidden.T @ (solved.hidden @ bare)) > 1e-5:
            continue
        fresh = left @ (left.T @ bare)  # what was not named already
        if np.linalg.norm(fresh) < 1e-5:
            continue
        fresh = fresh / np.linalg.norm(fresh)
        u, s, _ = np.linalg.svd(left - np.outer(fresh, fresh @ left), full_matrices=False)
        left = u[:, s > 1e-6]
        said.append(sentence)
    if left.size:
        many = left.shape[1]
        said.append(
            f"{many} {'more ' if said else ''}shape{'s' * (many != 1)} that change{'s' * (many == 1)} no reading: "
            "some places are tied too loosely to the others by these readings."
        )
    return tuple(said)


def shared_words(solved: SolvedHeights, pattern: np.ndarray, what: str) -> str:
    """Say what one pattern of errors in all readings does to the heights.

    `pattern` (readings,). `what`: the error, as the subject of the sentence.
    """
    network = solved.network
    full = np.concatenate([pattern, np.zeros(len(solved.equations.reading) - pattern.size)])
    moved = shared_error(solved.equations, solved.solved, full)
    worst = int(np.argmax(np.abs(moved.value).round(9)))
    if abs(moved.value[worst]) < 1e-6:
        return f"{what} changes no height."
    return (
        f"{what} puts the height at x {network.x_mm[worst]:g}, y {network.y_mm[worst]:g} mm out by "
        f"{three(abs(moved.value[worst]))} um, {notice(moved.noticed)}."
    )


def detail(solved: SolvedHeights, remove_um: np.ndarray | None, kinds: tuple[str, ...] = ()) -> tuple[tuple, tuple]:
    """Give every height as a row of a table, with its range, what is certain, and what to take off.

    `remove_um` (points,). `kinds`: what each place is on, where there is more than one body.
    """
    network, low, high = solved.network, solved.low_95_um, solved.high_95_um
    certain = solved.bounds is not None
    heading = (
        *(("on",) if kinds else ()),
        "x, mm",
        "y, mm",
        "height, um",
        "95 %, um",
        *(("certain, um",) if certain else ()),
        *(("to take off, um",) if remove_um is not None else ()),
    )
    rows = []
    for k in range(network.points):
        span = UNKNOWN if low is None or high is None else f"{with_sign(low[k], 4)} to {with_sign(high[k], 4)}"
        rows.append(
            (
                *((kinds[k],) if kinds else ()),
                f"{network.x_mm[k]:g}",
                f"{network.y_mm[k]:g}",
                with_sign(solved.height_um[k], 4),
                span,
                *(
                    (f"{end_words(solved.bounds.low_um[k])} to {end_words(solved.bounds.high_um[k])}",)
                    if certain
                    else ()
                ),
                *((three(remove_um[k]) if np.isfinite(remove_um[k]) else "-",) if remove_um is not None else ()),
            )
        )
    return heading, tuple(rows)
