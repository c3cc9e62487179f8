"""Figures as they are told."""

from __future__ import annotations


def three(value: float) -> str:
    """Return three figures of a value, the same on every machine.

    Notes
    -----
    A millionth is rounded off first: 179.5 is then told alike where one machine has a hair more and another a hair
    less.

    Examples
    --------
    >>> three(179.5 - 1e-12), three(179.5 + 1e-12), three(1234.0)
    ('180', '180', '1230')
    """
    return _plain(value, 3)


def two(value: float) -> str:
    """Return two figures of a value, never as a power of ten.

    Examples
    --------
    >>> two(183.2), two(2.46), two(1234.0)
    ('180', '2.5', '1200')
    """
    return _plain(value, 2)


def _plain(value: float, figures: int) -> str:
    return f"{float(f'{round(float(value), 6):.{figures}g}'):.6f}".rstrip("0").rstrip(".")
