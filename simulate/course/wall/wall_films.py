"""The lessons' films drawn anew for the wall: finer letters, and enough pictures for smooth playing."""

from __future__ import annotations

from collections.abc import Callable

from simulate.method.bars.three_bar_loop import three_bars
from simulate.method.practice.acts import start_practice
from simulate.method.practice.levels import LEVELS
from simulate.method.practice.player import play_bars
from simulate.show.drawing.canvas import encode
from simulate.show.panel.film import COLOURS, film_frames
from simulate.show.plates.three_plates import plates_frames
from simulate.show.practice.practice_film import film_frames as film_frames_of_go
from simulate.show.practice.practice_film import film_title
from simulate.show.units.switch import in_both
from simulate.surface.starting_bars import starting_bars

DPI = 150
"""A picture of 1280 x 560 at 100 dots to the inch fills a screen of 1920 with room for the words."""


def _loop(dpi: int, units: str) -> tuple[list[bytes], list[str]]:
    x_mm, height_um = starting_bars(500, 500, seed=7)  # the bars of lesson 04
    history = three_bars(x_mm, height_um, rounds=3, removal_um=[30, 10, 3], seed=3)
    return film_frames(history, 100, units, dpi, smooth=True, ahead=False, laid=True)


def _plates(dpi: int, units: str) -> tuple[list[bytes], list[str]]:
    return plates_frames(60, ahead=False, dpi=dpi, units=units)


def _go(dpi: int, units: str) -> tuple[list[bytes], list[str]]:
    pictures, sentences = film_frames_of_go(play_bars(start_practice(seed=1, error_um=500)), units, dpi)  # lesson 22
    return [encode(pixels, COLOURS) for pixels in pictures], sentences


_FINE: dict[str, Callable[[int, str], tuple[list[bytes], list[str]]]] = {
    "Three bars at the bench, picture by picture": _loop,
    "Three plates at the bench, picture by picture": _plates,
    film_title("bar"): _go,
}


def wall_film(
    title: str, pictures: list[bytes], sentences: list[str], dpi: int = DPI, units: str = "mm"
) -> tuple[list[bytes], list[str]]:
    """Give a lesson's film as the wall shows it.

    `pictures`: as the lesson stores them. `units` ({"mm", "inch"}). Returns `pictures`: drawn anew where this module
    knows the film, otherwise those given. `sentences`: of a film that is not drawn anew, with inches beside the lengths
    where inches were asked for.

    >>> wall_film("a film of nobody", [b""], ["Dark."])
    ([b''], ['Dark.'])
    """
    make = _FINE.get(title)
    return make(dpi, units) if make else (pictures, [in_both(words, units) for words in sentences])


def white_is_light(title: str) -> bool:
    """Say whether a film shows light as it is seen, so that it may not be turned dark with the wall.

    >>> white_is_light("An attempt at the practice bench: three plates"), white_is_light("Three bars at the bench")
    (True, False)
    """
    return title in {film_title(level.body) for level in LEVELS.values()}
