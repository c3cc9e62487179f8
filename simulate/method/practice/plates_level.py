"""The practice bench with three plates: prints of marking, feelers along the rim, and the scraper."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from simulate.bench.cutting import scraping
from simulate.bench.cutting.scrape_marks import MEMORY, PITCHES_MM, Scraped, grain
from simulate.bench.looking import sight, spotting
from simulate.bench.seating.placement import TURNS, face_plate, overlap
from simulate.bench.seating.plate_seat import PlateRest, seat_plate
from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.method.planning.job import PACES
from simulate.method.planning.toil import marking_s
from simulate.method.plates.plate_null_space import hidden_plate_errors
from simulate.method.plates.symmetry import beyond_plane
from simulate.method.practice.state import BODIES, MOST_PASSES, Answer, Cut, Level, PracticeState, do_cut, frozen
from simulate.surface.starting_plates import starting_plates

POINTS = 31
SLIDES = {"none": (0, 0), "to the right": (6, 0), "away from you": (0, 6), "slanting": (6, 6)}
"""Grid steps along x and along y: a fifth of the side."""
FILMS_UM, DEPTHS_UM, SPOTS_MM = (0.5, 50.0), (0.5, 10.0), (2.0, 25.0)
SIGHTS = frozen(marking_compound=sight.Sight("marking compound", 2.0), feeler=sight.Sight("feeler", 50.0))
MOST_PRESS_H = 4.0
"""One press works no longer than about this, however many passes were asked for; another goes on."""

_COARSE = 3  # every third point is enough to say which shapes a fit can show


def fitted(state: PracticeState) -> PlateRest:
    """Lay the one plate on the other, as they truly are.

    >>> from simulate.method.practice.acts import start_practice
    >>> float(fitted(start_practice(level="plates")).gap_um.min())
    0.0
    """
    slide = SLIDES[state.slide]
    step = state.x_mm[1] - state.x_mm[0]
    pair = state.height_um[state.lower] + face_plate(state.height_um[state.upper], int(state.turned), slide)
    return seat_plate(state.x_mm, state.x_mm, pair, (slide[0] * step, slide[1] * step))


def own_side(state: PracticeState, seen: np.ndarray) -> np.ndarray:
    """Bring what was seen where the plates meet back onto the upper plate's own face.

    `seen` (rows, columns): on the lower plate. Returns (rows, columns): 0 or False where nothing met it.

    >>> from simulate.method.practice.acts import start_practice
    >>> state = start_practice(level="plates")
    >>> left = state.x_mm[None, :] < 0
    >>> bool(own_side(state, np.repeat(left, 31, axis=0))[0, -1])
    True
    """
    own = np.zeros_like(seen)
    low, up = overlap(*seen.shape, int(state.turned), SLIDES[state.slide])
    own.ravel()[up] = seen.ravel()[low]
    return own


def _look(state: PracticeState, kind: str, film_um: float | None) -> Answer:
    settled = fitted(state)
    gap = settled.gap_um
    met = np.isfinite(gap)
    if kind == "feeler":
        if film_um is not None:
            raise Refusal("act", where="film_um", found=f"{film_um!r}", must_be="empty, because a feeler takes no film")
        rows, columns = (np.flatnonzero(met.any(axis=a))[[0, 0, 0, -1, -1, -1]] for a in (1, 0))
        i = np.array(
            [
                rows[0],
                rows[0],
                rows[0],
                (rows[0] + rows[-1]) // 2,
                rows[-1],
                rows[-1],
                rows[-1],
                (rows[0] + rows[-1]) // 2,
            ]
        )
        middle = (columns[0] + columns[-1]) // 2
        j = np.array([columns[0], middle, columns[-1], columns[-1], columns[-1], middle, columns[0], columns[0]])
        return Answer(kind, state.x_mm[j], sight.look(gap[i, j], SIGHTS[kind]), bool(settled.rocks), y_mm=state.x_mm[i])
    film = 2.0 if film_um is None else checks.number(film_um, "film_um", *FILMS_UM)
    printed = spotting.marked(gap, film)
    seen = sight.Seen(
        met & ~printed,
        np.where(printed, 0.0, film),
        np.where(printed, film, np.inf),
        f"A print means a gap under the film of {film:g} µm, not contact; where nothing is marked the gap "
        "may have any width.",
    )
    printed_marks = None if state.rules < 4 else _rubbed(state, gap, film)
    return Answer(
        kind, state.x_mm, seen, bool(settled.rocks), y_mm=state.x_mm, met=met, film_um=film, print=printed_marks
    )


def _tired(state: PracticeState, taken: list[np.ndarray], looks: int) -> bool:
    """Whether a press has worked long enough; under rules before 4 it worked on."""
    if state.rules < 4 or not taken:
        return False
    pace = PACES["scraper"]
    strokes = metal_mm3(state.x_mm, np.sum(taken, axis=0)) / pace.stroke_mm3
    return strokes * pace.stroke_s + looks * marking_s(state.length_mm) >= 3600 * MOST_PRESS_H


def _rubbed(state: PracticeState, gap_um: np.ndarray, film_um: float) -> spotting.Print:
    """The marks of both plates, by the passes that went over them."""
    x = state.x_mm
    faces = [grain(state.scraped[plate], gap_um.shape, x[1] - x[0]) for plate in (state.lower, state.upper)]
    slide = SLIDES[state.slide]
    return spotting.rub(x, x, gap_um, *faces, turned=int(state.turned), slide=slide, film_um=film_um)


def _marks(state: PracticeState, plate: int, taken: list[np.ndarray], spot_mm: float) -> tuple[Scraped, ...]:
    """Passes over a plate, as its face shows them."""
    pitch = max(spot_mm, PITCHES_MM[0])
    return tuple(Scraped(one, pitch, (state.seed, len(state.acts), plate, k)) for k, one in enumerate(taken))[-MEMORY:]


def _laid(_state: PracticeState, press_mm: float | None, slide: str) -> dict:
    if press_mm is not None:
        raise Refusal(
            "act", where="press_mm", found=f"{press_mm!r}", must_be="empty, because a plate lies by its own weight"
        )
    return {"slide": checks.choice(slide, "slide", tuple(SLIDES))}


def _scraped(
    state: PracticeState,
    taken: np.ndarray,
    passes: int,
    looks: int,
    below: np.ndarray | float = 0.0,
    scraped: tuple[tuple[Scraped, ...], ...] = ((), ()),
) -> Cut:
    pace = PACES["scraper"]
    strokes = math.ceil(metal_mm3(state.x_mm, taken + below) / pace.stroke_mm3 - 1e-9)
    lower = state.height_um[state.lower] - below if np.any(below) else None
    return Cut(state.height_um[state.upper] - taken, strokes, passes, looks, strokes * pace.stroke_s, lower, scraped)


def _file(
    state: PracticeState,
    x_mm: float,
    y_mm: float,
    region_mm: float,
    passes: int,
    depth_um: float = 4.0,
    spot_mm: float = 8.0,
    *,
    rng: np.random.Generator,
) -> tuple[dict, Cut]:
    half = state.length_mm / 2
    x, y = checks.number(x_mm, "x_mm", -half, half), checks.number(y_mm, "y_mm", -half, half)
    region = checks.number(region_mm, "region_mm", state.x_mm[1] - state.x_mm[0], state.length_mm)
    passes = checks.whole(passes, "passes", 1, MOST_PASSES)
    depth, spot = checks.number(depth_um, "depth_um", *DEPTHS_UM), checks.number(spot_mm, "spot_mm", *SPOTS_MM)
    along, across = (
        np.abs(state.x_mm - state.x_mm[np.abs(state.x_mm - p).argmin()]) <= region / 2 + 1e-9 for p in (x, y)
    )
    stretch = scraping.unevenness(state.x_mm, state.x_mm, scraping.Scraper(spot), rng)
    taken = []
    while len(taken) < passes and not _tired(state, taken, 0):
        taken.append(depth * scraping.laid(stretch, scraping.places_on(stretch, 1, rng))[0] * np.outer(across, along))
    given = {"x_mm": x, "y_mm": y, "region_mm": region, "passes": passes, "depth_um": depth, "spot_mm": spot}
    return given, _scraped(
        state, np.sum(taken, axis=0), len(taken), 0, scraped=(_marks(state, state.upper, taken, spot), ())
    )


def _touch(
    state: PracticeState,
    passes: int,
    film_um: float = 2.0,
    depth_um: float = 4.0,
    spot_mm: float = 8.0,
    both: bool = False,
    *,
    rng: np.random.Generator,
) -> tuple[dict, Cut]:
    passes = checks.whole(passes, "passes", 1, MOST_PASSES)
    film = checks.number(film_um, "film_um", *FILMS_UM)
    depth, spot = checks.number(depth_um, "depth_um", *DEPTHS_UM), checks.number(spot_mm, "spot_mm", *SPOTS_MM)
    checks.choice(both, "both", (False, True))
    slide, step = SLIDES[state.slide], state.x_mm[1] - state.x_mm[0]
    stretch = scraping.unevenness(state.x_mm, state.x_mm, scraping.Scraper(spot), rng)
    pair = state.height_um[state.lower] + face_plate(state.height_um[state.upper], int(state.turned), slide)
    off, taken = np.zeros(pair.shape), []
    while len(taken) < passes and not _tired(state, taken, len(taken)):
        gap = seat_plate(state.x_mm, state.x_mm, pair - off, (slide[0] * step, slide[1] * step)).gap_um
        uneven = scraping.laid(stretch, scraping.places_on(stretch, 1, rng))[0]
        taken.append(scraping.scrape_um(np.nan_to_num(gap, nan=np.inf), depth, film, uneven))
        off += taken[-1]
    share = 0.5 if both else 1.0
    marks = (
        _marks(state, state.upper, [own_side(state, share * one) for one in taken], spot),
        _marks(state, state.lower, [(1 - share) * one for one in taken] if both else [], spot),
    )
    given = {"passes": passes, "film_um": film, "depth_um": depth, "spot_mm": spot, "both": bool(both)}
    return given, _scraped(state, own_side(state, share * off), len(taken), len(taken), (1 - share) * off, marks)


def file(state: PracticeState, given: Mapping, rng: np.random.Generator) -> tuple[dict, Cut]:
    """Scrape a square region of the upper plate's own face, marked or not.

    `given`: `x_mm`, `y_mm`, `region_mm`, `passes`, `depth_um`, `spot_mm`.
    """
    return do_cut(_file, state, given, rng)


def touch(state: PracticeState, given: Mapping, rng: np.random.Generator) -> tuple[dict, Cut]:
    """Mark and scrape what printed, again and again.

    `given`: `passes`, `film_um`, `depth_um`, `spot_mm`, `both`.
    """
    return do_cut(_touch, state, given, rng)


def form(_x_mm: np.ndarray, height_um: np.ndarray) -> np.ndarray:
    """Give the peak to valley from each plate's least-squares plane.

    `height_um` (..., rows, columns). Returns (...).
    """
    return np.ptp(beyond_plane(height_um), axis=(-2, -1))


def metal_mm3(x_mm: np.ndarray, taken_um: np.ndarray) -> np.ndarray:
    """Give the metal, each grid point with its own square.

    `taken_um` (..., rows, columns). Returns (...).
    """
    return taken_um.sum(axis=(-2, -1)) * (x_mm[1] - x_mm[0]) ** 2 * 1e-3


def hidden(_x_mm: np.ndarray, height_um: np.ndarray, fits: tuple) -> tuple[np.ndarray, float]:
    """Find the part of what is left that makes no gap in any fit, on every third point.

    `height_um` (3, rows, columns). Returns `hidden_um` (3, fewer rows, fewer columns). `share`: of what is left, by
    squares.
    """
    left = beyond_plane(height_um[:, ::_COARSE, ::_COARSE])
    placed = [(a, b, int(turned), *(s // _COARSE for s in SLIDES[slide])) for a, b, turned, slide in fits]
    loose = hidden_plate_errors(left.shape[-1], placed, BODIES).reshape(-1, left.size)
    part = (loose.T @ (loose @ left.ravel())).reshape(left.shape)
    whole = float((left**2).sum())
    return part, float((part**2).sum()) / whole if whole else 0.0


def _start(seed: int, error_um: float, length_mm: float) -> tuple[np.ndarray, np.ndarray]:
    x, _, height = starting_plates(length_mm, length_mm, error_um, POINTS, BODIES, seed=seed)
    return x, height


LEVEL = Level(
    "plates",
    "plate",
    (40.0, 200.0),
    (5, 200),
    (60, 600),
    5.0,
    TURNS,
    SIGHTS,
    _start,
    _laid,
    _look,
    file,
    touch,
    form,
    metal_mm3,
    hidden,
    look_s=marking_s,
)
"""Plates do not move here. What the scraper frees, of 40 MPa in a raw casting, comes while they are worked: after the
stop no face moves by more than 0.2 µm, against the aim of 5."""
