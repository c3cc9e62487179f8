"""Photographs of prints rendered from known marks, with all that a workshop does to them."""

import io
from dataclasses import dataclass

import numpy as np
import scipy
from PIL import Image

from simulate import points_per_square_inch
from simulate.readings.photo.straightened import projected, projection

FINE = 10
"""Cells of a true face to a millimetre."""
MADE = ("round", "ragged", "touching", "scraped")
"""Spots that stand apart; ragged ones, down to 0.4 mm apart; spots that lie over each other; high places of a face that
strokes cross."""
INK = {"blue": (0.05, 0.08, 0.22), "red": (0.32, 0.07, 0.06)}
"""Part of the light that compound sends back, by colour."""


@dataclass(frozen=True, kw_only=True)
class Rendered:
    """A photograph, and what it is of."""

    data: bytes
    corner_px: np.ndarray
    wide_mm: float
    deep_mm: float
    face: np.ndarray

    def truth(self) -> tuple[float, float, int]:
        """Share, points to a square inch and number of the marks themselves."""
        x, y = ((np.arange(many) + 0.5) / FINE for many in self.face.shape[::-1])
        found, _ = scipy.ndimage.label(self.face, np.ones((3, 3)))
        spots = int((np.bincount(found.ravel())[1:] >= FINE**2).sum())
        return float(self.face.mean()), float(points_per_square_inch(x, y, self.face).mean()), spots


def smooth(rng, shape, *widths):
    """A field without a scale of its own: noise smoothed by each of the widths, the mean 0 and the spread 1."""
    field = sum(scipy.ndimage.gaussian_filter(rng.normal(size=shape), w) * np.prod(w) ** 0.5 for w in widths)
    return (field - field.mean()) / field.std()


def spotted(rng, shape, share, radius_mm, apart_mm, ragged):
    """Spots until so much of a face is covered; with no distance asked for they lie over each other."""
    face, near, tries = np.zeros(shape, bool), np.zeros(shape, bool), 0
    while face.mean() < share and tries < 20_000:
        tries += 1
        r, a, b = rng.uniform(0.6, 1.4) * radius_mm * FINE, rng.uniform(0, shape[0]), rng.uniform(0, shape[1])
        lean, squash, far = rng.uniform(0, np.pi), rng.uniform(0.5, 1), 1.5 * r + apart_mm * FINE
        part = tuple(slice(max(0, int(c - far)), min(m, int(c + far) + 2)) for c, m in zip((a, b), shape))
        dy, dx = np.ogrid[part]
        dy, dx = dy - a, dx - b
        u, v = dx * np.cos(lean) + dy * np.sin(lean), dy * np.cos(lean) - dx * np.sin(lean)
        waves = [(rng.normal() / k, k, rng.uniform(0, 2 * np.pi)) for k in (2, 3, 4, 5)]
        edge = r * (1 + ragged * sum(size * np.cos(k * np.arctan2(v, u) + at) for size, k, at in waves))
        mark = np.hypot(u, v / squash) < edge
        if apart_mm == 0 or not (mark & near[part]).any():
            face[part] |= mark
            near[part] |= scipy.ndimage.binary_dilation(mark, iterations=int(apart_mm * FINE)) if apart_mm else mark
    return face


def rendered_edge(seed: int, gap_um=None, film_um=3.0, ink="blue", glare=True, long=500.0, deep=10.0) -> Rendered:
    """Photograph an edge whose filed face printed where it lay within the film; `gap_um` along it, or one by chance.

    The photograph shows it as a phone does that is held over the bar; the corners are set by a hand.
    """
    rng = np.random.default_rng(seed)
    x = (np.arange(round(long * FINE)) + 0.5) / FINE
    u = 2 * x / long - 1
    if gap_um is None:
        bow = rng.uniform(5, 25) * (u**2 if seed % 2 else 1 - u**2) + rng.normal() * 3 * u**3
        gap_um = bow - bow.min()
    file_marks = 1.2 * np.abs(smooth(rng, (round(deep * FINE), x.size), (5, 30)))
    face = gap_um + file_marks - file_marks.min(0) < film_um
    corner, size = aslant(rng, long, deep)
    pixels = exposed(rng, face, corner, size, (long, deep), INK[ink], glare)
    return as_jpeg(rng, pixels, corner, (long, deep), face)


def rendered(seed: int) -> Rendered:
    """Photograph a face of which every fourth seed gives the same make, in blue and red by turns of four."""
    rng = np.random.default_rng(seed)
    made, ink = MADE[seed % len(MADE)], INK[("blue", "red")[seed // len(MADE) % 2]]
    wide = float(rng.uniform(95, 150))
    deep = wide * float(rng.uniform(0.7, 1.0))
    shape = round(deep * FINE), round(wide * FINE)
    if made == "scraped":
        high = smooth(rng, shape, (14, 22), (22, 14), (9, 9))
        face = high > np.quantile(high, 1 - rng.uniform(0.1, 0.25))
    else:
        apart, ragged = {"round": (0.6, 0.0), "ragged": (0.4, 0.12), "touching": (0.0, 0.12)}[made]
        face = spotted(rng, shape, rng.uniform(0.1, 0.3), rng.uniform(1.0, 2.0), apart, ragged)
    corner, size = aslant(rng, wide, deep)
    pixels = exposed(rng, face, corner, size, (wide, deep), ink)
    return as_jpeg(rng, pixels, corner, (wide, deep), face)


def as_jpeg(rng, pixels, corner, sides, face) -> Rendered:
    """Save a picture as a phone does, its corners placed by a hand, and not to the pixel."""
    kept = io.BytesIO()
    Image.fromarray(pixels).save(kept, "JPEG", quality=int(rng.integers(60, 93)))
    placed = corner + rng.normal(0, 0.7, (4, 2))
    return Rendered(data=kept.getvalue(), corner_px=placed, wide_mm=sides[0], deep_mm=sides[1], face=face)


def aslant(rng, wide, deep):
    """Corners of a face three widths away, tilted by up to 25 degrees, with 6 to 10 pixels to a millimetre."""
    turn, tilt, spin = rng.uniform(0, 2 * np.pi), np.radians(rng.uniform(0, 25)), np.radians(rng.uniform(-15, 15))
    made = scipy.spatial.transform.Rotation.from_rotvec
    seen = made([tilt * np.cos(turn), tilt * np.sin(turn), 0]) * made([0, 0, spin])
    at = np.array([(-wide, -deep), (wide, -deep), (wide, deep), (-wide, deep)]) / 2
    three = seen.apply(np.c_[at, np.zeros(4)])
    far = 3 * wide
    corner = three[:, :2] * (far / (far - three[:, 2]))[:, None] * rng.uniform(6, 10) * [1, -1]
    corner += 40 - corner.min(0)
    return corner, (np.ceil(corner.max(0)) + 40).astype(int)


def exposed(rng, face, corner, size, sides, ink, glare=True):
    """Light a face unevenly, with glare in every other picture where it may be; the lens blurs, the sensor is noisy."""
    (columns, rows), (wide, deep) = size, sides
    back = projection(corner, [(0, 0), (wide, 0), (wide, deep), (0, deep)])
    x, y = projected(back, np.arange(columns)[None, :], np.arange(rows)[:, None])
    inside = (x >= 0) & (x < wide) & (y >= 0) & (y < deep)
    at = tuple(np.clip((a * FINE).astype(int), 0, many - 1) for a, many in zip((y, x), face.shape))
    soft = scipy.ndimage.gaussian_filter(face.astype(np.float32), 0.8)
    metal = 0.5 * (1 + rng.uniform(0.03, 0.10) * smooth(rng, face.shape, (3, 25), (25, 3)))
    thick = np.clip(0.92 + 0.05 * smooth(rng, face.shape, (30, 30)), 0.6, 1)
    haze = np.clip(0.06 + 0.04 * smooth(rng, face.shape, (40, 40)), 0, 0.15)  # what wiping leaves
    cover = soft * thick + (1 - soft) * haze
    lie, far_off = rng.uniform(0, 2 * np.pi), ((x / wide - 0.5) ** 2 + (y / deep - 0.5) ** 2) * 2
    lamp = rng.uniform(1, 4) ** -(np.cos(lie) * (x / wide - 0.5) + np.sin(lie) * (y / deep - 0.5))
    lamp = np.clip(lamp * (1 - rng.uniform(0, 0.35) * far_off), 0.02, 4) * rng.uniform(0.7, 1.1)
    spot_x, spot_y, spread = rng.uniform(0.1, 0.9) * wide, rng.uniform(0.1, 0.9) * deep, rng.uniform(0.03, 0.08) * wide
    bright = rng.choice([0.0, 0.5]) * rng.uniform(0.3, 1.6)
    shine = glare * bright * np.exp(-((x - spot_x) ** 2 + (y - spot_y) ** 2) / (2 * spread**2))
    sharp, noise, ground, out = rng.uniform(0.6, 1.4), rng.uniform(0.004, 0.015), rng.uniform(0.1, 0.2), []
    for of_metal, of_ink in zip((1.0, 0.95, 0.85), ink):
        light = np.where(inside, (metal * of_metal * (1 - cover) + of_ink * cover)[at], ground) * lamp + shine
        light = scipy.ndimage.gaussian_filter(light, sharp)
        light += rng.normal(0, noise, light.shape) * np.sqrt(np.clip(light, 0.02, 1) / 0.3)
        light = np.clip(light, 0, 1)
        out.append(np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055))  # sRGB
    return np.round(255 * np.stack(out, 2)).astype(np.uint8)
