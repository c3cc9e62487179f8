"""The film of a go: what was seen at every look, the true shapes after every act, and the debrief at the end."""

from __future__ import annotations

import os

from IPython.display import HTML

from simulate.core.refusal import Refusal
from simulate.method.practice.acts import PracticeState, level_of
from simulate.method.practice.debrief import debrief
from simulate.method.practice.score import next_challenge, score_sheet
from simulate.readings.logbook.practice_log import open_practice
from simulate.show.drawing.canvas import encode
from simulate.show.drawing.style import spell
from simulate.show.panel.film import COLOURS, player
from simulate.show.practice.act_sentences import act_words, seen_words
from simulate.show.practice.debrief_sentences import debrief_words
from simulate.show.practice.practice_picture import HiddenPicture
from simulate.show.practice.practice_plates_picture import HiddenPlates
from simulate.show.practice.score_sheet import sheet_html
from simulate.show.practice.truth_picture import TruthPicture
from simulate.show.units.switch import chosen_units


def practice_film(go: PracticeState | str | os.PathLike, units: str | None = None, sheet: bool = True) -> HTML:
    """Film a go that was stopped, for a page without a running kernel.

    Parameters
    ----------
    go : PracticeState, or path of a log
        Of a log, the last go in it that was stopped.
    units : str, optional
    sheet : bool
        Whether the score sheet follows the film.

    Returns
    -------
    IPython.display.HTML
        Holds everything; asks nothing of the net.

    Raises
    ------
    ValueError
        Where the go has not been stopped, or the log holds none that was.

    Examples
    --------
    >>> from simulate.method.practice.acts import look, start_practice, stop
    >>> "Action 1 of 2" in practice_film(stop(look(start_practice()))).data
    True
    """
    units = chosen_units(units)
    goes = [go]
    if not isinstance(go, PracticeState):
        goes = [g for g in open_practice(go) if g.stopped]
        if not goes:
            raise Refusal(
                "state",
                where=f"{os.path.basename(os.fspath(go))}",
                found="without an attempt that was stopped",
                must_be="a log with one",
                do="Stop an attempt, then draw its animation",
            )
    frames, words = film_frames(goes[-1], units)
    film = player([encode(pixels, COLOURS) for pixels in frames], words, film_title(level_of(goes[-1]).body)).data
    if sheet:
        scores = score_sheet(goes, goes[-1])
        told, then = debrief(goes[-1]), next_challenge(scores, goes[-1])
        film += sheet_html(debrief_words(told, units), scores, goes[-1], then, units, told.costs)
    return HTML(film)


def film_title(body: str) -> str:
    """Give the title of an animation of an attempt on three bodies of a kind."""
    return f"An attempt at the practice bench: three {body}s"


def film_frames(go: PracticeState, units: str = "mm", dpi: int = 100) -> tuple[list, list[str]]:
    """Draw a go that was stopped: what was seen at each look, and the truth after each cut.

    `dpi`: 150 for a projector.
    """
    told, body = debrief(go), level_of(go).body
    truth = TruthPicture(dpi, units, told)
    hidden = HiddenPlates(dpi, units) if go.level == "plates" else HiddenPicture(dpi, units, body)
    frames, words = [], []
    for place, state in enumerate(told.states):
        kind = go.acts[place - 1].kind if place else "start"
        done = act_words(go.acts[place - 1], units, body) if place else ""
        said = f"Action {place} of {len(go.acts)}: {done}" if place else "The start"
        pair = f"{body} {state.upper + 1} on {body} {state.lower + 1}"
        if kind == "look":
            hidden.show(state, None, f"{said}: this is what was seen")
            frames.append(hidden.canvas.pixels())
            words.append(f"{said}, {pair}. {seen_words(state.answer, units)}")
        elif kind != "lay":
            truth.show(place, f"{said}; {pair}" if kind in ("file", "touch") else said)
            frames.append(truth.canvas.pixels())
            now = ", ".join(f"{body} {i + 1} {spell(v, units)}" for i, v in enumerate(told.worst_um[place]))
            words.append(f"{said}. The truth, which nobody saw then: {now} out.")
    words[-1] += f" {' '.join(debrief_words(told, units))}"
    return frames, words
