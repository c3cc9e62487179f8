"""What all slider panels share: a picture under the controls, a sentence, and refusals in words."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from html import escape

import ipywidgets as widgets
from IPython.display import display

from simulate.core.refusal import Refusal
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, html
from simulate.show.drawing.fault import faults_shown
from simulate.show.drawing.focus import FOCUS
from simulate.show.drawing.scale import ZOOM, HeldScale
from simulate.show.panel.controls import Controls
from simulate.show.panel.rows import in_rows
from simulate.show.units.turning import shown


class Panel(Controls):
    """Controls over a picture with a sentence; ``at_hand`` names those that stay in sight where they are many.

    A subclass calls ``super().__init__``, fills ``self.controls`` through the
    helpers, sets ``self.canvas``, writes ``draw(**values) -> str`` and ends with
    ``self.ready()``. A setting out of its range, or a file that cannot be read, is a `Refusal`.

    Parameters
    ----------
    units : str, optional
        ``"mm"`` (heights in µm) or ``"inch"`` (heights in thou); None follows the switch of the lessons.
    dpi : int
        100 for a screen, 160 for a projector.
    """

    at_hand: tuple[str, ...] = ()
    way: Sequence[bytes] = ()
    """Pictures that lead from the look before to this one; `draw` sets it."""

    def __init__(self, units: str | None = None, dpi: int = 100) -> None:
        super().__init__(units)
        self.dpi = dpi
        self.canvas: Canvas | None = None
        self.picture = widgets.HTML()
        self.message = widgets.HTML()
        self.scale: HeldScale = self._carried.get("scale") or HeldScale()
        self.sentence = self.brief = self.folded = ""
        self.png = b""
        self.view: widgets.Box | None = None

    def draw(self, **values) -> str:
        """Set the moving artists; give the sentence. Subclasses write this."""
        raise NotImplementedError

    def zoom_tick(self) -> None:
        """Add the box that lets go of the scale, which else stays while the panel is open."""
        self.tick("zoom", ZOOM)

    def carried(self) -> dict:
        """Give what a panel in the other unit starts from, its scale with it."""
        return super().carried() | {"scale": self.scale}

    def ready(self, strict: bool = False) -> None:
        """Lay the controls out and draw for the first time.

        `strict`: whether a refusal goes to the caller, as it must where a file was given that cannot be used.
        """
        self.view = self.arrange(in_rows(self.controls, self.labels, self.at_hand))
        self.view.add_class("workshop-panel")
        if strict:
            self._accept(self.draw(**self.values()))
        else:
            self.refresh()

    def arrange(self, rows: widgets.Widget) -> widgets.Box:
        """Put controls, message and picture together."""
        return widgets.VBox([widgets.HTML(FOCUS), rows, self.message, self.picture])

    def _changed(self, _change) -> None:
        if not self._quiet:
            self.refresh()

    def refresh(self) -> None:
        """Draw with the present values; where they are refused, show why and keep the picture."""
        with self.acting():
            self._accept(self.draw(**self.values()))

    @contextmanager
    def acting(self) -> Iterator[None]:
        """Do something for the learner: a refusal becomes a sentence, and any other exception shows itself and goes on
        up."""
        with faults_shown(self.message):
            try:
                yield
            except Refusal as refusal:
                self.refuse(refusal)

    def _try(self, act: Callable[[], object]) -> None:
        with self.acting():
            act()

    def on_press(self, button: widgets.Button, act: Callable[[], object]) -> None:
        """Have a button do something, and never nothing in silence."""
        button.on_click(lambda _: self._try(act))

    def _accept(self, sentence: str) -> None:
        self.message.value = ""
        older = [self.png, *self.way] if self.plays() or self.way else []
        self.sentence, self.png = sentence, self.canvas.paint()
        self.picture.value = html(self.png, sentence, older, self.brief, self.folded)

    def plays(self) -> bool:
        """Say whether looks follow each other by themselves, each rising out of the one before it."""
        return False

    def refuse(self, why: Refusal | str) -> None:
        """Show a refusal as a sentence and keep what was there."""
        self.message.value = (
            f'<p role="alert" style="border-left:6px solid {style.ORANGE};padding:4px 10px;'
            f'font-size:15px;line-height:1.4">Not possible: {escape(str(why))}</p>'
        )

    def show(self) -> None:
        """Publish the panel: live controls, and a picture with words where no kernel runs."""
        display(self)

    def _repr_mimebundle_(self, **_kwargs) -> tuple[dict, dict]:
        shown(self)
        data = {
            "application/vnd.jupyter.widget-view+json": {
                "version_major": 2,
                "version_minor": 0,
                "model_id": self.view.model_id,
            },
            "image/png": base64.b64encode(self.png).decode("ascii"),
            "text/plain": self.sentence,
        }
        return data, {"image/png": {"alt": self.sentence}}
