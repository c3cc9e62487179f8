"""Where a learner stands: counted from what was kept, shown over and below a lesson, and old questions asked anew."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given as cases
from hypothesis import strategies as st

from simulate.course.asking.check_answer import judge
from simulate.course.classroom.class_list import class_set
from simulate.course.classroom.grading import mark_class
from simulate.course.exercise.again import Again
from simulate.course.exercise.answers_file import ANSWERS_FILE, open_answers
from simulate.course.exercise.exercise import Exercise, names, question
from simulate.course.exercise.hand_in import ANSWERS, HandIn
from simulate.course.exercise.pre_question import Before
from simulate.course.exercise.standing import AGAIN, AT_ONCE, due_again, next_lesson, standings
from simulate.course.notebook.manifest import lesson_of, manifest
from simulate.course.opening.lesson_head import LessonHead, open_lesson

WORD = "a word of this test"
NOON = datetime(2026, 1, 31, 12, tzinfo=UTC)


@pytest.fixture
def file(tmp_path, monkeypatch):
    monkeypatch.setattr(ANSWERS, "path", tmp_path / ANSWERS_FILE)
    monkeypatch.setattr(ANSWERS, "clock", lambda: NOON)
    return tmp_path / ANSWERS_FILE


def keep(hand, name, right, word=WORD):
    """Answer one exercise, right or by its first likely wrong answer."""
    asked = question(name, word)
    given = asked.answer if right else asked.wrong[0].given
    hand.keep(name, word, given, judge(asked, given))


def standing(records, key):
    return next(one for one in standings(records) if one.lesson.key == key)


def test_a_lesson_counts_what_was_right_at_first_right_later_and_not_yet():
    hand = HandIn(clock=lambda: NOON)
    first, later, never = names("03")[:3]
    keep(hand, first, True)
    keep(hand, first, False)  # right once is right
    for right in (False, True):
        keep(hand, later, right)
    keep(hand, never, False)
    found = standing(hand.all_of(WORD), "two-bars")
    assert (found.right_at_first, found.right, found.again) == ((first,), (first, later), (never,))
    assert (found.done, found.asked, found.finished) == (3, 5, False)
    assert standing(hand.all_of("somebody else"), "two-bars").done == 0


def test_the_way_goes_on_at_the_first_lesson_that_is_not_finished():
    hand = HandIn(clock=lambda: NOON)
    assert next_lesson(standings(())).key == "start"
    for name in (*names("00"), *names("02")):
        keep(hand, name, True)
    assert next_lesson(standings(hand.all_of(WORD))).number == "01"
    for name in names():
        keep(hand, name, True)
    assert next_lesson(standings(hand.all_of(WORD))) is None


def test_what_went_wrong_is_asked_first_and_what_is_fresh_rests():
    now = [NOON - timedelta(days=30)]
    hand = HandIn(clock=lambda: now[0])
    right, later, wrong = names("01")[0], names("02")[0], names("03")[0]
    keep(hand, right, True)
    now[0] += timedelta(days=1)
    for got in (False, True):
        keep(hand, later, got)
    now[0] += timedelta(days=1)
    keep(hand, wrong, False)
    now[0] = NOON - timedelta(days=2)
    keep(hand, names("04")[0], False)
    records = hand.all_of(WORD)
    assert due_again(records, NOON) == (wrong, later, right)
    assert due_again(records, NOON, here="two-bars") == (later, right)
    assert due_again(records, NOON + timedelta(days=2))[:2] == (wrong, names("04")[0])
    assert due_again(records, NOON - timedelta(days=28)) == ()


@cases(
    st.lists(st.tuples(st.sampled_from(names()), st.booleans(), st.integers(0, 20)), max_size=25), st.integers(0, 25)
)
def test_never_more_than_five_none_twice_and_none_within_three_days(kept, days):
    now = [NOON]
    hand = HandIn(clock=lambda: now[0])
    last = {}
    for name, right, day in sorted(kept, key=lambda one: one[2]):
        now[0] = NOON + timedelta(days=day)
        before = len(hand.all_of(WORD)), hand.of(name, WORD)
        keep(hand, name, right)
        if hand.of(name, WORD) != before[1]:  # the same answer once more is no try
            last[name] = now[0]
    then = NOON + timedelta(days=days, hours=1)
    found = due_again(hand.all_of(WORD), then)
    ripe = {name for name, at in last.items() if then - at > timedelta(days=3)}
    assert len(set(found)) == len(found) == min(AT_ONCE, len(ripe)) and set(found) <= ripe


def test_a_question_asked_anew_has_figures_of_its_day_rests_after_it_and_leaves_the_first_answer_alone(file):
    keep(ANSWERS, "two-double", False)
    keep(ANSWERS, "two-double", True)
    before = ANSWERS.of("two-double", WORD)
    ANSWERS.clock = lambda: NOON + timedelta(days=9)
    anew = Again("two-double", WORD, "2026-02-09")
    assert (
        anew.field.value == "" and anew.question != question("two-double", WORD) and "03 Two bars agree" in anew._text()
    )
    anew.field.value = f"{anew.question.answer:g}"
    assert "Right." in anew.feedback.value
    assert ANSWERS.of("two-double", WORD) == before
    assert [r.exercise for r in open_answers(file)] == ["two-double", AGAIN + "two-double"]
    assert Again("two-double", WORD, "2026-02-09").field.value == anew.field.value, "the same day goes on"
    assert Again("two-double", WORD, "2026-02-20").field.value == "", "another day begins anew"
    assert Again("two-double", WORD, "2026-02-20").question != anew.question
    assert due_again(ANSWERS.all_of(WORD), NOON + timedelta(days=11)) == ()
    assert due_again(ANSWERS.all_of(WORD), NOON + timedelta(days=13)) == ("two-double",)


def test_answers_given_anew_change_no_mark_and_raise_no_remark(tmp_path):
    (word,) = class_set(["A. Student"], 1).values()
    hand = HandIn(tmp_path / ANSWERS_FILE, clock=lambda: NOON)
    keep(hand, "two-double", False, word)
    marked = mark_class(tmp_path, ["A. Student"], 1, ["03"])
    asked = Again("two-double", word, "2026-01-31").question
    hand.keep(AGAIN + "two-double", word, asked.answer, judge(asked, asked.answer))
    assert mark_class(tmp_path, ["A. Student"], 1, ["03"]) == marked and not marked.aside


def test_the_head_and_the_foot_follow_each_answer(file):
    head = LessonHead(lesson_of("03"), WORD)
    shown = {name: Exercise(name, WORD) for name in names("03")}
    foot = shown[names("03")[-1]].children[-1]
    html = [lambda: head._told.outputs[0]["data"]["text/html"], lambda: foot.outputs[0]["data"]["text/html"]]
    assert all("03 Two bars agree: 0 of 5 questions done." in now() for now in html)
    assert [len(one.children) for one in shown.values()] == [3, 3, 3, 3, 4], "only the last one has a foot"
    one = shown["two-double"]
    one.field.value = f"{one.question.wrong[0].given:g}"
    assert all("1 of 5 questions done, 0 right at first, 1 to be looked at again (question 2)" in now() for now in html)
    assert f"<summary>The whole course: 1 of {len(names())} questions done" in html[0]() and len(names()) >= 139
    two = shown["two-gap"]
    two.field.value = f"{two.question.answer:g}"
    assert all("2 of 5 questions done, 1 right at first" in now() for now in html)


def test_the_head_offers_old_questions_where_some_are_due_and_asks_them_at_a_press(file):
    assert LessonHead(lesson_of("04"), WORD).offer.layout.display == "none"
    for name in names("03"):
        keep(ANSWERS, name, name == "two-double")
    ANSWERS.clock = lambda: NOON + timedelta(days=4)
    head = LessonHead(lesson_of("04"), WORD)
    assert head.offer.layout.display is None and "5 questions from earlier lessons" in head.offer.description
    head.offer.click()
    assert [one.asks for one in head.asked.children][-1] == "two-double" and len(head.asked.children) == 5
    assert head.offer.layout.display == "none"


@pytest.mark.parametrize("right", [True, False])
def test_the_question_after_a_lesson_says_what_was_believed_before_it_once_it_is_right(file, right):
    before, after = Before("03", WORD), Exercise("two-double", WORD)
    given = before.question.answer if right else before.question.wrong[0].given
    before.field.value = f"{given:g}"
    after.field.value = f"{after.question.wrong[0].given:g}"
    assert "Before the lesson" not in after.feedback.value, "it would tell what is right"
    after.field.value = f"{after.question.answer:g}"
    told = (
        "already right then"
        if right
        else f"where {before.question.answer:g} µm was right (forgets the error is doubled)"
    )
    assert f"Before the lesson you answered {given:g} µm, with other figures" in after.feedback.value
    assert told in after.feedback.value
    assert "Before the lesson" not in Exercise("two-gap", WORD).answer(question("two-gap", WORD).answer)


@pytest.mark.parametrize(
    ("served", "number"),
    [
        ("lessons/04_three_bars.ipynb", "04"),
        ("04_three_bars-Copy1.ipynb", "04"),
        ("07_three_points_to_seven.ipynb", "08"),  # as it was numbered when it was handed out
        ("05_my_own_words.ipynb", "05"),
        ("mine.ipynb", None),
        ("", None),
    ],
)
def test_the_server_says_which_lesson_is_open(monkeypatch, served, number):
    monkeypatch.setenv("JPY_SESSION_NAME", served)
    found = open_lesson()
    assert (found and found.number) == number


def test_a_head_without_a_lesson_or_a_word_still_shows_the_whole_course():
    html = LessonHead(None, "").view.children[0].outputs[0]["data"]["text/html"]
    assert re.findall(r'href="([^"]+)"', html)[0] == "00_start_here.ipynb"
    assert all(f'href="{one.file}.ipynb"' in html for one in manifest())
