"""What a lathe may be out by when it is put together: figures of ISO 1708, all from memory."""

from __future__ import annotations

from dataclasses import dataclass

from simulate.core import checks
from simulate.surface.tolerances.limits import where


@dataclass(frozen=True)
class MachineLimit:
    """One line of the table.

    `low_um`, `high_um`: allowed over `over_mm`; where only one sense is allowed, the other end is 0. `sense`: what a
    plus is.
    """

    what: str
    low_um: float
    high_um: float
    over_mm: float
    sense: str


_ALL = (
    MachineLimit(
        "twist of the bed",
        -40.0,
        40.0,
        1000.0,
        "the back way rises towards the tailstock; the length is that across the bed",
    ),
    MachineLimit("axis in the vertical plane", 0.0, 20.0, 300.0, "the free end of the bar is higher"),
    MachineLimit("axis in the horizontal plane", 0.0, 15.0, 300.0, "the free end of the bar is nearer to the tool"),
    MachineLimit("cross slide square to the axis", 0.0, 20.0, 300.0, "a face that it turns comes out hollow"),
    MachineLimit("height of the tailstock over the headstock", 0.0, 40.0, 0.0, "the tailstock is higher"),
)
ISO_1708 = {limit.what: limit for limit in _ALL}
"""By what is checked (ISO 1708 for lathes up to 800 mm swing, from memory: read the standard before you rely on it)."""


def machine_sentence(what: str, found_um: float, over_mm: float | None = None) -> str:
    """Say whether a reading is inside its limit.

    Parameters
    ----------
    what : str
        A name in `ISO_1708`.
    found_um : float
    over_mm : float, optional
        Length over which it was read; that of the table without it. The limit goes with the length.

    Returns
    -------
    str

    Raises
    ------
    ValueError
        Where the table has no such line, or a figure is impossible.

    Examples
    --------
    >>> machine_sentence("axis in the vertical plane", 8, 150)
    'axis in the vertical plane: +8 µm over 150 mm, inside 0 to 10 µm (ISO 1708†)'
    >>> machine_sentence("axis in the horizontal plane", -4)
    'axis in the horizontal plane: -4 µm over 300 mm, outside 0 to 15 µm (ISO 1708†)'
    """
    limit = ISO_1708[checks.choice(what, "what", tuple(ISO_1708))]
    over = limit.over_mm if over_mm is None else checks.number(over_mm, "over_mm", 0, above=True)
    part = over / limit.over_mm if limit.over_mm else 1.0
    low, high = limit.low_um * part, limit.high_um * part
    found = checks.number(found_um, "found_um")
    side = where(found, high) if found >= 0 else where(-found, -low)
    place = f" over {over:g} mm" if limit.over_mm else ""
    return f"{what}: {found:+.3g} µm{place}, {side} {low:.3g} to {high:.3g} µm (ISO 1708†)"
