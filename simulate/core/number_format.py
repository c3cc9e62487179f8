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
    >>> three(179.5 - 1e-12), three(179.5 + 1e-12)
    ('180', '180')
    """
    return f"{round(float(value), 6):.3g}"
