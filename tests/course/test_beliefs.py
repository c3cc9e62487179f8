"""The fifteen beliefs that learners bring along are each met by an exercise with a hint of its own."""

import pytest

from simulate.course.asking.check_answer import check
from simulate.course.asking.misconceptions import BELIEFS
from simulate.course.exercise.exercise import lessons, names, question


def test_there_are_fifteen_and_none_stands_twice():
    assert len(BELIEFS) == len({b.asked for b in BELIEFS}) == len({b.said for b in BELIEFS}) == 15


@pytest.mark.parametrize("belief", BELIEFS, ids=lambda b: b.asked)
def test_each_belief_is_the_named_reason_of_a_wrong_answer(belief):
    looked = 0
    for name, misconception in belief.met:
        for student in range(20):
            q = question(name, student)
            given = [w.given for w in q.wrong if w.misconception == misconception]
            assert len(given) == 1, (name, misconception)
            assert check(q, given[0]).startswith(f"Not yet ({misconception}).")
            looked += 1
    assert looked == 20 * len(belief.met) >= 20


def test_every_lesson_with_exercises_has_three_or_more_and_the_course_five_a_lesson():
    few = [lesson for lesson in lessons() if len(names(lesson)) < 3]
    assert len(lessons()) >= 22 and not few
    assert sum(len(names(lesson)) for lesson in lessons()) >= 5 * len(lessons())
