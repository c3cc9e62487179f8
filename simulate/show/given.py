"""What a student answered, kept so that it can be handed in with the notebook."""

from __future__ import annotations

import hashlib
import hmac
import json
from dataclasses import dataclass, replace

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
    seal : str
        Of the five above, keyed with the student's word; it no longer fits where one of them was changed by hand.
    """

    exercise: str
    student: str
    first: str
    last: str
    tries: int
    seal: str = ""

    @property
    def untouched(self) -> bool:
        """Whether the seal fits."""
        return hmac.compare_digest(self.seal, seal(self))


def seal(given: Given) -> str:
    """Return what closes one line of the list.

    Parameters
    ----------
    given : Given

    Returns
    -------
    str
        Sixteen letters and digits.

    Notes
    -----
    It catches a list that was typed over. It cannot keep out somebody who reads
    this source and runs it, as they could have answered the exercise with it.

    Examples
    --------
    >>> seal(Given("two-gap", "bako-rimu", "12", "14", 2)) == seal(Given("two-gap", "bako-rimu", "12", "15", 2))
    False
    """
    said = json.dumps([given.exercise, given.first, given.last, given.tries], ensure_ascii=False)
    return hmac.new(f"hand-in\n{given.student}".encode(), said.encode(), hashlib.sha256).hexdigest()[:16]


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
        kept = Given(*key, first, text, tries)
        self._given[key] = replace(kept, seal=seal(kept))
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
    >>> [(g.first, g.last, g.tries, g.untouched) for g in read_given(repr(hand))]
    [('12', '14', 2, True)]
    """
    found = []
    for line in text.splitlines():
        if not line.startswith(_START):
            continue
        try:
            part = json.loads(line.removeprefix(_START))
            texts = (str(part[k]) for k in ("exercise", "student", "first", "last"))
            found.append(Given(*texts, int(part["tries"]), str(part.get("seal", ""))))
        except (ValueError, KeyError, TypeError):
            continue
    return found
