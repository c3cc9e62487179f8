"""Positions of a panel worked out beforehand, for where no kernel runs."""

from __future__ import annotations

import ast
import importlib
import io
from collections.abc import Iterator, Sequence
from contextlib import nullcontext

import ipywidgets as widgets
import nbformat
import numpy as np
from PIL import Image

from simulate.core.refusal import Refusal
from simulate.course.notebook.wall_plan import Ask
from simulate.show.drawing.canvas import encode
from simulate.show.own.draft_keeper import without_drafts
from simulate.show.panel.film import COLOURS, player
from simulate.show.panel.panel import Panel

_RUNS = ("position", "look")
"""Controls that walk through a run, look by look."""


def settings(control: widgets.Widget, count: int) -> list:
    """Return up to `count` settings of one control, from one end to the other."""
    if isinstance(control, (widgets.FloatSlider, widgets.IntSlider)):
        steps = round((control.max - control.min) / control.step)
        places = sorted({round(k * steps / (count - 1)) for k in range(count)})
        values = [control.min + k * control.step for k in places]
        return [int(v) for v in values] if isinstance(control, widgets.IntSlider) else values
    if isinstance(control, widgets.Dropdown):
        options = list(control._options_values)
        return [options[k] for k in sorted({round(k * (len(options) - 1) / (count - 1)) for k in range(count)})]
    return [True, False] if isinstance(control, widgets.Checkbox) else []


def spoken(control: widgets.Widget) -> str:
    """Return what a control stands at, as the wall says it."""
    if isinstance(control, widgets.Checkbox):
        return "yes" if control.value else "no"
    if isinstance(control, widgets.Dropdown):
        return str(control.label)
    return f"{control.value:.4g}"


def _controls(panel: Panel) -> dict[str, widgets.Widget]:
    """Return the panel's controls by name, with the place in its run as ``"position"``."""
    position = getattr(panel, "position", None)
    extra = {} if position is None or position in panel.controls.values() else {"position": position}
    return {**panel.controls, **extra}


def _walk(panel: Panel, count: int, steps: int, asks: Sequence[Ask]) -> Iterator[tuple[bytes, str, str]]:
    """Give picture, sentence and name of what moved: the controls that are asked about first, each from where it is
    asked."""
    peek = getattr(panel, "peek", lambda: None)  # a panel that shows nothing until a button is pressed
    runs = [ask for ask in asks if ask.before in _RUNS]
    panel.canvas.ahead = not runs  # what a run comes to is not drawn before the class has predicted it
    if runs:
        panel.refresh()
    peek()
    yield panel.png, f"As it opens. {panel.sentence}", ""
    run = getattr(panel, "position", None)
    place, bare = (run.value, run.max <= 1) if run else (None, False)
    controls = _controls(panel)
    asked = [ask for ask in asks if ask.before in controls]
    names = [ask.before for ask in asked]
    for number, ask in enumerate([*asked, *(Ask(name, "", "", "", "") for name in controls if name not in names)]):
        opened = {name: one.value for name, one in controls.items() if one is not run or name in ask.asked_at}
        for name, wanted in ask.asked_at.items():
            controls[name].value = _setting(panel, name, controls[name], wanted)
        if ask.asked_at or 0 < number < len(asked):
            peek()
            yield panel.png, panel.sentence if ask.asked_at else f"As it opened. {panel.sentence}", ""
        control = controls[ask.before]
        start = control.value
        for value, name in _stations(panel, control, ask, steps if ask.before in _RUNS else count):
            control.value = value
            for words in _whole_run(run, steps) if bare and control is not run and run.max > 1 else [""]:
                peek()
                if not panel.message.value:  # a refused setting keeps the earlier picture; it is no position
                    yield panel.png, f"{control.description}: {spoken(control)}. {words}{panel.sentence}", name
        panel.canvas.ahead = panel.canvas.ahead or ask is runs[-1]
        # how long a run is, and what a choice brings with it, only drawing tells; and a question is looked at
        draws = run or isinstance(control, widgets.Dropdown) or number + 1 < len(asked)
        with nullcontext() if draws else panel.quietly():
            control.value = start
            for name, value in opened.items():  # and the boxes that a figure ticks when it moves
                controls[name].value = min(value, controls[name].max) if controls[name] is run else value
        if run:
            run.value = min(place, run.max)  # a choice may have shortened the run on its way
    panel.refresh()


def _stations(panel: Panel, control: widgets.Widget, ask: Ask, count: int) -> Iterator[tuple[object, str]]:
    """Give the settings to go through, each with what moved: nothing yet while a run comes up to its question."""
    start, values = control.value, settings(control, count)
    if ask.goes_to == "":
        yield from ((value, ask.before) for value in values if value != start)
        return
    first = _setting(panel, ask.before, control, ask.goes_to)
    control.value = start
    if ask.before in _RUNS:
        before = sorted({value for value in [*values, first - 1] if start < value < first})
        yield from ((value, "") for value in before)
        values = [value for value in values if value > first]
    yield first, ask.before
    yield from ((value, ask.before) for value in values if value not in (start, first))


def _setting(panel: Panel, name: str, control: widgets.Widget, wanted: float | str) -> object:
    """Give the setting in the panel's own unit, or the first place of a run whose sentence holds the words."""
    if not isinstance(control, (widgets.IntSlider, widgets.FloatSlider)) or not isinstance(wanted, str):
        return panel.shown_value(name, wanted) if name in panel.controls else wanted
    for value in range(control.min, control.max + 1):
        control.value = value
        if wanted in panel.sentence:
            return value
    raise Refusal(
        "missing", where=control.description, found=f"no place whose sentence holds {wanted!r}", must_be="one"
    )


def _whole_run(run: widgets.IntSlider, steps: int) -> Iterator[str]:
    """Go through a run that the panel did not open with, and say where."""
    for place in settings(run, steps):
        run.value = place
        yield f"{run.description}: {place}. "


def positions(panel: Panel, count: int = 4) -> tuple[list[bytes], list[str]]:
    """Move each control of a panel through its range, the others as the panel opened.

    `panel`: left with the settings it came with. `count`: settings of each control, 2 or more. Returns `frames`: PNG
    pictures, the opening one first. `sentences`: what was moved, and the panel's own sentence.

    It does not see settings of two controls moved together. Where a choice brings a run to a panel that opened
    without one, the run is walked through.

    >>> from simulate.show.bars.gap import GapPanel
    >>> frames, sentences = positions(GapPanel(), 2)
    >>> len(frames) == len(sentences) > 3
    True
    """
    frames, sentences, _ = moves(panel, count)
    return frames, sentences


def moves(
    panel: Panel, count: int = 4, steps: int | None = None, asks: Sequence[Ask] = ()
) -> tuple[list[bytes], list[str], list[str]]:
    """Move each control as `positions` does, and tell which one moved.

    `count`: settings of each control, 2 or more. `steps`: settings of the place in a run, or of the look; `count` where
    not given. `asks`: their controls are moved first, in this order; before each the panel is shown as its question
    wants it, or else as it opened. One whose control is not there is left out. Returns `moved`: name of the control,
    ``"position"`` for the place in a run, empty for the opening picture and for those that lead up to a question.

    >>> from simulate.show.bars.gap import GapPanel
    >>> moves(GapPanel(), 2)[2][:2]
    ['', 'widest_um']
    """
    steps = count if steps is None else steps
    for name, given in (("count", count), ("steps", steps)):
        if given < 2:
            raise Refusal("range", where=name, found=f"{given}", must_be="2 or more positions of each control")
    frames, sentences, moved = [], [], []
    for png, words, name in _walk(panel, count, steps, asks):
        frames.append(encode(np.asarray(Image.open(io.BytesIO(png)).convert("RGB")), COLOURS))
        sentences.append(words)
        moved.append(name)
    return frames, sentences, moved


def _panel_of(source: str, found: dict[str, str], **more: object) -> Panel | None:
    """Return the panel that a cell of one call shows, built from its plain arguments."""
    for node in ast.parse(source).body:
        if isinstance(node, ast.ImportFrom) and node.module and f"{node.module}.".startswith("simulate.show."):
            found |= {alias.name: node.module for alias in node.names}
    last = ast.parse(source).body[-1:]
    call = last[0].value if last and isinstance(last[0], ast.Expr) else None
    if not isinstance(call, ast.Call) or not isinstance(call.func, ast.Name) or call.func.id not in found:
        return None
    thing = getattr(importlib.import_module(found[call.func.id]), call.func.id)
    if not isinstance(thing, type) or not issubclass(thing, Panel):
        return None
    try:
        given = {k.arg: ast.literal_eval(k.value) for k in call.keywords}
        plain = [ast.literal_eval(argument) for argument in call.args]
    except ValueError:  # an argument that only a run would know: the stored picture has to do
        return None
    return thing(*plain, **{**more, **given})


def panels(notebook: nbformat.NotebookNode, **more: object) -> Iterator[tuple[str, Panel]]:
    """Build the slider panels that a lesson shows.

    `notebook`: its cells are read, not run. `**more`: arguments for every panel, such as ``dpi=150``. Yields: id of the
    cell. Panels of the learner's own readings have no sliders and are left out.
    """
    found: dict[str, str] = {}
    for cell in notebook.cells:
        with without_drafts():
            panel = _panel_of(cell.source, found, **more) if cell.cell_type == "code" else None
        if panel is not None:
            yield cell.id, panel


def panel_films(notebook: nbformat.NotebookNode, count: int = 4, units: str = "mm") -> dict[str, str]:
    """Give a film of positions for every slider panel of a lesson.

    `count`: settings of each control. `units`: in which the panels are drawn. Returns: cell id -> HTML.
    """
    films: dict[str, str] = {}
    for cell, panel in panels(notebook, units=units):
        frames, sentences = positions(panel, count)
        if len(frames) > 1:
            films[cell] = player(frames, sentences, "The panel, position by position").data
    return films
