"""What lines over a face come to, however they were read: form, twist, where to cut, when to stop."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core import checks
from simulate.core.refusal import Refusal, counted
from simulate.readings.network.features import Feature, Limit, linear, scatter_alone_um, slope_weights, zone, zone_of
from simulate.readings.network.heights import Network
from simulate.readings.network.places import facing, line_or_face
from simulate.readings.network.solve_heights import OnHeights, SolvedHeights
from simulate.readings.outcome.face_cut import FaceCut, face_cut
from simulate.readings.outcome.stop_rule import StopRule, no_order, not_told, stop_from
from simulate.surface.tolerances.plate_grades import plate_limits_um


@dataclass(frozen=True, kw_only=True)
class SolvedLines(OnHeights):
    """Heights along lines of a face, and what they come to.

    `lines`: places of each line in order. `features`: flatness first, where the places span a face; then straightness
    of each line, and twist.
    """

    lines: dict[str, np.ndarray]
    features: tuple[Feature, ...]


def line_features(heights: SolvedHeights, lines: dict[str, np.ndarray]) -> tuple[Feature, ...]:
    """Give the flatness of all places, the straightness of each line, and the twist from line to line."""
    net = heights.network
    found = []
    if spans(net.x_mm, net.y_mm):
        found.append(zone(heights, np.arange(net.points), "flatness", limit=plate_limit(heights)))
    found += [
        zone(heights, places, "straightness", f"line {name}") for name, places in lines.items() if places.size > 2
    ]
    pair = facing(lines, net.x_mm, net.y_mm)
    if pair:
        found.append(twist_of(heights, lines, *pair))
    return tuple(found)


def refuse_formless(network: Network, features: tuple[Feature, ...], what: str) -> None:
    """Refuse readings that tell no form at all.

    `what`: what would tell one.
    """
    if not any(one.told for one in features):
        raise Refusal(
            "unsettled",
            where=network.source,
            found=f"no form shows in {counted(len(network.row), 'reading')} at {counted(network.points, 'place')}",
            must_be=what,
        )


def spans(x_mm: np.ndarray, y_mm: np.ndarray) -> bool:
    """Say whether places span a face, and are enough to tell its form."""
    return x_mm.size > 3 and line_or_face(x_mm, y_mm) is None


def twist_of(heights: SolvedHeights, lines: dict[str, np.ndarray], one: str, two: str) -> Feature:
    """Give by how much the slope from line to line changes along them, over the length that they share."""
    x, y = heights.network.x_mm, heights.network.y_mm
    a, b = lines[one], lines[two]
    way = np.array([x[a[-1]] - x[a[0]], y[a[-1]] - y[a[0]]])
    long = float(np.hypot(*way))
    along = (x * way[0] + y * way[1]) / long
    apart = abs((y[b[0]] - y[a[0]]) * way[0] - (x[b[0]] - x[a[0]]) * way[1]) / long
    length = min(float(np.ptp(along[a])), float(np.ptp(along[b])))
    weights = (slope_weights(along, b) - slope_weights(along, a)) * length / apart * 1000.0
    return linear(heights, weights, "twist", "um/m", f"{two} against {one} over {length:g} mm")


def plate_limit(heights: SolvedHeights) -> Limit | None:
    """Give the finest grade of DIN 876 that the heights pass, or the coarsest; None outside its sizes."""
    net = heights.network
    try:
        grades = plate_limits_um(float(np.ptp(net.x_mm)), float(np.ptp(net.y_mm)))
    except Refusal:
        return None
    value = float(zone_of(net.x_mm, net.y_mm)(heights.height_um[None])[0])
    grade = next((g for g, most in grades.items() if value <= most), list(grades)[-1])
    return Limit(low=0.0, high=grades[grade], source=f"DIN 876 grade {grade}")


def cut_of(heights: SolvedHeights) -> FaceCut | None:
    """Say where metal comes off; None where something is hidden, for no map is sure then."""
    if len(heights.hidden):
        return None
    net = heights.network
    carried = np.linalg.svd(net.rigid, full_matrices=False)[0]  # where two planes leave as little, this basis decides
    return face_cut(
        ("the work",), net.x_mm, net.y_mm, heights.height_um[None], heights.sd_um[None], heights.factor_95, carried
    )


def form_of(features: tuple[Feature, ...]) -> float | None:
    """Give the figure that progress is told from: the flatness, or else the worst straightness."""
    forms = [one.value for one in features if one.told and one.name == "flatness"]
    forms = forms or [one.value for one in features if one.told and one.name == "straightness"]
    return max(forms) if forms else None


def left_open(features: tuple[Feature, ...]) -> tuple[str, ...]:
    """Name the work where its form leans on readings without an upper end."""
    forms = [one for one in features if one.told and one.name in ("flatness", "straightness")]
    return ("the work",) if any(one.open for one in forms) else ()


def form_parts(found: SolvedLines) -> tuple[list[np.ndarray], bool]:
    """Give the places of each part that the form is of, and whether they are lines: the face, or else its lines."""
    told = {one.of for one in found.features if one.told and one.name == "straightness"}
    if any(one.told and one.name == "flatness" for one in found.features):
        return [np.arange(found.heights.network.points)], False
    return [places for name, places in found.lines.items() if f"line {name}" in told], True


def stop_of(found: SolvedLines, target_um: float | None, asks: str) -> StopRule:
    """Say whether another round is worth it."""
    heights, features = found.heights, found.features
    target = None if target_um is None else checks.number(target_um, "target_um", 0, above=True)
    form, (parts, lines) = form_of(features), form_parts(found)
    seen = np.array([np.nan if form is None else form])
    if blind := no_order(seen, heights.against, left_open(features)):
        return blind
    floor = scatter_alone_um(heights, parts, lines) if parts else np.nan
    if form is None or not np.isfinite(floor):
        return not_told(seen, asks=asks)
    true = "straight" if lines else "flat"
    return stop_from(("the work",), np.array([form]), np.array([floor]), target, "face", true)


def apart(lines: dict[str, np.ndarray]) -> list[tuple[list[str], np.ndarray]]:
    """Part lines into sets that share places, the largest first.

    >>> [names for names, _ in apart({"a": np.array([0, 1]), "b": np.array([1, 2]), "c": np.array([8, 9])})]
    [['a', 'b'], ['c']]
    """
    sets: list[tuple[list[str], set]] = []
    for name, places in lines.items():
        own = set(places.tolist())
        touching = [one for one in sets if one[1] & own]
        for one in touching:
            sets.remove(one)
        sets.append((sum((one[0] for one in touching), []) + [name], own.union(*(one[1] for one in touching))))
    sets.sort(key=lambda one: -len(one[1]))
    return [(names, np.array(sorted(places))) for names, places in sets]
