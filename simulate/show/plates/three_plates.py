"""Three plates: marked, scraped and turned until they are flat, look by look."""

from __future__ import annotations

import ipywidgets as widgets
import numpy as np
from IPython.display import HTML

from simulate.bench.bending.moving_iron import CASTINGS
from simulate.bench.looking.spotting import Print
from simulate.bench.seating.placement import face_plate
from simulate.core.byte_cache import remembered
from simulate.method.plates.plate_history import PlateHistory, PlateStep, floor_reached
from simulate.method.plates.prints import print_at
from simulate.method.plates.symmetry import beyond_plane
from simulate.method.plates.three_plate_loop import three_plates
from simulate.method.plates.unseen import ORDERS, unseen_part
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.drawing.flash_limit import CALM_MS
from simulate.show.drawing.plate_map import PlateMap, line_step
from simulate.show.drawing.print_map import PrintMaps, point_words
from simulate.show.drawing.scale import HeldTop
from simulate.show.panel.film import film_places, player
from simulate.show.panel.step_panel import StepPanel
from simulate.show.plates.plate_curve import PlateCurve
from simulate.surface.flatness import flatness
from simulate.surface.starting_plates import starting_plates
from simulate.surface.tolerances.plate_grades import plate_grade_sentence

SIDE_MM, POINTS = 400.0, 61
LIVE_FRAMES = 32
"""Looks of a film from the kernel, which may send about 1 MB a second: few and small."""

_PLACES = ((0.02, 0.525), (0.245, 0.525), (0.02, 0.05), (0.245, 0.05), (0.475, 0.525), (0.475, 0.05))
PART_MM = 100.0
"""Side of the part of a print that is drawn larger."""
_STILL = next(iter(CASTINGS))
_TURNED = {0: "not turned", 90: "turned a quarter", 180: "turned half way round", 270: "turned three quarters"}


@remembered
def run(
    seed: int, error_um: float, removal_um: float, film_um: float, order: str, passes: int, casting: str = _STILL
) -> tuple[PlateHistory, np.ndarray]:
    """Simulate one workshop; the same question is answered from memory.

    Parameters
    ----------
    seed : int
    error_um, removal_um, film_um : float
    order : {"face to face", "half turns", "quarter turns"}
    passes : int
    casting : str
        A name in `CASTINGS`.

    Returns
    -------
    PlateHistory
    unseen_um : ndarray, shape (passes,)
        Peak to valley of what this order hides, at each marking.
    """
    x, y, h = starting_plates(SIDE_MM, SIDE_MM, error_um, points=POINTS, seed=seed)
    history = three_plates(
        x,
        y,
        h,
        removal_um=removal_um,
        schedule=ORDERS[order],
        passes=passes,
        film_um=film_um,
        seed=seed,
        casting=CASTINGS[casting],
    )
    every = np.stack([s.height_um for s in history.steps])
    return history, np.ptp(unseen_part(every, order), axis=(-2, -1))


class PlatesPanel(StepPanel):
    """Three plates marked and scraped against each other.

    Parameters
    ----------
    seed : int
        Which three plates: every student may have an own three.
    error_um : float
        How far each plate is from flat at the start, 20 to 500.
    removal_um : float
        Deepest cut of the roughing passes, 5 to 150.
    film_um : float
        Thickness of the finishing film of marking, 0.5 to 50.
    order : {"face to face", "half turns", "quarter turns"}
    passes : int
        Markings in all, 6 to 200.
    casting : str
        Whether the castings move by themselves, a name in `CASTINGS`.
    units : str, optional
        ``"mm"`` or ``"inch"``.
    dpi : int
        160 for a projector.

    Examples
    --------
    >>> PlatesPanel(passes=6).sentence.startswith("Spotting 1 of 6: plate 2 face down on plate 1, not turned")
    True
    """

    def __init__(
        self,
        seed: int = 1,
        error_um: float = 200,
        removal_um: float = 80,
        film_um: float = 2,
        order: str = "quarter turns",
        passes: int = 120,
        casting: str = _STILL,
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        self.seed = seed
        self.height_slider("error_um", "Starting error of each plate", error_um, 20, 500, 10)
        self.height_slider("removal_um", "Metal per roughing pass", removal_um, 5, 150, 5)
        self.height_slider("film_um", "Thickness of final film", film_um, 0.5, 50, 0.5)
        self.menu("order", "Order of turns", list(ORDERS), order)
        self.whole_slider("passes", "Spottings in all", passes, 6, 200)
        self.menu("casting", "The castings", list(CASTINGS), casting)
        self.tick("split", "Shown and hidden parts")
        self.zoom_tick()
        self._tops = HeldTop(), HeldTop()
        self._setting: dict | None = None
        self.history: PlateHistory | None = None
        self._moves()
        self.position.description = "Spottings done"
        self.film = widgets.Button(description="Animation of this run", layout=widgets.Layout(width="15em"))
        self.on_press(self.film, self.play_film)
        self.reel = widgets.Output()
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 600, self.dpi)
        with style.styled():
            axes = [self.canvas.figure.add_axes((left, low, 0.19, 0.4056)) for left, low in _PLACES]
            self._maps = [
                PlateMap(self.canvas, a, gaps=k == 3, bar=self.units if k in (0, 3) else "")
                for k, a in enumerate(axes[:4])
            ]
            self._prints = PrintMaps(self.canvas, *axes[4:], PART_MM)
            self._scale = self.canvas.moving(Words(axes[2], style.SMALL, va="top"))
            self._scale.set_position((-1, -1.03))
            self.curve = PlateCurve(self.canvas, self.canvas.figure.add_axes((0.735, 0.12, 0.185, 0.79)), self.units)

    def arrange(self, rows: widgets.Widget) -> widgets.Box:
        """Put the film under the panel."""
        return widgets.VBox([*super().arrange(rows).children, self.film, self.reel])

    def frames(self, most: int) -> tuple[list[bytes], list[str]]:
        """Draw pictures from all over the run, the first and the last marking among them.

        Parameters
        ----------
        most : int
            Pictures at the most.
        """
        pictures, sentences = [], []
        for map_ in self._maps:
            map_.plainly(True)
        for place in film_places(len(self.history.steps), most):
            sentences.append(self._look(place))
            pictures.append(self.canvas.paint(few=True))
        for map_ in self._maps:
            map_.plainly(False)
        self._look(min(self.position.value, len(self.history.steps) - 1))
        return pictures, sentences

    def play_film(self) -> None:
        """Draw the run as a film, which then plays in the browser by itself."""
        self.film.description, self.film.disabled = "Preparing the film", True
        try:
            whole = player(*self.frames(LIVE_FRAMES), "This run, picture by picture", CALM_MS, playing=True)
        finally:
            self.film.description, self.film.disabled = "Animation of this run", False
        self.reel.outputs = ({"output_type": "display_data", "data": {"text/html": whole.data}, "metadata": {}},)

    def starts(self) -> list[int]:
        """Give the markings at which a round of the order begins."""
        return list(range(0, len(self.history.steps), len(self.history.schedule)))

    def draw(self, split: bool, zoom: bool, **values) -> str:
        """Simulate where a setting has changed; show the marking at the position."""
        if values != self._setting:
            self.history, self.unseen_um = run(self.seed, **values)
            self._setting = values
            self._fit_position(len(self.history.steps) - 1)
            self.curve.frame(self.history, self.unseen_um)
            self.reel.outputs = ()  # a film of another run
        return self._look(min(self.position.value, len(self.history.steps) - 1))

    def _look(self, place: int) -> str:
        """Draw one marking and say what it shows."""
        step = self.history.steps[place]
        printed = print_at(self.history, place)
        self._show(step)
        self._prints.show(
            f"Print on plate {step.lower + 1}",
            f"Its busiest {style.spell_place(PART_MM, self.units)} and 1 in²",
            printed,
        )
        self.curve.show(self.history, place)
        return self._words(step, self.unseen_um[place], printed)

    def _show(self, step: PlateStep) -> None:
        """Draw the four maps of form."""
        heights, zoom = beyond_plane(step.height_um), self.controls["zoom"].value
        top = self._tops[0].take(float(np.abs(heights).max()), zoom, rounded=False)
        lines = style.to_um(line_step(style.small(top, self.units)), self.units)
        if self.controls["split"].value:
            self._show_split(step, heights[step.lower], lines, top)
        else:
            self._show_plates(step, heights, lines, top)
        widest = self._tops[1].take(float(np.nanmax(step.gap_um)), zoom, rounded=False)
        gap_lines = style.to_um(line_step(style.small(widest, self.units)), self.units)
        half = SIDE_MM / 2
        self._maps[3].show(
            f"Gap, lines every {style.spell(gap_lines, self.units)}",
            step.gap_um,
            gap_lines,
            widest,
            contacts=step.contacts_mm / half,
        )
        self._scale.set_text(
            f"{'Zoomed: l' if zoom else 'L'}ines every {style.spell(lines, self.units)}; proud solid, zero dotted, "
            "hollow dashed"
        )

    def _show_split(self, step: PlateStep, own: np.ndarray, lines: float, top: float) -> None:
        """Draw the lower plate, and the two parts it is the sum of."""
        hidden = unseen_part(step.height_um, self.controls["order"].value)
        plate = f"Plate {step.lower + 1}"
        self._maps[0].show(f"{plate}: below", own, lines, top)
        self._maps[1].show(f"{plate}: what shows", own - hidden, lines, top)
        self._maps[2].show(f"{plate}: what hides", hidden, lines, top)

    def _show_plates(self, step: PlateStep, heights: np.ndarray, lines: float, top: float) -> None:
        for plate, own in enumerate(heights):
            height, turned, title = own, None, f"Plate {plate + 1}: on the bench"
            if plate == step.lower:
                title = f"Plate {plate + 1}: below"
            elif plate == step.upper:
                turned = step.turned
                height = face_plate(own, step.turned, step.slide)
                title = f"Plate {plate + 1}: face down, {step.turned}°"
            self._maps[plate].show(title, height, lines, top, turned=turned)

    def _words(self, step: PlateStep, unseen: float, printed: Print) -> str:
        spell = [style.spell(f, self.units) for f in step.flatness_um]
        best = int(step.flatness_um.argmin())
        zone = flatness(self.history.x_mm, self.history.y_mm, step.height_um[best]).value_um
        grade = plate_grade_sentence(zone, SIDE_MM, SIDE_MM)
        return (
            f"Spotting {step.number} of {len(self.history.steps)}: plate {step.upper + 1} face down on plate "
            f"{step.lower + 1}, {_TURNED[step.turned]}; gaps up to {style.spell(np.nanmax(step.gap_um), self.units)}, "
            f"less than the last film over {100 * step.close:.0f} % of the face. "
            f"{_print_words(step, printed, self.units)} The plates are {spell[0]}, {spell[1]} "
            f"and {spell[2]} out of flat, peak to valley from the least-squares plane. Plate {best + 1}, the best, is "
            f"{grade}. {style.spell(unseen, self.units)} of this can never show with this order of turns. "
            f"{self._floor()}"
        )

    def _floor(self) -> str:
        """Say where the run ends: at its floor, or still falling."""
        end = f"After {len(self.history.steps)} spottings this run"
        worst = style.spell(self.history.flatness_um[-1].max(), self.units)
        if floor_reached(self.history):
            said = f"{end} is at its floor, the worst plate {worst} out."
        else:
            said = f"{end} has not reached its floor yet: the worst plate is {worst} out and still falling."
        if not CASTINGS[self._setting["casting"]].stock:
            return said
        later = style.spell(self.history.settled_um.max(), self.units)
        return f"{said} Weeks later, once the castings have settled, the worst plate is {later} out."


def _print_words(step: PlateStep, printed: Print, units: str) -> str:
    """Say how much bears, and in how many points."""
    return (
        f"With a film of {style.spell(step.film_um, units)}, {100 * printed.bearing:.0f} % of plate {step.lower + 1} "
        f"bears{point_words(printed)}."
    )


def plates_film(frames: int = 24, **settings) -> HTML:
    """Film a run of plates, for a page without a running lesson.

    Parameters
    ----------
    frames : int
        At most so many pictures, the first and the last marking among them.
    **settings
        As for `PlatesPanel`.

    Returns
    -------
    IPython.display.HTML

    Raises
    ------
    ValueError
        Where a setting is out of its range.
    """
    return player(*plates_frames(frames, **settings), "Three plates at the bench, picture by picture")


def plates_frames(frames: int = 24, *, ahead: bool = True, **settings) -> tuple[list[bytes], list[str]]:
    """Draw a run of plates, each picture with its sentence.

    `ahead`: whether curves show the whole run from the start, or only what has been. `**settings`: as for
    `PlatesPanel`.
    """
    panel = PlatesPanel(**settings)
    panel.canvas.ahead = ahead
    return panel.frames(frames)
