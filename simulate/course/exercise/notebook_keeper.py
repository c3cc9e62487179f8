"""What keeps the answers in the open notebook itself, in every window that shows it; nothing of it is seen."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Protocol

from simulate.course.exercise.notebook_text import KEPT


class Shown(Protocol):
    """What is on the page and can be shown anew."""

    def update(self, hand: object) -> None:
        """Show what `hand` holds now."""


class _Keeper:
    """A model without a view; each window that opens the notebook makes its own of it and stores its lines."""

    def __init__(self, model: Any) -> None:
        self._model = model

    def update(self, hand: object) -> None:
        self._model.lines = repr(hand).splitlines()


def notebook_keeper() -> Shown | None:
    """Return what stores the answers in the notebook, or None where the front end has no part for it."""
    try:
        import anywidget
    except (
        ImportError
    ):  # the course was renewed and its packages were not: the list on the page still holds the answers
        return None
    import traitlets

    class Lines(anywidget.AnyWidget):
        _esm = Path(__file__).with_suffix(".js").read_text(encoding="utf-8")
        name = traitlets.Unicode(KEPT).tag(sync=True)
        lines = traitlets.List().tag(sync=True)

    return _Keeper(Lines())
