"""One answer of one file, judged; and which of several counts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from simulate.course.asking.check_answer import SHOWN, Kind, Verdict, judge
from simulate.course.asking.question import Question
from simulate.course.classroom.handed_in import HandedIn
from simulate.course.exercise.answer_record import Answer, Try


@dataclass(frozen=True, kw_only=True)
class Judged:
    """What one file holds of one answer.

    `try_`: the one that counts: the first right one, or the last. `verdict`: of that one. `first`: the first answer
    that the question takes. `tries`: up to the one that counts. `shown`: whether the exercise had shown the working by
    then.
    """

    file: HandedIn
    record: Answer
    try_: Try
    verdict: Verdict
    first: str
    right_at_first: bool
    tries: int
    shown: bool = False

    @property
    def right(self) -> bool:
        """Whether the answer that counts is right."""
        return self.verdict.kind is Kind.RIGHT


def judged(file: HandedIn, record: Answer, question: Question) -> Judged | None:
    """Judge a record.

    `question`: with the figures of the record's own student. Returns: none where the question understands none of the
    tries: such are no tries.
    """
    taken = [(one, verdict) for one in record.tries if (verdict := judge(question, one.given)).taken]
    if not taken:
        return None
    place = next((k for k, (_, verdict) in enumerate(taken) if verdict.kind is Kind.RIGHT), len(taken) - 1)
    one, verdict = taken[place]
    return Judged(
        file=file,
        record=record,
        try_=one,
        verdict=verdict,
        first=taken[0][0].given,
        right_at_first=taken[0][1].kind is Kind.RIGHT,
        tries=place + 1 + (record.unlisted if place else 0),
        shown=one.misconception == SHOWN,
    )


def which_counts(whole: Sequence[Judged], word: str, counts: str) -> tuple[Judged, list[Judged]]:
    """Choose among what several files hold of one answer.

    `whole`: at least one. `word`: of the student. `counts` ({"best", "latest"}): ``"best"``: a right one, right at
    first, with few tries. ``"latest"``: the one that was answered last, in the notebooks that were handed out to the
    student and what goes on from them, so that nobody else's file can lower a mark. Returns `others`: those that are
    not an earlier state of the one that counts.
    """
    if counts == "latest":
        own = max(_ownership(one.file, word) for one in whole)
        sure = [one for one in whole if _ownership(one.file, word) == own]
        pool = [one for one in whole if one in sure or any(_within(part.record, one.record) for part in sure)]
        best = max(pool, key=lambda one: (one.record.tries[-1].at, *_good(one)))
    else:
        best = max(whole, key=_good)
    return best, [one for one in whole if not _within(one.record, best.record) and not _within(best.record, one.record)]


def _ownership(file: HandedIn, word: str) -> int:
    """Return how sure it is that a file is the student's: handed out to them, said to be theirs, another's."""
    return (2 if file.sign else 1) if file.own == word else int(not file.own)


def _good(one: Judged) -> tuple:
    return one.right, not one.shown, one.right_at_first, -one.tries, one.record.tries[-1].at


def _within(part: Answer, whole: Answer) -> bool:
    """Whether one record is an earlier state of the other, or the same."""
    return part.count <= whole.count and {(t.at, t.given) for t in part.tries} <= {(t.at, t.given) for t in whole.tries}
