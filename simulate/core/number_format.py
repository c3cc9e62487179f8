"""Figures as they are told."""

from __future__ import annotations


def three(value: float) -> str:
    """Return three figures of a value, the same on every machine.

    A millionth is rounded off first: 179.5 is then told alike where one machine has a hair more and another a hair
    less.

    >>> three(179.5 - 1e-12), three(179.5 + 1e-12), three(1234.0), three(-1e-9)
    ('180', '180', '1230', '0')
    """
    return _plain(value, 3)


def two(value: float) -> str:
    """Return two figures of a value, never as a power of ten.

    >>> two(183.2), two(2.46), two(1234.0)
    ('180', '2.5', '1200')
    """
    return _plain(value, 2)


def with_sign(value: float, figures: int = 3) -> str:
    """Return some figures of a value with its sign, never as a power of ten.

    Examples
    --------
    >>> with_sign(1171.0), with_sign(-0.25), with_sign(12345.0, 4)
    ('+1170', '-0.25', '+12340')
    """
    told = _plain(value, figures)
    return told if told[0] == "-" else f"+{told}"


def _plain(value: float, figures: int) -> str:
    # nought has no sign, whichever side it was rounded from
    return f"{float(f'{round(float(value), 6):.{figures}g}') + 0.0:.6f}".rstrip("0").rstrip(".")
