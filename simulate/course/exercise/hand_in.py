"""What a student answered: kept in a file beside the notebook, and in the notebook itself, so that it can be handed
in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Lock

from IPython.display import display

from simulate import __version__
from simulate.core.atomic_files import LogbookError
from simulate.course.asking.check_answer import Verdict
from simulate.course.exercise.answer_record import Answer, Try, cleaned, merged_all, sealed, with_try
from simulate.course.exercise.answer_text import as_line, read_lines
from simulate.course.exercise.answers_file import ANSWERS_FILE, open_answers, save_answers
from simulate.course.exercise.notebook_keeper import Shown, notebook_keeper
from simulate.course.exercise.notebook_text import stored_lists

_TIME = "%Y-%m-%dT%H:%M:%S.%fZ"
_EMPTY = "No exercise is answered yet."


def now_utc() -> datetime:
    """Return the time now.

    Returns: UTC.
    """
    return datetime.now(UTC)


class HandIn:
    """All answers of a folder: those of this session, and those that its file keeps.

    `path`: the file that keeps them; without one they live in the session only. `clock`: gives the time, UTC. `course`:
    version of the course; that of this package where not given. `trouble` (str): why the file could not be written;
    empty where it could.
    """

    def __init__(
        self, path: Path | None = None, clock: Callable[[], datetime] = now_utc, course: str | None = None
    ) -> None:
        self.path, self.clock, self.course, self.trouble = path, clock, course, ""
        self._records: tuple[Answer, ...] = ()
        self._shown: list[Shown] = []
        self._followers: dict[str, Shown] = {}
        self._one_at_a_time = Lock()

    def keep(
        self,
        exercise: str,
        student: object,
        given: object,
        verdict: Verdict | None = None,
        *,
        same: Callable[[Answer], bool] | None = None,
    ) -> None:
        """Keep one answer at once, and show it where the list is on the page.

        `given`: nothing typed, or what was kept last, is no new try. `verdict`: how it was judged. What was not
        understood is no try. `same`: whether it is what a record holds last; by the letter where it is not given.
        """
        with self._one_at_a_time:
            text = cleaned(given)
            self._keep(exercise, cleaned(student), text, verdict, same or (lambda before: before.last == text))

    def _keep(
        self, exercise: str, word: str, text: str, verdict: Verdict | None, same: Callable[[Answer], bool]
    ) -> None:
        self._load()
        before = self.of(exercise, word)
        if not text or (verdict and not verdict.taken) or (before and same(before)):
            if self.trouble:  # the same answer again asks for it to be saved
                self._save()
            return
        one = Try(given=text, at=self._time(before), course=self.course or __version__)
        if verdict:
            one = replace(one, kind=verdict.kind.value, misconception=verdict.misconception)
        record = with_try(before, one) if before else sealed(Answer(exercise=exercise, student=word, tries=(one,)))
        self._records = merged_all((*self._records, record))
        self._save()
        self._update()

    def _update(self) -> None:
        for shown in (*self._shown, *self._followers.values()):
            shown.update(self)

    def _time(self, before: Answer | None) -> str:
        """Return the time now, and always later than the last try, whatever the clock of this machine says."""
        now = self.clock().astimezone(UTC)
        if before and before.tries[-1].at >= now.strftime(_TIME):
            now = datetime.strptime(before.tries[-1].at, _TIME).replace(tzinfo=UTC) + timedelta(microseconds=1)
        return now.strftime(_TIME)

    def of(self, exercise: str, student: object) -> Answer | None:
        """Return what a student answered to one exercise."""
        key = exercise, cleaned(student)
        return next((r for r in self._records if (r.exercise, r.student) == key and r.untouched), None)

    def restored(self, exercise: str, student: object) -> Answer | None:
        """Return what a student answered to one exercise, also in another session."""
        self._load()
        return self.of(exercise, student)

    def all_of(self, student: object) -> tuple[Answer, ...]:
        """Return what a student answered to all exercises, also in other sessions."""
        self._load()
        return tuple(r for r in self._records if r.student == cleaned(student) and r.untouched)

    def follow(self, place: str, shown: Shown) -> None:
        """Show it anew after each answer, until another one takes its place."""
        self._followers[place] = shown

    def take_in(self, records: tuple[Answer, ...]) -> None:
        """Keep records that were stored elsewhere, beside those that are here."""
        self._load()
        together = merged_all((*self._records, *records))
        if together != self._records:
            self._records = together
            self._save()

    def show(self) -> None:
        """Put the list on the page; later answers are added to it there."""
        handle = display(self, display_id=True)
        if not handle:  # where no notebook runs
            return
        if not self._shown and (keeper := notebook_keeper()):
            self._shown.append(keeper)
        self._shown.append(handle)
        self._update()

    def _load(self) -> None:
        if self.path is None:
            return
        try:
            self._records = merged_all((*open_answers(self.path), *self._records))
        except LogbookError as refused:
            self.trouble = str(refused)

    def _save(self) -> None:
        if self.path is None:
            return
        try:
            self._records = save_answers(self.path, self._records)
            self.trouble = ""
        except LogbookError as refused:
            self.trouble = str(refused)

    def __repr__(self) -> str:
        """Return one line for each exercise answered."""
        return "\n".join(map(as_line, self._records)) if self._records else _EMPTY

    def _repr_html_(self) -> str:
        """Return how many exercises are answered; the lines themselves are stored beside this."""
        many = len({(r.student, r.exercise) for r in self._records})
        words = f"{many} answer{'s are' if many > 1 else ' is'} kept. Save the notebook to hand in." if many else _EMPTY
        return f"<p role='status'>{words}</p>"


ANSWERS = HandIn(ANSWERS_FILE)
"""One for the session."""


def hand_in() -> None:
    """Show every answer of this folder where it is stored with the notebook.

    Later answers are added to the list by themselves. What earlier lists in the
    notebooks of this folder hold is taken in first, so that a notebook that came
    alone from another machine brings its answers along.
    """
    ANSWERS.take_in(tuple(r for text in stored_lists(Path()) for r in read_given(text)))
    ANSWERS.show()


def read_given(text: str) -> list[Answer]:
    """Read the answers out of the text of a handed-in list.

    Returns: lines that are no answer are passed over.

    >>> hand = HandIn()
    >>> hand.keep("two-gap", "bako-rimu", 12); hand.keep("two-gap", "bako-rimu", 14)
    >>> [(g.first, g.last, len(g.tries), g.untouched) for g in read_given(repr(hand))]
    [('12', '14', 2, True)]
    """
    return read_lines(text)[0]
