"""The line of a panel that tells of a draft: what was typed is kept as it is typed, and brought back when the panel
opens."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from html import escape
from pathlib import Path

import ipywidgets as widgets

from simulate.core.refusal import Refusal
from simulate.readings.logbook.draft import Draft, drafts, free_path, put_away, read_draft, write_draft

FOLDER = Path()
"""Where drafts are kept: beside the notebook, whose folder a kernel starts in."""


_KEPT: ContextVar[bool] = ContextVar("drafts are kept", default=True)


@contextmanager
def without_drafts() -> Iterator[None]:
    """Build panels that bring no draft back and keep none: what somebody typed has no place on a page for others."""
    before = _KEPT.set(False)
    try:
        yield
    finally:
        _KEPT.reset(before)


class DraftKeeper:
    """Keeps the text of a panel's fields in a file of its own while it is typed.

    `kind`: of panel; panels of one kind that are open at once have a file each. `where`: where it is saved in the end,
    for sentences.
    """

    def __init__(self, kind: str, folder: Path | None = None, where: str = "in a logbook") -> None:
        self.kind, self.folder, self.where = kind, (FOLDER if folder is None else folder).resolve(), where
        self.path: Path | None = None
        self.trouble = ""
        self._kept = _KEPT.get()
        self._fields: dict[str, widgets.Widget] = {}
        self._base: dict[str, str] = {}
        self._wrote: dict[str, str] = {}
        self._beside: dict[str, Callable[[], bool]] = {}
        self._quiet = False
        self.line = widgets.HTML()
        self.away = widgets.Button(
            description="Put the draft away",
            layout=widgets.Layout(width="14em", display="none"),
            tooltip="keep it under another name and show what is loaded",
        )

    def watch(self, name: str, field: widgets.Widget, beside: Callable[[], bool] | None = None) -> None:
        """Keep a field from now on.

        `field`: with a text as its value. `beside`: whether the field is worth a draft now where it alone differs from
        what was loaded; without it always.
        """
        self._fields[name], self._base[name] = field, field.value
        if beside is not None:
            self._beside[name] = beside
        field.observe(self._typed, names="value")

    def texts(self) -> dict[str, str]:
        """Return what stands in the fields now."""
        return {name: field.value for name, field in self._fields.items()}

    def may_load(self, **texts: str) -> None:
        """Refuse to put texts into fields where that would lose what is typed there, because no draft of it is kept.

        `**texts`: by the names of the fields.
        """
        typed = {name: self._fields[name].value for name in texts if name not in self._beside}
        if self.trouble and any(now not in (texts[name], self._base[name]) for name, now in typed.items()):
            raise Refusal(
                "state",
                where="what is typed",
                found="kept in no draft, because none can be written",
                must_be="saved before something else takes its place",
                do=f"Save it {self.where}, or make room on the disk, and try again",
            )

    def load(self, **texts: str) -> None:
        """Put what was loaded into fields; a draft of something else goes under another name first.

        `**texts`: by the names of the fields.
        """
        self.may_load(**texts)
        there = {name: self._fields[name].value for name in texts}
        if texts == there and any(self._base[name] != text for name, text in texts.items()):
            return  # it was typed, and is saved nowhere yet
        with self.loading():
            for name, text in texts.items():
                self._fields[name].value = text
        self.loaded(*texts)

    @contextmanager
    def loading(self) -> Iterator[None]:
        """Change fields for the panel and not for the learner: that is no draft."""
        self._quiet = True
        try:
            yield
        finally:
            self._quiet = False

    def _typed(self, _change) -> None:
        if not self._quiet:
            self.keep()

    def keep(self) -> None:
        """Write the fields down, or take the file away where they say again what was loaded."""
        if not self._kept:
            return
        texts = self.texts()
        try:
            if not any(
                text != self._base[name] and self._beside.get(name, lambda: True)() for name, text in texts.items()
            ):
                self._drop()
                return
            if self.path is None or not self._is_mine():
                self.path = free_path(self.kind, self.folder)
            write_draft(self.path, texts)
            self._wrote, self.trouble = texts, ""
            self.tell(f"What you type is kept as a draft until you save it {self.where} or put it away.")
        except (Refusal, OSError) as refused:
            self.path, self.trouble = None, str(refused)
            self.tell(f"No draft of what you type can be kept ({refused}) Save it before you close the page.")

    def _is_mine(self) -> bool:
        """Whether the file still holds what this panel wrote: another one that is open may have taken it up."""
        held = read_draft(self.path)
        return held is None or held.fields == self._wrote

    def _drop(self) -> None:
        if self.path is not None and self._is_mine():
            self.path.unlink(missing_ok=True)
        self.path = None
        self.tell("")

    def restore(self) -> Draft | None:
        """Bring the newest draft that says something else than what is loaded back into the fields, and say so."""
        self._base = self.texts()
        kept = drafts(self.kind, self.folder) if self._kept else []
        found = next((draft for draft in kept if {**self._base, **self._known(draft)} != self._base), None)
        if found is None:
            return None
        with self.loading():
            for name, text in self._known(found).items():
                self._fields[name].value = text
        self.path, self._wrote = found.path, found.fields
        self.tell(
            f"Brought back: what was typed here on {found.written} and not saved {self.where}. It is in the fields "
            "and not yet read."
        )
        return found

    def _known(self, draft: Draft) -> dict[str, str]:
        return {name: text for name, text in draft.fields.items() if name in self._fields}

    def loaded(self, *names: str) -> None:
        """Take what stands in fields for what was loaded; a draft of something else goes under another name first.

        `*names`: of the fields that the panel has filled.
        """
        texts = self.texts()
        if self.path is not None and all(self._wrote.get(name) == texts[name] for name in names):
            return  # it was typed, and is a draft still
        lost = self.path is not None and any(
            self._wrote.get(name, "") not in (texts[name], self._base[name]) for name in names
        )
        said = self._away() if lost else ""
        self._base.update({name: texts[name] for name in names})
        self.keep()
        if said:
            self.tell(said)

    def saved(self) -> None:
        """Take the draft away: what it holds is in a logbook now."""
        self._base = self.texts()
        try:
            self._drop()
        except OSError:
            self.path = None

    def put_away(self) -> dict[str, str]:
        """Keep the draft under another name, and have the fields say what was loaded.

        Returns: what the fields say now.
        """
        self.may_load(**self._base)
        said = self._away() if self.path is not None else "There is no draft to put away."
        with self.loading():
            for name, text in self._base.items():
                self._fields[name].value = text
        self.tell(said)
        return self.texts()

    def _away(self) -> str:
        path, self.path = self.path, None
        try:
            return f"The draft is kept as {put_away(path).name}, and is not brought back any more."
        except OSError as error:
            return f"The draft stays in {path.name} ({error.strerror or 'the folder does not allow it'})."

    def tell(self, words: str) -> None:
        """Show one line; the button stands beside it while there is a draft."""
        self.line.value = (
            f"<p role='status' style='font-size:14px;line-height:1.4;margin:0'>{escape(words)}</p>" if words else ""
        )
        self.away.layout.display = None if self.path is not None else "none"
