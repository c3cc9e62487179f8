"""What a student answered, kept so that it can be handed in with the notebook."""

from __future__ import annotations

import json
from dataclasses import dataclass

from IPython.display import display

_START = "answer "


@dataclass(frozen=True)
class Given:
    """The answers to one exercise.

    Attributes
    ----------
    exercise : str
    student : str
        The word that the figures belong to.
    first, last : str
        The first and the last answer, as typed or chosen.
    tries : int
    """

    exercise: str
    student: str
    first: str
    last: str
    tries: int


class HandIn:
    """All answers of this session, one line each."""

    def __init__(self) -> None:
        self._given: dict[tuple[str, str], Given] = {}
        self._shown: list = []

    def keep(self, exercise: str, student: object, given: object) -> None:
        """Keep one answer, and show it where the list is on the page.

        Parameters
        ----------
        exercise : str
        student : object
        given : object
            Nothing typed, or what was kept last, is no new try.
        """
        text, key = str("" if given is None else given).strip()[:200], (exercise, str(student))
        before = self._given.get(key)
        if not text or (before and before.last == text):
            return
        first, tries = (before.first, before.tries + 1) if before else (text, 1)
        self._given[key] = Given(*key, first, text, tries)
        for handle in self._shown:
            handle.update(self)

    def show(self) -> None:
        """Put the list on the page; later answers are added to it there."""
        self._shown.append(display(self, display_id=True))

    def __repr__(self) -> str:
        """Return one line for each exercise answered."""
        lines = [_START + json.dumps(vars(g), ensure_ascii=False) for g in self._given.values()]
        return "\n".join(lines) if lines else "No exercise is answered yet."


ANSWERS = HandIn()
"""One for the session: an exercise run again must not lose what was answered."""


def hand_in() -> None:
    """Show every answer of this session where it is stored with the notebook.

    Later answers are added to the list by themselves. Save the notebook and
    hand it in; running all cells again after a restart starts from nothing.
    """
    ANSWERS.show()


def read_given(text: str) -> list[Given]:
    """Read the answers out of the text of a handed-in list.

    Parameters
    ----------
    text : str

    Returns
    -------
    list of Given
        Lines that are no answer are passed over.

    Examples
    --------
    >>> hand = HandIn()
    >>> hand.keep("two-gap", "bako-rimu", 12); hand.keep("two-gap", "bako-rimu", 14)
    >>> read_given(repr(hand))
    [Given(exercise='two-gap', student='bako-rimu', first='12', last='14', tries=2)]
    """
    found = []
    for line in text.splitlines():
        if not line.startswith(_START):
            continue
        try:
            part = json.loads(line.removeprefix(_START))
            found.append(Given(*(str(part[k]) for k in ("exercise", "student", "first", "last")), int(part["tries"])))
        except (ValueError, KeyError, TypeError):
            continue
    return found
