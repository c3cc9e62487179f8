"""What a cross slide over a square says, the square being turned over between readings."""

from __future__ import annotations

from simulate.core.number_format import three
from simulate.core.refusal import Refusal
from simulate.readings.adjustment.observations import given_sd, needs, of_round
from simulate.readings.alignment.straight import (
    Aligned,
    Reading,
    Straight,
    candidate,
    ends_of,
    next_of_straight,
    straight_network,
)
from simulate.readings.alignment.told import (
    SECURED,
    first_of,
    refuse_untold,
    stop_of,
    sure,
    told,
    worst_of,
)
from simulate.readings.network import network_words
from simulate.readings.network.features import Feature, Limit, linear
from simulate.readings.network.heights import Network, instrument_of
from simulate.readings.network.solve_heights import SolvedHeights, solve_heights
from simulate.readings.outcome.findings_record import Findings
from simulate.readings.table.readings import AlignmentReadings
from simulate.surface.tolerances.lathe import ISO_1708

SLIDE, SQUARE = "the cross slide", "the square"
_BASE = "the line that the base lies along"
_LIMIT = ISO_1708["cross slide square to the axis"]


def solve_cross_slide(
    table: AlignmentReadings, reading_sd_um: float | None = None, round: int | None = None
) -> Aligned:
    """Work out how square a cross slide runs to the axis, from a square that was read both ways up.

    `table`: what `read_readings` gives for ``travel_mm, turned, dial_um``, the travel from the middle outwards, and
    ``base_sd_um_m`` for the line that the base of the square lay along. `reading_sd_um`: of one dial reading; found
    from what the readings leave over without it. `round`: the last of the file where it is not said. Returns: what it
    cannot see: a bend of the slide's path or of the blade, which counts as scatter about their lines.

    Reversal, m1 = M + S and m2 = M - S (C. Evans, R. Hocken, W. Estler, CIRP Annals 45/2, 1996, from memory), with a
    line through all places in place of two readings (`cross_slide`).
    """
    needs(table, "cross slide")
    return _solved(*_rows(of_round(table, round), given_sd(reading_sd_um, "reading_sd_um")))


def _rows(table: AlignmentReadings, sd_um: float | None) -> tuple[Network, Straight, tuple[Reading, ...]]:
    ends = ends_of(table.x_mm)
    bodies = Straight(names=(SLIDE, SQUARE), ends_mm=(ends, ends))
    base = float(table.base_sd_urad[0])
    known = {_BASE} if base > 0 else set()
    readings = []
    for i in range(len(table)):
        turned, x, figure = bool(table.turned[i]), float(table.x_mm[i]), float(table.dial_um[i])
        group = f"the square {'turned over' if turned else 'as first laid'}"
        zeros = {f"zero of the dial, {group} {table.set_up[i]}".rstrip(): 1.0}
        if known:
            zeros[_BASE] = base * x / 1000.0
        heights = bodies.at(SLIDE, x) + (-1.0 if turned else 1.0) * bodies.at(SQUARE, x)
        readings.append(
            Reading(row=int(table.row[i]), group=group, heights=heights, low=figure, high=figure, zeros=zeros)
        )
    tool = instrument_of("the dial", "um", table.dial_um, sd_um, table.last_digit)
    network = straight_network(table, bodies, readings, (tool,), [bodies.on(SLIDE), bodies.on(SQUARE)], known)
    return network, bodies, tuple(readings)


def _solved(network: Network, bodies: Straight, _: tuple[Reading, ...]) -> Aligned:
    if not bodies.has_slope(SLIDE):
        raise Refusal(
            "count",
            where=network.source,
            found=f"readings at one place of the travel, {bodies.ends_mm[0][0]:g} mm",
            must_be="readings at two places or more, as far apart as the slide travels",
        )
    heights = solve_heights(network)
    over = _LIMIT.over_mm
    features = (
        linear(
            heights,
            over * bodies.slope(SLIDE),
            "squareness",
            "um",
            f"{SLIDE} over {over:g} mm",
            Limit(low=_LIMIT.low_um, high=_LIMIT.high_um, source="ISO 1708\u2020"),
        ),
        linear(heights, 1000.0 * bodies.slope(SQUARE), "lean", "um/m", SQUARE),
    )
    refuse_untold(
        heights,
        features[:1],
        "readings at the same places with the square both ways up",
        "Turn the square over, read the same places again, and write yes in the column turned",
    )
    travel = bodies.ends_mm[0][1] - bodies.ends_mm[0][0]
    work = linear(heights, -travel * bodies.slope(SLIDE), "turn its guide", "um", f"over {travel:g} mm of travel")
    return Aligned(heights=heights, features=features, work=(work,))


def of_cross_slide(
    table: AlignmentReadings,
    reading_sd_um: float | None = None,
    round: int | None = None,
    target_um: float | None = None,
) -> Findings:
    """Say what a cross slide over a square says."""
    needs(table, "cross slide")
    used = of_round(table, round)
    network, bodies, readings = _rows(used, given_sd(reading_sd_um, "reading_sd_um"))
    found = _solved(network, bodies, readings)
    heights, asked = found.heights, found.features[:1]
    following = next_of_straight(
        heights,
        [candidate(f"{name} again", [r for r in readings if r.group == name], heights) for name in network.groups],
    )
    return told(
        "cross slide",
        found,
        first=first_of(found.features, ""),
        more=(_face(found.features[0]),),
        hidden=_hidden(heights, used),
        following=following,
        cut=(_work(found.work[0], found.features[0]),),
        stop=stop_of(heights, asked, target_um, "slide", "square", following.name if following else ""),
        form_um=worst_of(asked),
        care=(SECURED,),
    )


def _face(one: Feature) -> str:
    """Say how a face comes out that the slide turns."""
    deep, way = abs(one.value) / 2, "hollow" if one.value > 0 else "proud in its middle"
    if not one.ranged:
        return f"A face of {_LIMIT.over_mm:g} mm seems to come out {three(deep)} um {way}; the range is not known."
    if not sure(one):
        most = max(one.high_95, -one.low_95) / 2
        return (
            f"A face of {_LIMIT.over_mm:g} mm comes out flat, as far as the readings show: at most {three(most)} um "
            "hollow or proud in its middle (95 %)."
        )
    return f"A face of {_LIMIT.over_mm:g} mm comes out {three(deep)} um {way} (± {three(one.half / 2)} um, 95 %)."


def _work(work: Feature, one: Feature) -> str:
    if not one.ranged:
        return f"The cross slide: {network_words.not_yet(one)}"
    if not sure(one):
        return "The cross slide: leave it alone; its error is within the uncertainty of the readings"
    way = "towards the headstock" if work.value < 0 else "away from the headstock"
    return (
        f"The cross slide: turn its guide, so that the outer end of the travel moves {three(abs(work.value))} um "
        f"{way}{network_words.plus_minus(work)}. Scrape the guide in a taper that runs out to zero at the other "
        "end, and read again"
    )


def _hidden(heights: SolvedHeights, table: AlignmentReadings) -> tuple[str, ...]:
    base = float(table.base_sd_urad[0])
    return (
        *network_words.hidden_words(heights, {}),
        f"The base of the square was taken to lie along the axis within {three(base)} um/m (one standard deviation)."
        if base > 0
        else "The line that the base of the square lay along was taken to be the axis itself. Any error in it "
        "counts as the slide's, and no reading would reveal it. Give its standard deviation in a column base_sd_um_m.",
        "A path of the slide that is bent, or a bent blade, counts as scatter about a line: read at more places, and "
        "look at their residuals.",
        "The slide was read under the load that it carried then; a gib set differently gives another path.",
    )
