"""How good a body is by its last readings, or why they do not say it well enough to stop by."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from simulate.readings.adjustment.bounds import wrong
from simulate.readings.alignment.straight import Aligned
from simulate.readings.bars.solve_bars import BarSolution
from simulate.readings.bed.bed_findings import SolvedBed
from simulate.readings.eye.wedge import SolvedWedge
from simulate.readings.lands.solve_lands import SolvedLands
from simulate.readings.network.features import Feature
from simulate.readings.network.line_work import SolvedLines
from simulate.readings.network.solve_heights import SolvedHeights
from simulate.readings.outcome.findings_record import Findings
from simulate.readings.plates.solve_plates import SolvedPlates
from simulate.readings.squares.solve_squares import SolvedSquares
from simulate.surface.flatness import zones_um
from simulate.surface.straightness import straightness

_FORMS = 400
"""Draws of a body's shape that its form is worked out for."""
_QUANTITIES = {
    "flatness": "flatness",
    "straightness": "straightness",
    "twist": "twist",
    "parallelism of the sides": "parallelism",
    "parallelism": "parallelism",
    "thickness variation": "even thickness",
    "squareness": "right angle",
    "offset": "offset",
    "angle": "angle",
}
"""Feature of a network to quantity."""


_GAUGES = ("the square",)
"""What readings tell beside the work: a gauge that they were taken with."""
_ZONES = ("flatness", "straightness", "thickness variation")
"""Features that are never below zero."""


class Lack(StrEnum):
    """Why readings do not say well enough how good a body is."""

    SPREAD = "spread"
    """Nothing tells how good one reading is."""
    OPEN = "open"
    """Readings that are open on one side leave it open."""
    CONTRADICTION = "contradiction"
    """Intervals contradict each other: a reading is wrong."""


@dataclass(frozen=True, kw_only=True)
class Form:
    """How good one body is.

    `worst_um`: what to hold against what is wanted: how far out it may be with 95 %; for a square, over the height
    read. None for a slope of ways, which is held against `limit`. `limit`: published ends, in `unit`. `lack`: why it is
    told too badly to stop by. `part`: of the body, where several are told of one, such as ``"front"``.
    """

    body: str
    quantity: str
    unit: str
    value: float
    low_95: float | None
    high_95: float | None
    worst_um: float | None
    limit: tuple[float, float] | None = None
    lack: Lack | None = None
    part: str = ""

    @property
    def slope(self) -> bool:
        """Whether it is how ways lie to each other, and no form of one body."""
        return self.unit == "urad" and self.quantity != "squareness"


def forms(found: Findings, name: str) -> list[Form]:
    """Say how good each body is that readings are of.

    `name`: what stands in for a body without a name.

    A form (straightness, flatness) is never below zero, and errors of readings make it look larger: its range is
    one-sided, 95 of 100 shapes that the readings leave being straighter or flatter than its end.
    """
    s = found.solution
    if isinstance(s, SolvedLines | SolvedBed | Aligned):
        return _features(s.heights, s.features, name, found)
    if isinstance(s, BarSolution | SolvedPlates):
        return _bodies(s, found)
    if isinstance(s, SolvedSquares):
        return _squares(s, found)
    if isinstance(s, SolvedWedge):
        return [_eye(s, name)]
    value = float("nan") if found.form_um is None else float(found.form_um)
    floor = None if found.stop is None else float(np.max(found.stop.floor_um))
    highest = None if floor is None or not np.isfinite(floor) or found.sd_from == "assumed" else value + floor
    if isinstance(s, SolvedLands):
        return [_form(name, "straightness", value, highest, _lack_of(found, s, bool(s.open_mm)))]
    return [_form(name, "flatness", value, highest, _lack_of(found, s, False))]


def _bodies(s: BarSolution | SolvedPlates, found: Findings) -> list[Form]:
    """Give the form of each bar or plate."""
    if isinstance(s, BarSolution):
        quantity, form = "straightness", s.straightness_um
        most = _most(s.height_um, s.draws_um, s.low_95_um, lambda shape: straightness(s.x_mm, shape).value_um)
    else:
        quantity, form = "flatness", s.flatness_um
        most = _most(s.height_um, s.draws_um, s.low_95_um, lambda shape: _flat(s, shape))
    lack = _lack_of(found, s, bool(s.open_rows))
    return [_form(*one, lack) for one in zip(s.names, [quantity] * len(s.names), form, most)]


def _eye(s: SolvedWedge, name: str) -> Form:
    return Form(
        body=name,
        quantity="threshold",
        unit="um",
        value=s.eye.threshold_um,
        low_95=s.low_um,
        high_95=s.high_um,
        worst_um=s.high_um,
    )


def _lack_of(found: Findings, solution: object, open_: bool) -> Lack | None:
    """Say why a body is not told well enough to stop by; a contradiction outweighs an open end."""
    if wrong(getattr(solution, "against", None)):
        return Lack.CONTRADICTION
    if open_:
        return Lack.OPEN
    return Lack.SPREAD if found.sd_from == "assumed" else None


def _form(body: str, quantity: str, value: float, most: float | None, lack: Lack | None) -> Form:
    most = None if most is None or not np.isfinite(most) else float(most)
    lack = Lack.SPREAD if lack is None and most is None else lack
    return Form(
        body=body,
        quantity=quantity,
        unit="um",
        value=float(value),
        low_95=None,
        high_95=most,
        worst_um=most,
        lack=lack,
    )


def _features(heights: SolvedHeights, features: tuple[Feature, ...], name: str, found: Findings) -> list[Form]:
    """Give what the readings tell of a network: a face by its flatness, all else by every feature."""
    told = [one for one in features if one.told and one.name in _QUANTITIES and one.of not in _GAUGES]
    flat = [one for one in told if one.name == "flatness"]
    return [_feature(heights, one, "" if flat else one.of, name, found) for one in flat or told]


def _feature(heights: SolvedHeights, one: Feature, of: str, name: str, found: Findings) -> Form:
    quantity, zone, slope = _QUANTITIES[one.name], one.name in _ZONES, one.unit == "um/m"
    low, high = (one.low_95, one.high_95) if one.ranged else (None, None)
    lack = _lack_of(found, heights, one.open)
    if lack in (None, Lack.SPREAD):  # of several instruments some are known though others are only assumed
        lack = None if one.ranged else Lack.SPREAD
    limit = (one.limit.low, one.limit.high) if one.limit is not None and not zone else None
    return Form(
        body=name,
        part=of,
        quantity=quantity,
        unit="urad" if slope else "um",
        value=float(one.value),
        low_95=None if zone else low,
        high_95=high,
        worst_um=None if slope or low is None or high is None else max(abs(low), abs(high)),
        limit=limit,
        lack=lack,
    )


def _most(height, draws, low_95, form_of) -> list[float | None]:
    """The form that 95 of 100 shapes do not exceed, for each body; None where nothing tells a range."""
    if draws is None or low_95 is None:
        return [None] * len(height)
    some = draws[:: max(1, len(draws) // _FORMS)]
    return [float(np.quantile(form_of(height[i] + some[:, i]), 0.95)) for i in range(len(height))]


def _flat(s: SolvedPlates, shape: np.ndarray) -> np.ndarray:
    seen = np.isfinite(shape).all(axis=0)
    return zones_um(s.x_mm[seen], s.y_mm[seen], shape[:, seen])


def _squares(s: SolvedSquares, found: Findings) -> list[Form]:
    forms = []
    for k, name in enumerate(s.names):
        lack = _lack_of(found, s, s.settled is not None and not s.settled[k])
        low = high = worst = None
        if s.low_95_urad is not None and s.high_95_urad is not None:
            ends = float(s.low_95_urad[k]), float(s.high_95_urad[k])
            if np.isfinite(ends).all():
                low, high = ends
                worst = max(abs(low), abs(high)) * float(s.tall_mm[k]) / 1000
        forms.append(
            Form(
                body=name,
                quantity="squareness",
                unit="urad",
                value=float(s.angle_urad[k]),
                low_95=low,
                high_95=high,
                worst_um=worst,
                lack=lack or (Lack.SPREAD if low is None else None),
            )
        )
    return forms
