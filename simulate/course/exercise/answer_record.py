"""One answer as it is stored: every try with its time, closed by a seal; older records are read too."""

from __future__ import annotations

import hashlib
import hmac
import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace

VERSION = 2
"""Of the record. Version 1 held the first and the last answer and how many there were, without times."""

LONGEST_TEXT = 200
MOST_TRIES = 100


@dataclass(frozen=True, kw_only=True)
class Try:
    """One answer that the exercise took.

    Attributes
    ----------
    given : str
        As typed or chosen.
    kind : str
        How it was judged, a value of `answers.Kind`; empty where it was not.
    at : str
        UTC, as ``2026-01-31T09:15:00.000000Z``; empty in records of version 1.
    course : str
        Version of the course that judged it.
    """

    given: str
    kind: str = ""
    misconception: str = ""
    at: str = ""
    course: str = ""


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What one student answered to one exercise.

    Attributes
    ----------
    student : str
        The word that the figures belong to.
    tries : tuple of Try
        The oldest first; at least one.
    unlisted : int
        Tries that were made and are not listed, between the first and the last.
    seal : str
        Of all the above, keyed with the student's word; it no longer fits where one of them was changed by hand.
    version : int
        Of the record, since each has a seal of its own kind.
    """

    exercise: str
    student: str
    tries: tuple[Try, ...]
    unlisted: int = 0
    seal: str = ""
    version: int = VERSION

    @property
    def first(self) -> str:
        """The first answer."""
        return self.tries[0].given

    @property
    def last(self) -> str:
        """The last answer."""
        return self.tries[-1].given

    @property
    def count(self) -> int:
        """How many tries there were."""
        return len(self.tries) + self.unlisted

    @property
    def untouched(self) -> bool:
        """Whether the seal fits."""
        return hmac.compare_digest(_bytes(self.seal), seal(self).encode())


def _bytes(text: str) -> bytes:
    return text.encode("utf-8", "surrogatepass")


def cleaned(given: object) -> str:
    """Return an answer as text that every file can hold.

    Returns: at most 200 characters, without halves of characters.

    >>> cleaned(" 12 "), cleaned(None), cleaned(chr(0xD800))
    ('12', '', '?')
    """
    text = str("" if given is None else given)[: 4 * LONGEST_TEXT].strip()[:LONGEST_TEXT]
    return text.encode("utf-8", "replace").decode()


def seal(answer: Answer) -> str:
    """Return what closes one record.

    Returns: sixteen letters and digits.

    It catches a record that was typed over. It cannot keep out somebody who reads
    this source and runs it, as they could have answered the exercise with it.

    >>> blank = Answer(exercise="two-gap", student="bako-rimu", tries=())
    >>> one, other = (sealed(replace(blank, tries=(Try(given=g),))) for g in ("12", "14"))
    >>> one.untouched, one.seal == other.seal
    (True, False)
    """
    if answer.version == 1:
        said = json.dumps([answer.exercise, answer.first, answer.last, answer.count], ensure_ascii=False)
        key = f"hand-in\n{answer.student}"
    else:
        said = json.dumps([answer.exercise, [list(asdict(t).values()) for t in answer.tries], answer.unlisted])
        key = f"answer {answer.version}\n{answer.student}"
    return hmac.new(_bytes(key), _bytes(said), hashlib.sha256).hexdigest()[:16]


def sealed(answer: Answer) -> Answer:
    """Return a record of this version with the seal that fits."""
    whole = replace(answer, version=VERSION)
    return replace(whole, seal=seal(whole))


def merged(one: Answer, other: Answer) -> Answer:
    """Put two records of one exercise together, so that no try of either is lost.

    `one`, `other`: of the same exercise and student; each with a seal that fits. Returns: the tries in order of time,
    those of unknown time first. Merging again changes nothing.
    """
    found = {(t.at, t.given): t for t in (*other.tries, *one.tries)}
    tries = sorted(found.values(), key=lambda t: t.at)
    return _capped(one, tries, max(one.count, other.count, len(tries)))


def with_try(before: Answer, one: Try) -> Answer:
    """Put one more try behind those of a record."""
    return _capped(before, [*before.tries, one], before.count + 1)


def _capped(record: Answer, tries: list[Try], count: int) -> Answer:
    """Return a record with so many tries as are listed at most; the first, a right one and the latest stay."""
    while len(tries) > MOST_TRIES:
        del tries[
            next((k for k in range(MOST_TRIES // 2, len(tries) - 1) if tries[k].kind != "right"), MOST_TRIES // 2)
        ]
    return sealed(replace(record, tries=tuple(tries), unlisted=count - len(tries)))


def merged_all(records: Iterable[Answer]) -> tuple[Answer, ...]:
    """Merge records; those whose seal does not fit stay as they are, and are never sealed anew.

    Returns: one for each exercise and student, in the order in which they first came, then those changed by hand.
    """
    whole: dict[tuple[str, str], Answer] = {}
    spoilt: dict[Answer, None] = {}
    for record in records:
        key = record.student, record.exercise
        if not record.untouched:
            spoilt[record] = None
        elif key not in whole:
            whole[key] = record
        elif whole[key] != record:
            whole[key] = merged(whole[key], record)
    return (*whole.values(), *spoilt)
