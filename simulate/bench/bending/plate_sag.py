"""A plate that hangs on three points, or more, by its own weight."""

from __future__ import annotations

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import ArrayLike

from simulate.bench.bending.materials import Material, material_of
from simulate.bench.bending.uniform_bar import GRAVITY_M_S2
from simulate.core import checks
from simulate.core.byte_cache import remembered
from simulate.core.refusal import Refusal, shape_words

_TERMS = 13
_RIGID = np.array([0, 1, _TERMS])


def plate_sag(
    x_mm: ArrayLike,
    y_mm: ArrayLike,
    thickness_mm: float,
    supports_mm: ArrayLike,
    material: str | Material = "grey iron",
    *,
    poisson: float = 0.25,
) -> np.ndarray:
    """Hang a solid rectangular plate on points.

    `x_mm` (columns,): rising, the plate's two edges first and last. `y_mm` (rows,). `supports_mm` (supports, 2): places
    x, y; three or more, not in one line, with the plate's middle among them. `poisson`: sideways growth, 0 to 0.49:
    iron 0.25, steel 0.3, granite 0.2 (from memory). Returns (rows, columns): micrometres, zero at the supports,
    negative where it hangs lower.

    Thin plate with free edges: the least energy among products of 13 by 13
    polynomials. Good to about one part in a hundred; supports are points, so it is least
    exact right over them. It does not see ribs, shear in a thick plate, or the
    dent of a support. With more than three supports all are taken to touch.

    >>> x = np.linspace(-300, 300, 21)
    >>> three = [(-170, -100), (170, -100), (0, 140)]
    >>> bool(np.ptp(plate_sag(x, x * 2 / 3, 60, three)) < 2)
    True
    """
    x, y = checks.positions(x_mm, "x_mm", 3), checks.positions(y_mm, "y_mm", 3)
    thick = checks.number(thickness_mm, "thickness_mm", 0, above=True)
    nu = checks.number(poisson, "poisson", 0, 0.49)
    matter = material_of(material)
    u, v = _unit(x, x), _unit(y, y)
    at = _supports(supports_mm, x, y)
    rigid = matter.young_gpa * 1e3 * thick**3 / (12 * (1 - nu**2))  # N mm
    load = matter.density_kg_m3 * 1e-9 * GRAVITY_M_S2 * thick  # N/mm2
    terms = hung_terms(np.ptp(x) / 2, np.ptp(y) / 2, nu, at)
    return 1e3 * load / rigid * legendre.leggrid2d(v, u, terms)


def hung_terms(half_x_mm: float, half_y_mm: float, nu: float, at: np.ndarray) -> np.ndarray:
    """Products of Legendre polynomials that a plate of rigidity 1 under a load of 1 takes, unchecked.

    `half_x_mm`, `half_y_mm`: half its sides. `at` (supports, 2): from -1 to 1 each way. Returns (13, 13): y counts
    first.

    An even load does no work on a bent product, so that only the supports bend
    the plate: what each lifts at each other is known beforehand for the shape
    of the plate, and the forces follow from balance and level supports.

    >>> corners = np.array([[-1, -1], [1, -1], [-1, 1], [1, 1]])
    >>> round(float(legendre.legval2d(0, 0, hung_terms(0.5, 0.5, 0.3, corners))), 4)
    -0.0255
    """
    give, bent = _give(half_x_mm, half_y_mm, nu)
    hold = np.stack([np.kron(legendre.legval(q, np.eye(_TERMS)), legendre.legval(p, np.eye(_TERMS))) for p, q in at])
    stiff, level = hold[:, bent], hold[:, _RIGID]
    lift = give @ stiff.T
    both = np.block([[stiff @ lift, level], [level.T, np.zeros((3, 3))]])
    weight = np.zeros(len(both))
    weight[len(at)] = 4 * half_x_mm * half_y_mm
    scale = np.abs(both[: len(at), : len(at)]).max()  # forces and heights differ by orders: make them alike
    both[: len(at), : len(at)] /= scale
    found = np.linalg.lstsq(both, weight, rcond=1e-13)[0]
    terms = np.zeros(_TERMS**2)
    terms[bent] = lift @ found[: len(at)]
    terms[_RIGID] = scale * found[len(at) :]
    return terms.reshape(_TERMS, _TERMS)


@remembered
def _give(a: float, b: float, nu: float) -> tuple[np.ndarray, np.ndarray]:
    """How much the bent products give way, and which they are: all but the three that only shift and tilt."""
    bent = np.setdiff1d(np.arange(_TERMS**2), _RIGID)
    return np.linalg.inv(_energy(a, b, nu)[np.ix_(bent, bent)]), bent


def _unit(place: np.ndarray, whole: np.ndarray) -> np.ndarray:
    return (2 * place - whole[0] - whole[-1]) / (whole[-1] - whole[0])


def _supports(supports_mm: ArrayLike, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    found = checks.profiles(supports_mm, 2, "supports_mm")
    if found.ndim != 2 or len(found) < 3:
        raise Refusal(
            "shape",
            where="supports_mm",
            found=shape_words(found.shape),
            must_be="three places or more, x and y of each",
        )
    at = np.column_stack([_unit(found[:, 0], x), _unit(found[:, 1], y)])
    out = np.abs(at).max(axis=1) > 1 + 1e-9
    if out.any():
        wrong = found[out][0]
        raise Refusal(
            "place",
            where="supports_mm",
            found=f"({wrong[0]:g}, {wrong[1]:g})",
            must_be=f"on the plate, {x[0]:g} to {x[-1]:g} by {y[0]:g} to {y[-1]:g}",
        )
    if np.linalg.matrix_rank(np.column_stack([np.ones(len(at)), at]), tol=1e-6) < 3:
        raise Refusal(
            "place",
            where="supports_mm",
            found="in one line",
            must_be="three places that are not in one line, or the plate tips",
        )
    turn = np.diff(np.sort(np.arctan2(at[:, 1], at[:, 0])), append=np.arctan2(at[:, 1], at[:, 0]).min() + 2 * np.pi)
    if turn.max() > np.pi + 1e-9:
        raise Refusal(
            "place",
            where="supports_mm",
            found="all on one side of the middle of the plate",
            must_be="round its middle, or the plate tips",
        )
    return at


def _energy(a: float, b: float, nu: float) -> np.ndarray:
    """Stiffness of all products of polynomials for a rigidity of 1; y counts first."""
    node, weight = legendre.leggauss(_TERMS + 1)
    d0, d1, d2 = (
        legendre.legval(node, legendre.legder(np.eye(_TERMS), k)) if k else legendre.legval(node, np.eye(_TERMS))
        for k in (0, 1, 2)
    )

    def over(f, g):
        return (f * weight) @ g.T

    xx, xy, cross = over(d2, d2), over(d1, d1), over(d2, d0)
    flat = over(d0, d0)
    stiff = np.kron(flat, xx) * b / a**3 + np.kron(xx, flat) * a / b**3
    mixed = np.kron(cross.T, cross) + np.kron(cross, cross.T)
    return stiff + (nu * mixed + 2 * (1 - nu) * np.kron(xy, xy)) / (a * b)
