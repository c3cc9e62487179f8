"""A film of still pictures that needs no kernel: step, play, and words for every frame."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from html import escape
from pathlib import Path

import numpy as np
from IPython.display import HTML

from simulate.core.refusal import Refusal
from simulate.method.bars.bar_history import BarHistory, BarStep
from simulate.show.drawing import style
from simulate.show.drawing.bench_picture import TURNS, BenchPicture, own_line_out
from simulate.show.drawing.canvas import Canvas, data_uri, encode
from simulate.show.drawing.convergence import Convergence
from simulate.show.drawing.focus import PAGE_FOCUS
from simulate.show.drawing.run_sentences import out_of_straight, what_is_done, what_is_seen
from simulate.show.units.switch import chosen_units

COLOURS = 64
"""Colours of a frame: a third of the size, and nothing to see of it in line drawings."""

_HERE = Path(__file__).resolve().parent


def script(name: str) -> str:
    """Give a script that moves a film, with the one that blends its looks.

    `name`: file in this folder. Returns: for between the tags of a page.

    >>> "requestAnimationFrame" in script("player.js")
    True
    """
    blend, moves = ((_HERE / file).read_text(encoding="utf-8") for file in ("blend.js", name))
    return "(function () {\n" + re.sub(r"^//.*\n", "", blend, flags=re.MULTILINE) + moves + "})();"


def player(
    frames: Sequence[bytes], sentences: Sequence[str], title: str, pace_ms: int = 500, playing: bool = False
) -> HTML:
    """Give a player for pictures, each with its sentence.

    `frames`: PNG pictures. `sentences`: one for each picture: its alternative text and its caption. `pace_ms`: from one
    look to the next; the browser blends them. From 334 on nothing can flash more than three times a second. `playing`:
    whether it plays at once. Returns: holds everything; works in an exported page and asks nothing of the net.

    >>> "aria-label" in player([b""], ["A dark gap."], "Film").data
    True
    """
    name, body = markup(frames, sentences, title)
    given = {"ID": name, "PACE": str(pace_ms), "AUTO": "true" if playing else "false"}
    moves = re.sub("|".join(given), lambda found: given[found[0]], script("player.js"))
    return HTML(f"{body}<script>\n{moves}\n</script>")


def markup(frames: Sequence[bytes], sentences: Sequence[str], title: str) -> tuple[str, str]:
    """Give a player without the script that moves it.

    Returns `name`: the id of the figure; its frames and words are ``NAME-frames`` and ``NAME-words``.
    """
    if not len(frames) or len(frames) != len(sentences):
        raise Refusal(
            "count",
            where="a player",
            found=f"{len(frames)} pictures and {len(sentences)} sentences",
            must_be="at least one picture, and one sentence for each",
        )
    mark = hashlib.sha256(b"".join(frames) + "\n".join([title, *sentences]).encode()).hexdigest()[:12]
    name = f"workshop-player-{mark}"
    quiet = 'data-lm-suppress-shortcuts="true"'
    button = 'type="button" style="font-size:15px;padding:4px 14px;margin-right:6px"'
    words = escape(sentences[0], quote=True)
    body = f"""{PAGE_FOCUS}<figure id="{name}" class="workshop-player" style="margin:0">
<strong>{escape(title)}</strong>
<div class="workshop-looks" style="display:grid;grid-template-columns:minmax(0,1fr)">\
<img src="{data_uri(frames[0])}" alt="{words}" decoding="sync" \
style="grid-area:1/1;max-width:100%;max-height:75vh;display:block;will-change:opacity"></div>
<div><button {button} class="previous" {quiet}>Previous</button><button {button} class="play" {quiet}>Play</button>\
<button {button} class="next" {quiet}>Next</button>
<input type="range" min="0" max="{len(frames) - 1}" value="0" step="1" {quiet} \
aria-label="{escape(title, quote=True)}: picture" style="width:min(30em,50%);vertical-align:middle"></div>
<p style="font-size:15px;line-height:1.45;max-width:75em">{words}</p>
</figure>
<script type="application/json" id="{name}-frames">{_json([data_uri(f) for f in frames])}</script>
<script type="application/json" id="{name}-words">{_json(list(sentences))}</script>"""
    return name, body


def _json(value) -> str:
    return json.dumps(value).replace("<", "\\u003c")


def three_bars_film(history: BarHistory, frames: int = 40, units: str | None = None) -> HTML:
    """Film a recorded run of bars.

    Parameters
    ----------
    history : BarHistory
        Of one workshop, with its looks.
    frames : int
        At most so many pictures, evenly spread over the looks, the last one included; where there are more than four,
        the first three show how the first bar comes to lie on the other.
    units : str, optional

    Returns
    -------
    IPython.display.HTML

    Raises
    ------
    ValueError
        Where the history holds no looks.
    """
    bars = len(history.steps[0].height_um) if history.steps else 3
    pictures, sentences = film_frames(history, frames, chosen_units(units), laid=frames > len(TURNS) + 1)
    return player(pictures, sentences, f"{'Three' if bars == 3 else 'Two'} bars at the bench, picture by picture")


def film_frames(
    history: BarHistory,
    frames: int = 40,
    units: str = "mm",
    dpi: int = 100,
    smooth: bool = False,
    ahead: bool = True,
    laid: bool = False,
) -> tuple[list[bytes], list[str]]:
    """Draw the looks of a recorded run of bars, each with its sentence.

    `dpi`: 100 gives 1280 x 560 dots, 150 gives 1920 x 840. `smooth`: put a picture drawn halfway between each two looks
    of it, with the earlier one's sentence: played fast, the film moves and does not flicker. Then up to twice as many
    pictures. `ahead`: whether curves show the whole run from the start, or only what has been. `laid`: begin with how
    the upper bar comes to lie on the lower.
    """
    steps = history.steps
    if not steps:
        raise Refusal(
            "missing", where="the history", found="no steps", must_be="a run of one workshop with at least one round"
        )
    canvas = Canvas(1280, 560, dpi)
    canvas.ahead = ahead
    bars = len(steps[0].height_um)
    with style.styled():
        bench = BenchPicture(canvas, canvas.figure.add_axes((0.015, 0.13, 0.575, 0.86)), bars, units)
        curve = Convergence(canvas, canvas.figure.add_axes((0.655, 0.13, 0.25, 0.78)), units, widest_gap=bars == 2)
        most = max(float(np.ptp(own_line_out(history.x_mm, step.height_um), axis=1).max()) for step in steps)
        bench.frame(float(history.x_mm[-1] - history.x_mm[0]), most)
        curve.frame(history)
    pictures, sentences = [], []
    for turn in TURNS * laid:
        curve.show(history, 0)
        bench.turn(history.x_mm, steps[0], turn)
        pictures.append(encode(canvas.pixels(), COLOURS))
        sentences.append(f"Bar {steps[0].upper + 1} on its way to bar {steps[0].lower + 1}: {turn}.")
    places = film_places(len(steps), frames - len(pictures))
    for place, step, words in _looks(steps, places, smooth):
        bench.show(history.x_mm, step)
        curve.show(history, place)
        pictures.append(encode(canvas.pixels(), COLOURS))
        sentences.append(
            f"Round {words.round}, {what_is_done(words)}: {what_is_seen(words, units)}. {out_of_straight(words, units)}"
        )
    return pictures, sentences


def _looks(steps: Sequence[BarStep], places: Sequence[int], smooth: bool) -> Iterator[tuple[int, BarStep, BarStep]]:
    """Give the looks of a film: place, what is drawn, and whose words stand under it."""
    for place, after in zip(places, [*places[1:], places[-1]], strict=True):
        step, next_one = steps[place], steps[after]
        yield place, step, step
        if smooth and place != after and _stage(step) == _stage(next_one):
            half = {name: 0.5 * (getattr(step, name) + getattr(next_one, name)) for name in ("height_um", "gap_um")}
            yield place, replace(step, **half), step


def _stage(step: BarStep) -> tuple:
    return step.round, step.stage, step.lower, step.upper


def film_places(looks: int, frames: int) -> list[int]:
    """Spread at most `frames` pictures evenly over the looks, the last one included.

    >>> film_places(9, 3)
    [0, 4, 8]
    """
    count = min(frames, looks)
    return [round(k * (looks - 1) / max(count - 1, 1)) for k in range(count)]
