"""How far each plate is from flat, marking after marking, with the grades and what the order of turns hides."""

from __future__ import annotations

import numpy as np

from simulate.method.plate_history import PlateHistory
from simulate.show import style
from simulate.show.convergence import Convergence
from simulate.surface.grades import plate_limits_um


class PlateCurve(Convergence):
    """Draws a whole run of plates once, and a cursor that moves along it."""

    def frame(self, history: PlateHistory, unseen_um: np.ndarray) -> None:
        """Draw the curves of a run into the background.

        Parameters
        ----------
        history : PlateHistory
            Of one workshop, with its steps.
        unseen_um : ndarray, shape (steps,)
            The part of the plates that no fit of the run shows.
        """
        for artist in self._still:
            artist.remove()
        axes = self.axes
        number = np.array([s.number for s in history.steps])
        form = style.small(np.maximum([s.flatness_um for s in history.steps], 0.05), self.units)
        hidden = style.small(np.maximum(unseen_um, 0.05), self.units)
        self._still, ends = [], []
        for plate, (colour, line, _) in enumerate(style.LINES[: form.shape[1]]):
            self._still += axes.plot(number, form[:, plate], line, color=colour, zorder=4)
            ends.append((form[-1, plate], f"plate {plate + 1}", colour))
        self._still += axes.plot(number, hidden, "-.", color="#555555", zorder=3)
        ends.append((hidden[-1], "hidden", "#333333"))
        grades = plate_limits_um(*(float(np.ptp(a)) for a in (history.x_mm, history.y_mm)))
        for grade, limit in grades.items():
            limit = style.small(limit, self.units)
            self._still.append(axes.axhline(limit, color="#999999", lw=1, ls=(0, (1, 3)), zorder=1))
            ends.append((limit, f"grade {grade}", "#555555"))
        self._scale(number, np.concatenate([form.ravel(), [min(e[0] for e in ends)]]))
        axes.set_xlim(number[0] - 0.02 * number[-1], number[-1] * 1.02)
        axes.set_xlabel("markings")
        axes.set_title(f"Out of flat ({style.small_unit(self.units)}, log scale)", loc="left")
        self._name(ends, int(number[-1]))
        self.canvas.invalidate()

    def show(self, history: PlateHistory, position: int) -> None:
        """Move the cursor to one marking.

        Parameters
        ----------
        history : PlateHistory
        position : int
        """
        step = history.steps[position]
        self._cursor.set_xdata([step.number, step.number])
        for mark, value in zip(self._now, step.flatness_um):
            mark.set_data([step.number], [style.small(max(value, 0.05), self.units)])
