"""The slit between two practice bodies, as pixels: light that glows, and prints of marking."""

from __future__ import annotations

import numpy as np
from matplotlib.colors import to_rgb

from simulate.bench.looking.light import BLUE, BRIGHT, CLEAR, DARK, FAINT, RED
from simulate.method.practice.state import Answer
from simulate.show.drawing import style
from simulate.show.drawing.print_map import FACE

ROWS, COLUMNS = 48, 1010
BLACK = "#101010"
_LIGHT = {BLUE: "#5B83FF", RED: "#F04A3A", FAINT: "#B9B6A0", CLEAR: "#F2ECC0", BRIGHT: "#FFFBEA"}
_SPREAD = {BLUE: 0.22, RED: 0.28, FAINT: 0.3, CLEAR: 0.55, BRIGHT: 0.97}
"""How far the glow reaches from the middle of the slit, as a part of half its height."""

NAMES = {DARK: "dark", BLUE: "blue", RED: "red", FAINT: "white", CLEAR: "white", BRIGHT: "bright"}
PRINT = style.BLUE


def columns(answer: Answer, half_mm: float, land_mm: float | None) -> tuple[np.ndarray, np.ndarray]:
    """Say which place of the answer each column of pixels shows.

    `land_mm`: width of a land; None where the face goes all along. Returns `place` (COLUMNS,) of int, `there`
    (COLUMNS,) of bool.
    """
    x = np.linspace(-half_mm, half_mm, COLUMNS) * (1 if land_mm is None else 1 + land_mm / 2 / half_mm)
    away = np.abs(x[:, None] - answer.x_mm)
    there = np.ones(COLUMNS, bool) if land_mm is None else away.min(axis=1) <= land_mm / 2
    return away.argmin(axis=1), there


def light(answer: Answer, half_mm: float, land_mm: float | None = None) -> np.ndarray:
    """Draw the light: its colour and height follow the gap; red is striped and blue is dotted, for eyes that need it.

    `answer`: of a look by light. Returns (ROWS, COLUMNS, 4): colours from 0 to 1, nothing between lands.
    """
    place, there = columns(answer, half_mm, land_mm)
    shine = answer.glow[place]
    v = np.linspace(-1, 1, ROWS)[:, None]
    row, column = np.indices((ROWS, COLUMNS))
    strength, tint = np.zeros((ROWS, COLUMNS)), np.zeros((ROWS, COLUMNS, 3))
    for kind, colour in _LIGHT.items():
        at = shine == kind
        tint[:, at] = to_rgb(colour)
        strength[:, at] = np.exp(-((v / _SPREAD[kind]) ** 4))
    strength[(shine == RED)[None, :] & ((row + column) // 5 % 3 == 0)] *= 0.25
    strength[(shine == BLUE)[None, :] & ((row // 4 + column // 4) % 2 == 0)] *= 0.25
    dark = np.array(to_rgb(BLACK))
    out = np.ones((ROWS, COLUMNS, 4))
    out[..., :3] = dark + strength[..., None] * (tint - dark)
    out[:, ~there, 3] = 0
    return out


def printed(answer: Answer, half_mm: float, land_mm: float | None = None) -> np.ndarray:
    """Draw the print: blots of blue on a pale face.

    `answer`: of a look by marking compound. Returns (ROWS, COLUMNS, 4).
    """
    place, there = columns(answer, half_mm, land_mm)
    shut = ~answer.seen.open[place]
    # The same blots every time: a print's grain, not a measurement.
    grain = (
        np.random.default_rng(1).random((ROWS // 4, COLUMNS // 5 + 1)).repeat(4, axis=0).repeat(5, axis=1)[:, :COLUMNS]
    )
    out = np.ones((ROWS, COLUMNS, 4))
    out[..., :3] = to_rgb(FACE)
    out[shut[None, :] & (grain > 0.25), :3] = to_rgb(PRINT)
    out[:, ~there, 3] = 0
    return out


def runs(labels: np.ndarray) -> list[tuple[int, int]]:
    """Split a row into stretches of the same value.

    `labels` (places,).

    >>> runs(np.array([0, 0, 3]))
    [(0, 1), (2, 2)]
    """
    cuts = np.flatnonzero(np.diff(labels)) + 1
    return [(int(a), int(b) - 1) for a, b in zip(np.r_[0, cuts], np.r_[cuts, labels.size])]


def names(answer: Answer) -> list[tuple[float, str, int]]:
    """Name the stretches of what was seen, the longest first: their middle, their word, and how many places they
    hold."""
    if answer.glow is not None:
        words = np.array([NAMES[int(k)] for k in answer.glow])
    else:
        words = np.where(answer.seen.open, "no print", "print")
    found = [
        (float(answer.x_mm[[a, b]].mean()), str(words[a]), b - a + 1)
        for a, b in runs(np.unique(words, return_inverse=True)[1])
    ]
    return sorted(found, key=lambda run: -run[2])
