"""What is said of gauges laid along a bar."""

from __future__ import annotations

import numpy as np

from simulate.method.lands.between_points import straightness_to_expect
from simulate.method.lands.design_matrix import row_of
from simulate.method.lands.land_fit import Fit
from simulate.show.drawing import style
from simulate.show.lands.laying import Known

_NONE = 1e-6  # a redundancy below this is none
_DRAWS = 500


def laid_words(found: Known, laid: tuple[Fit, ...], fits: int, proud_um: float = 0.0, units: str = "mm") -> str:
    """Say which points are straight, how surely, and what checks what.

    `fits`: fits of the whole way, laid or not. `proud_um`: how far the middle of every gauge stands proud.

    >>> from simulate.show.lands.laying import known, layings
    >>> laid = layings("anchored", 3, 600, 1.0)
    >>> laid_words(known(laid, np.array([0.0, 300, 600])), laid, 1)[:72]
    'The only fit is made. Fixed so far: 0, 300, 600 mm. The least certain is'
    """

    def row(which) -> str:
        return row_of(np.round(style.place(found.x_mm[which], units), 2)) + (" in" if units == "inch" else " mm")

    said = [f"{_made(len(laid), fits)} Fixed so far: {row(found.reached)}."]
    loose = ~found.reached & found.touched
    if loose.any():
        said.append(f"Touched, but not yet fixed relative to the two ends: {row(loose)}.")
        ways = len(found.swings)
        said.append(f"They may still swing together{f', in {ways} ways' if ways > 1 else ''}: dotted.")
    if (~found.touched).any():
        said.append(f"Not touched: {row(~found.touched)}.")
    if found.reached.sum() > 2:
        worst = int(np.nanargmax(np.round(found.sd_um, 9)))
        said.append(
            f"The least certain is {row([worst])}: ± {style.spell(found.sd_um[worst], units)} (one standard deviation)."
        )
        said += _spreads(laid, units) + _straightness(found, proud_um, units)
        said.append(_checked(found))
        if proud_um:
            off = int(np.nanargmax(np.round(np.abs(found.height_um), 9)))
            said.append(
                f"The middle of every gauge is {_signed(proud_um, units)}; a bar worked to them is "
                f"{_signed(found.height_um[off], units)} at {row([off])}."
            )
    return " ".join(said)


def _made(laid: int, fits: int) -> str:
    """How many of the fits are made, in words that fit 0, 1 and more."""
    if not fits:
        return "No gauge is laid yet."
    if laid == fits:
        return "The only fit is made." if fits == 1 else f"All {fits} fits are made."
    return f"{laid or 'None'} of {fits} fits {'is' if laid < 2 else 'are'} made."


def _spreads(laid: tuple[Fit, ...], units: str) -> list[str]:
    spreads = [f.sd_um for f in laid]
    if min(spreads) == max(spreads):
        return []
    return [
        f"The repeatability of the fits ranges from {style.spell(min(spreads), units)} to "
        f"{style.spell(max(spreads), units)}."
    ]


def _straightness(found: Known, proud_um: float, units: str) -> list[str]:
    """What to expect of all points together, once all of them are straight."""
    if proud_um or not found.reached.all():
        return []
    expected = straightness_to_expect(found.network, _DRAWS, seed=1)
    return [
        f"Expect half of such bars to have their points straight within {style.spell(expected.middle_um, units)}, 19 "
        f"in 20 within {style.spell(expected.nineteen_in_twenty_um, units)}."
    ]


def _checked(found: Known) -> str:
    count = round(found.checks)
    if not count:
        return "No fit is checked by the others."
    alone = np.flatnonzero(found.network.redundancy < _NONE) + 1
    names = (
        ""
        if not alone.size
        else f"; nothing checks fit {alone[0]}"
        if alone.size == 1
        else f"; nothing checks fits {row_of(alone)}"
    )
    return f"{count} of the readings {'is' if count == 1 else 'are'} left over for checking{names}."


def _signed(um: float, units: str) -> str:
    return f"{style.spell(abs(um), units)} {'proud' if um > 0 else 'hollow'}"
