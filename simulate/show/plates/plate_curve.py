"""How far each plate is from flat, marking after marking, with the grades and what the order of turns hides."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes

from simulate.method.plates.plate_history import PlateHistory
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.drawing.convergence import LogCurves
from simulate.surface.tolerances.plate_grades import plate_limits_um


class PlateCurve(LogCurves):
    """A whole run of plates, and a cursor that moves along it."""

    def __init__(self, canvas: Canvas, axes: Axes, units: str = "mm") -> None:
        curves = {f"plate {k + 1}": (c, line) for k, (c, line, _) in enumerate(style.LINES)}
        curves["hidden"] = ("#555555", "-.")
        grades = tuple(f"grade {grade}" for grade in plate_limits_um(500.0, 500.0))
        super().__init__(canvas, axes, units, curves, grades, "Out of flat", "spottings")

    def frame(self, history: PlateHistory, unseen_um: np.ndarray) -> None:
        """Take over the curves of a run.

        `history`: of one workshop, with its steps. `unseen_um` (steps,): the part of the plates that no fit of the run
        shows.
        """
        form = np.array([s.flatness_um for s in history.steps])
        curves = {f"plate {k + 1}": form[:, k] for k in range(form.shape[1])} | {"hidden": unseen_um}
        grades = plate_limits_um(*(float(np.ptp(a)) for a in (history.x_mm, history.y_mm)))
        self.put(np.array([s.number for s in history.steps]), curves, {f"grade {g}": v for g, v in grades.items()})

    def show(self, history: PlateHistory, position: int) -> None:
        """Move the cursor to one marking."""
        self.at(history.steps[position].number, history.steps[position].flatness_um)
