"""Check yourself: questions with the student's own figures, and what an answer gets back."""

from __future__ import annotations

import html
import importlib
import inspect
import pkgutil
import textwrap
import zlib
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache
from itertools import takewhile

import ipywidgets as widgets
import numpy as np

from simulate.core import checks
from simulate.course import questions
from simulate.course.asking.check_answer import SHOWN, Kind, Verdict, believed, judge, same_answer, say
from simulate.course.asking.question import Question
from simulate.course.asking.working import first_line, whole
from simulate.course.exercise.answer_record import Answer, Try
from simulate.course.exercise.hand_in import ANSWERS
from simulate.course.exercise.lesson_foot import lesson_foot
from simulate.course.notebook.manifest import lesson_of, manifest
from simulate.show.drawing.fault import faults_shown
from simulate.show.units.switch import chosen_units, in_both
from simulate.show.units.turning import shown

WHOLE_SHOWN = 3
"""So many misses bring the whole working; what is right after them brings no point."""

_SIGNS = {Kind.RIGHT: ("✓", "#00735C"), Kind.NEAR: ("≈", "#B34F00"), Kind.WRONG: ("✗", "#B34F00")}
"""Sign and colour of a verdict: white on them has 4.5:1, and they stand out from either of the Lab's themes."""

_BADGE = "flex:none;width:1.5em;margin-right:.6em;text-align:center;font-weight:bold;border-radius:3px;color:#fff"


@cache
def _makers() -> dict[str, Callable[[np.random.Generator], Question]]:
    """Every question of `simulate.course.questions` by its name: each function that a module there gives out is one."""
    found: dict[str, Callable] = {}
    for info in pkgutil.iter_modules(questions.__path__, f"{questions.__name__}."):
        for name, thing in vars(importlib.import_module(info.name)).items():
            if inspect.isfunction(thing) and thing.__module__ == info.name and not name.startswith("_"):
                if found.setdefault(name.replace("_", "-"), thing) is not thing:
                    raise RuntimeError(f"two questions are called {name}")
    return found


def lessons() -> tuple[str, ...]:
    """Return the lessons that have questions, as two digits each.

    >>> lessons()[:2]
    ('00', '01')
    """
    return tuple(lesson.number for lesson in manifest() if lesson.questions)


def names(lesson: str | None = None) -> tuple[str, ...]:
    """Return the names of the questions, of one lesson or of all.

    `lesson`: its key or its two digits.

    >>> names("03")
    ('two-opposite', 'two-double', 'two-gap', 'two-equal', 'two-proof')
    """
    if lesson is None:
        return tuple(name for one in manifest() for name in one.questions)
    return lesson_of(lesson).questions


def question(name: str, seed: int | str = 0) -> Question:
    """Return one question with the figures that belong to `seed`.

    `name`: one of `names()`. `seed`: the student's own number or word. The same seed gives the same figures.

    >>> question("two-double", "bench 1") == question("two-double", "bench 1")
    True
    """
    checks.choice(name, "name", names())
    rng = np.random.default_rng([zlib.crc32(name.encode()), zlib.crc32(str(seed).encode())])
    return _makers()[name](rng)


class Exercise(widgets.VBox):
    """A question with a field or choices, a check button, and the sentence that comes back.

    By keyboard: Tab to the field, type, Enter; or arrow keys for a choice, Tab
    to the button, Space.

    Parameters
    ----------
    name : str
        One of `names()`.
    seed : int or str
        The student's own number or word.

    Raises
    ------
    ValueError
        Where there is no such question.

    Examples
    --------
    >>> e = Exercise("two-gap", 1)
    >>> e.answer(e.question.answer)[:6]
    'Right.'
    """

    _signs = _SIGNS

    def __init__(self, name: str, seed: int | str = 0) -> None:
        self.name, self.seed, self.units, self._said, self._kind = name, seed, chosen_units(), "", None
        self.question = self._asked()
        self._words = widgets.HTML(self._text())
        self.field = self._make_field()
        self.button = widgets.Button(description="Check")
        self.feedback = widgets.HTML(layout=widgets.Layout(max_width="46em"))
        self.button.on_click(lambda _: self._check())
        self._restore()
        if not self.question.options:
            self.field.observe(lambda _: self._check(), "value")
        row = widgets.HBox([self.field, self.button], layout=widgets.Layout(flex_flow="row wrap"))
        foot = lesson_foot(name, str(seed))
        super().__init__([self._words, row, self.feedback, *([foot] if foot else [])])
        self.add_class("workshop-panel")

    def _asked(self) -> Question:
        """Return the question with this student's figures."""
        return question(self.name, self.seed)

    def _text(self) -> str:
        """Return the question as it is shown."""
        return f"<p style='max-width:46em;line-height:1.4'>{html.escape(in_both(self.question.text, self.units))}</p>"

    def _choices(self) -> list[tuple[str, str]]:
        return [(in_both(option, self.units), option) for option in self.question.options]

    def turn_units(self, units: str) -> None:
        """Put inches beside the lengths, or take them away; what was answered stays.

        Parameters
        ----------
        units : {"mm", "inch"}
        """
        self.units = units
        self._words.value = self._text()
        if self.question.options:
            given = self.field.value
            with self.field.hold_sync():
                self.field.options = self._choices()
                self.field.value = given
        if self._said:
            self._show_said()

    def _make_field(self) -> widgets.Widget:
        """Return the choices, or the field for a number."""
        if self.question.options:
            return widgets.RadioButtons(
                options=self._choices(),
                value=None,
                description="Answer",
                layout=widgets.Layout(width="max-content", max_width="100%"),
            )
        return widgets.Text(
            description=f"Answer, {self.question.unit}",
            placeholder="a number",
            continuous_update=False,
            style={"description_width": "initial"},
        )

    def _check(self) -> None:
        with faults_shown(self.feedback):
            verdict = self._weighed(self._judged(self.field.value))
            ANSWERS.keep(self.name, self.seed, self.field.value, verdict, same=self._same)
            self._said, self._kind = self._with_working(verdict), verdict.kind
            if ANSWERS.trouble and verdict.taken:
                self._said += f" It is kept only as long as this lesson runs: {ANSWERS.trouble}"
            self._show_said()

    def _same(self, record: Answer) -> bool:
        """Whether what stands in the field was answered last at these figures, and was judged alike."""
        tries, given = self._of_panel(record), self.field.value
        if not tries or not same_answer(self.question, given, tries[-1].given):
            return False
        return self._judged(given).kind is self._judged(tries[-1].given).kind

    def _restore(self) -> None:
        """Put the answer that was kept, and what it got back, where they were."""
        record = ANSWERS.restored(self.name, self.seed)
        tries = self._of_panel(record) if record else ()
        if not tries:
            return
        given = self._counts(tries)
        if not self.question.options or given in self.question.options:
            self.field.value = given
            verdict = self._weighed(self._judged(given))
            self._said, self._kind = self._with_working(verdict), verdict.kind
            self._show_said()

    def _misses(self, record: Answer | None) -> int:
        """Count the tries before the first right one."""
        right = (
            judge(self.question, one.given).kind is Kind.RIGHT for one in (self._of_panel(record) if record else ())
        )
        return sum(1 for _ in takewhile(lambda one: not one, right))

    def _weighed(self, verdict: Verdict) -> Verdict:
        """Return a verdict as it is stored: what is right once the working was shown says so."""
        if verdict.kind is not Kind.RIGHT or self.question.options:
            return verdict
        misses = self._misses(ANSWERS.restored(self.name, self.seed))  # also those of another window
        return replace(verdict, misconception=SHOWN) if misses >= WHOLE_SHOWN else verdict

    def _with_working(self, verdict: Verdict) -> str:
        """Return what a verdict is told as; the second miss brings how the working begins, the third all of it."""
        missed = not self.question.options and verdict.kind in (Kind.WRONG, Kind.NEAR)
        misses = self._misses(ANSWERS.of(self.name, self.seed)) if missed else 0
        if misses >= WHOLE_SHOWN:
            return f"{self._told(verdict)}\nThe working: {whole(self.question)}"
        return self._told(verdict) + (f"\nThe working begins: {first_line(self.question)}" if misses > 1 else "")

    def _of_panel(self, record: Answer) -> tuple[Try, ...]:
        """Return the tries that were made at these figures."""
        return record.tries

    def _counts(self, tries: Sequence[Try]) -> str:
        """Return the answer that counts: right once is right, otherwise the last."""
        return next((t.given for t in tries if judge(self.question, t.given).kind is Kind.RIGHT), tries[-1].given)

    def _judged(self, given: float | str | None) -> Verdict:
        """Return how an answer is judged and stored."""
        return judge(self.question, given)

    def _told(self, verdict: Verdict) -> str:
        """Return what a verdict is told as, and once it is right what was believed before the lesson."""
        return " ".join(filter(None, (say(verdict), self._believed() if verdict.kind is Kind.RIGHT else "")))

    def _believed(self) -> str:
        """Return what was answered before the lesson to the question of this kind; empty where nothing was."""
        lesson = next((one for one in manifest() if one.before == self.name), None)
        record = ANSWERS.restored(lesson.before_kept, self.seed) if lesson else None
        return believed(question(self.name, f"before {self.seed}"), record.last) if record else ""

    def _show_said(self) -> None:
        said = html.escape(in_both(self._said, self.units)).replace("\n", "<br>")
        sign, colour = self._signs.get(self._kind, ("", ""))
        badge = f"<span aria-hidden='true' style='{_BADGE};background:{colour}'>{sign}</span>" if sign else ""
        self.feedback.value = (
            f"<div style='display:flex;align-items:flex-start;line-height:1.4'>{badge}"
            f"<p role='status' aria-live='polite' style='margin:0'>{said}</p></div>"
        )

    def answer(self, given: float | str) -> str:
        """Return what `given` gets back, without touching the panel.

        Examples
        --------
        >>> Exercise("two-proof", 1).answer("")
        'Choose one of the answers first, then check.'
        """
        return self._told(self._judged(given))

    def __repr__(self) -> str:
        """Return the question in words, the same in every run."""
        lines = textwrap.wrap(in_both(self.question.text, self.units), 88)
        lines += [f"  ( ) {words}" for words, _ in self._choices()]
        if not self.question.options:
            lines.append(f"  Answer: ______ {self.question.unit}")
        return "\n".join(lines)

    def _repr_mimebundle_(self, **kwargs: object) -> dict:
        """Return the panel, with the whole question in words beside it."""
        shown(self)
        bundle = super()._repr_mimebundle_(**kwargs)
        data = bundle[0] if isinstance(bundle, tuple) else bundle
        data["text/plain"] = repr(self)
        return bundle
