"""Two bars: they learn to agree, not to be straight."""

from __future__ import annotations

from simulate.method.bars.bar_history import BarHistory
from simulate.show.bars.run_panel import RunPanel
from simulate.show.drawing.run_sentences import two_bar_words


class TwoBarsPanel(RunPanel):
    """Two bars filed until no light shows between them, look by look.

    Parameters
    ----------
    length_mm : float
    seed : int
    error_um, removal_um, share, sight_um : float
    tool : str
    units : str, optional
    dpi : int

    Examples
    --------
    >>> TwoBarsPanel().sentence.startswith("Bar 2 on bar 1")
    True
    """

    def __init__(
        self,
        length_mm: float = 500,
        seed: int = 1,
        error_um: float = 300,
        removal_um: float = 10,
        share: float = 0.5,
        sight_um: float = 2.5,
        tool: str = "second-cut file",
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        first = {"error_um": error_um, "removal_um": removal_um, "share": share, "sight_um": sight_um, "tool": tool}
        super().__init__(2, length_mm, seed, units, dpi, **first)

    def laid_anew(self, place: int) -> bool:
        """Say whether it is seen that bar 2 comes to lie on bar 1: once it was filed first, and at the end."""
        return place in (1, len(self.history.steps) - 1)

    def words(self, history: BarHistory, place: int, values: dict) -> str:
        """Say what the picture shows."""
        return two_bar_words(history, place, self.units)
