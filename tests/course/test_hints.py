"""What leads out of a wrong figure: its slip by name, then how the working begins, then all of it, which costs the
point."""

import re

import pytest

from simulate.course.asking.check_answer import NOTHING_KNOWN, SHOWN, Kind, check, judge
from simulate.course.asking.question import numeric
from simulate.course.asking.working import first_line, whole
from simulate.course.classroom.class_list import class_set
from simulate.course.classroom.feedback import points
from simulate.course.classroom.grading import mark_class
from simulate.course.exercise import exercise
from simulate.course.exercise.answers_file import ANSWERS_FILE, open_answers
from simulate.course.exercise.exercise import Exercise, names, question
from simulate.course.exercise.hand_in import ANSWERS, HandIn
from simulate.course.exercise.pre_question import Before
from simulate.course.exercise.standing import standings

SEEDS = range(20)
NUMBERS = [name for name in names() if not question(name, 0).options]
WORD = "a word of this test"
FIGURES = re.compile(r"\d+(?:\.\d+)?")


@pytest.fixture
def file(tmp_path, monkeypatch):
    monkeypatch.setattr(ANSWERS, "path", tmp_path / ANSWERS_FILE)
    return tmp_path / ANSWERS_FILE


def test_a_thousand_times_twice_half_and_the_other_sign_get_words_of_their_own():
    looked, named = 0, 0
    for name in NUMBERS:
        for seed in SEEDS:
            asked = question(name, seed)
            for factor in (1000, 2, 0.5, -1) if asked.answer else ():
                verdict = judge(asked, asked.answer * factor)
                assert verdict.kind is not Kind.RIGHT, (name, seed, factor)
                looked += 1
                named += bool(verdict.misconception) and NOTHING_KNOWN not in verdict.hint
    assert looked > 6000
    assert named >= 0.95 * looked, f"{named} of {looked}"


@pytest.mark.parametrize(
    ("unit", "factor", "named"),
    [
        ("µm", 0.001, "millimetres are given for micrometres"),
        ("µm", 1 / 25.4, "thou are given for micrometres"),
        ("mm", 1000, "micrometres are given for millimetres"),
        ("mm", 1 / 25.4, "inches are given for millimetres"),
        ("s", 1000, "a thousand times what is asked"),
        ("µm", 2, "twice what is asked"),
        ("µm", 0.5, "half of what is asked"),
        ("µm", -1, "the size is right and the sign is not"),
        ("µm", 10, "the decimal point has slipped"),
        ("µm", 0.01, "the decimal point has slipped"),
    ],
)
def test_a_slip_is_named_for_what_it_is(unit, factor, named):
    asked = numeric("How far?", 228.6, unit, "By hand.")
    assert judge(asked, factor * 228.6).misconception == named
    assert judge(asked, f"{factor * 228.6:.3g}").misconception == named, "rounded as somebody types it"


def test_a_figure_that_was_misread_is_named():
    asked = numeric("A gap of 40 µm over 250 mm. How far?", 237, "µm", "By hand.")
    assert judge(asked, 273).misconception == "two figures have changed places"
    assert judge(asked, 287).misconception == "one figure is read wrongly" and "second figure" in judge(asked, 287).hint
    assert judge(asked, 250).misconception == "a figure of the question is given back"
    assert judge(asked, 111).misconception == "" and judge(asked, 111).hint == NOTHING_KNOWN


def test_what_a_question_knows_of_itself_goes_before_what_every_question_knows():
    asked = numeric("Twice 12 µm?", 24, "µm", "12 + 12.", (48, "doubles twice", "Once is enough."))
    assert check(asked, 48) == "Not yet (doubles twice). Once is enough."


def test_a_size_and_a_height_are_told_otherwise_of_their_sign():
    assert judge(numeric("By how much?", 8, "µm", "."), -8).hint == "A size is asked for: type it without a minus sign."
    assert judge(numeric("Without its sign?", 8, "µm", "."), -8).hint.startswith("A size is asked for")
    assert judge(numeric("With its sign?", 8, "µm", "."), -8).hint == "Plus is proud, minus is hollow."


@pytest.mark.parametrize("name", NUMBERS)
def test_the_working_has_the_students_own_figures_and_only_the_whole_of_it_the_answer(name):
    for seed in SEEDS:
        asked = question(name, seed)
        begun, all_of_it = first_line(asked), whole(asked)
        own = set(FIGURES.findall(asked.text))
        assert own & set(FIGURES.findall(begun)), (seed, begun)
        assert not re.search(rf"= {re.escape(f'{asked.answer:.4g}')}\b(?!\.\d)", begun), (seed, begun)
        assert f"The answer is {asked.answer:.4g}" in all_of_it and asked.why in all_of_it


def missed(panel, count):
    """Type so many wrong answers, each another one."""
    told = []
    for k in range(count):
        panel.field.value = f"{panel.question.answer * 3 + 7 + k:g}"
        told.append(panel.feedback.value)
    return told


def test_the_second_miss_begins_the_working_and_the_third_shows_it(file):
    panel = Exercise("two-double", WORD)
    one, two, three = missed(panel, 3)
    assert "working" not in one and "✗" in one
    assert f"The working begins: {first_line(panel.question)}" in two and "The working: " not in two
    assert f"The working: {whole(panel.question)}" in three
    panel.field.value = f"{panel.question.answer:g}"
    assert f"Right, {SHOWN}: it earns no point." in panel.feedback.value and "✓" in panel.feedback.value
    (kept,) = open_answers(file)
    assert [one.kind for one in kept.tries] == ["wrong"] * 3 + ["right"] and kept.tries[-1].misconception == SHOWN
    assert Exercise("two-double", WORD).feedback.value == panel.feedback.value, "another session says the same"
    found = next(one for one in standings(open_answers(file)) if one.lesson.key == "two-bars")
    assert (found.done, found.right, found.right_at_first, found.again) == (1, ("two-double",), (), ("two-double",))


def test_two_misses_cost_no_point_and_the_same_answer_once_more_is_no_miss(file):
    panel = Exercise("two-double", WORD)
    missed(panel, 2)
    panel._check()
    panel._check()
    assert "The working: " not in panel.feedback.value
    panel.field.value = f"{panel.question.answer:g}"
    assert "no point" not in panel.feedback.value and open_answers(file)[0].tries[-1].misconception == ""
    missed(panel, 3)
    panel.field.value = f"{panel.question.answer:g}"
    assert "no point" not in panel.feedback.value, "right once is right"


def test_choices_and_the_question_before_a_lesson_show_no_working(file):
    choice = Exercise("two-proof", WORD)
    for wrong in choice.question.wrong:
        choice.field.value = wrong.given
        choice.button.click()
    assert "working" not in choice.feedback.value and "✗" in choice.feedback.value
    before = Before("03", WORD)
    for told in missed(before, 4):
        assert "Saved, not marked." in told and "working" not in told and "✗" not in told and "✓" not in told


def test_an_answer_after_the_working_is_marked_so_and_earns_no_point(file):
    (word,) = class_set(["A. Student"], 1).values()
    for name, misses in (("two-double", 3), ("two-gap", 2)):
        panel = Exercise(name, word)
        missed(panel, misses)
        panel.field.value = f"{panel.question.answer:g}"
    rows = {row.exercise: row for row in mark_class(file.parent, ["A. Student"], 1, ["03"]).rows}
    shown, own = rows["two-double"], rows["two-gap"]
    assert (shown.right, shown.shown, shown.told, shown.tries) == ("yes", "yes", f"Right, {SHOWN}", 4)
    assert (own.right, own.shown, own.told, own.tries) == ("yes", "", "Right", 3)
    assert [one.points for one in points([shown])] == [0.0] and [one.points for one in points([own])] == [1.0]


def test_right_near_and_not_yet_differ_by_sign_and_by_colour():
    panel, seen = Exercise("three-sigma", WORD), {}
    for kind, value in (("right", panel.question.answer), ("wrong", 7777), ("near", panel.question.answer * 1.02)):
        panel.field.value = f"{value:.4f}"
        badge = re.search(r"<span aria-hidden='true' style='[^']*background:(#\w+)'>(.)</span>", panel.feedback.value)
        seen[kind] = badge.groups()
    assert len({sign for _, sign in seen.values()}) == 3 and seen["right"][0] != seen["wrong"][0]
    panel.field.value = "plenty"
    assert "aria-hidden" not in panel.feedback.value, "no try, no sign"


def test_a_window_that_was_open_before_knows_that_the_working_was_shown_in_another(file, monkeypatch):
    second = HandIn(file)
    assert second.restored("two-double", WORD) is None
    panel = Exercise("two-double", WORD)
    monkeypatch.setattr(exercise, "ANSWERS", second)
    other = Exercise("two-double", WORD)
    monkeypatch.setattr(exercise, "ANSWERS", ANSWERS)
    missed(panel, 3)
    monkeypatch.setattr(exercise, "ANSWERS", second)
    other.field.value = f"{other.question.answer:g}"
    assert f"Right, {SHOWN}: it earns no point." in other.feedback.value
    (kept,) = open_answers(file)
    assert kept.tries[-1].misconception == SHOWN


def test_a_figure_that_is_right_as_it_is_written_now_is_kept_though_it_was_a_miss_otherwise(file):
    # 27 µm is 1.06 thou; 26.924 µm is the same figure, and not 27 µm to a tenth. What is told is what is stored
    panel = Exercise("start-metal", 0)
    assert panel.question.answer == 27
    for typed, said in (("26.924", "✗"), ("1.06 thou", "✓")):
        panel.field.value = typed
        assert said in panel.feedback.value
    (kept,) = open_answers(file)
    assert [(one.given, one.kind) for one in kept.tries] == [("26.924", "wrong"), ("1.06 thou", "right")]


def test_the_same_figure_written_otherwise_is_no_further_miss(file):
    panel = Exercise("two-double", WORD)
    wrong = 3 * panel.question.answer + 7
    for typed in (f"{wrong:g}", f"{wrong:.1f}", f"{wrong:g} µm"):
        panel.field.value = typed
        assert "The working" not in panel.feedback.value
    (kept,) = open_answers(file)
    assert len(kept.tries) == 1
