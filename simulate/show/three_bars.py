"""Three bars: the loop that makes a straightedge from nothing."""

from __future__ import annotations

from simulate.method.history import BarHistory
from simulate.show.run_panel import RunPanel
from simulate.show.words import three_bar_words


class ThreeBarsPanel(RunPanel):
    """Three bars round the loop, look by look.

    Parameters
    ----------
    length_mm : float
    seed : int
        Which three bars: every student may have an own one.
    error_um : float
        How far each bar is out at the start, 20 to 1000.
    removal_um : float
        Metal a pass takes, 2 to 40.
    share : float
        Share of the split's metal that the first of the two bars gives up, 0 to 1.
    sight_um : float
        The smallest gap that the eye sees, 0.5 to 50.
    tool : str
    rounds : int
        1 to 8.
    units : str, optional
        ``"mm"`` or ``"inch"``.
    dpi : int
        160 for a projector.

    Raises
    ------
    ValueError
        Where a setting is out of its range.

    Examples
    --------
    >>> panel = ThreeBarsPanel(rounds=1)
    >>> panel.sentence.startswith("Round 1, fitting bar 2 to bar 1")
    True
    """

    def __init__(self, length_mm: float = 500, seed: int = 1, error_um: float = 300, removal_um: float = 10,
                 share: float = 0.5, sight_um: float = 2.5, tool: str = "second-cut file", rounds: int = 4,
                 units: str | None = None, dpi: int = 100) -> None:
        super().__init__(3, length_mm, seed, error_um, removal_um, share, sight_um, tool, rounds, units, dpi)

    def words(self, history: BarHistory, place: int, values: dict) -> str:
        """Say what the picture shows.

        Parameters
        ----------
        history : BarHistory
        place : int
        values : dict

        Returns
        -------
        str
        """
        return three_bar_words(history, place, values["share"], self.units)
