"""Every question takes its right answer, and leads out of each likely wrong one."""

import pytest

from simulate.course.asking.check_answer import check, judge
from simulate.course.asking.question import numeric
from simulate.course.exercise.exercise import Exercise, names, question

SEEDS = range(200)
LESSONS = ("00", "01", "02", "03", "04", "05", "06")


@pytest.mark.parametrize("lesson", LESSONS)
def test_a_lesson_has_four_questions_or_more(lesson):
    assert len(names(lesson)) >= 4
    assert set(names(lesson)) <= set(names())


@pytest.mark.parametrize("name", names())
def test_the_right_answer_is_taken_for_every_student(name):
    looked = 0
    for seed in SEEDS:
        q = question(name, seed)
        assert check(q, q.answer) == f"Right. {q.why}", (seed, q)
        if not q.options:
            assert check(q, f"{q.answer:.3f} {q.unit}".replace(".", ",")).startswith("Right."), (seed, q)
        looked += 1
    assert looked == len(SEEDS)


@pytest.mark.parametrize("name", names())
def test_each_misconception_gives_its_own_hint(name):
    looked = 0
    for seed in SEEDS:
        q = question(name, seed)
        assert len(q.wrong) >= 2
        assert len({w.hint for w in q.wrong}) == len({w.misconception for w in q.wrong}) == len(q.wrong)
        for w in q.wrong:
            assert check(q, w.given) == f"Not yet ({w.misconception}). {w.hint}", (seed, q)
            looked += 1
    assert looked >= 2 * len(SEEDS)


@pytest.mark.parametrize("name", names())
def test_nonsense_gets_a_sentence(name):
    q = question(name, 1)
    looked = 0
    for given in ("", None, "plenty", "nan", "inf", "1e999", "1.2.3", True, "x" * 10_000, "<b>", "3 4"):
        said = check(q, given)
        assert said.startswith(("Type one number", "Choose one of the answers")), given
        assert said.endswith(".") and len(said) < 200
        looked += 1
    assert looked == 11


def test_every_choice_offers_its_answer_and_each_wrong_one_once():
    looked = 0
    for name in names():
        q = question(name, 3)
        if q.options:
            assert sorted(q.options) == sorted([q.answer, *(w.given for w in q.wrong)])
            assert len(set(q.options)) == len(q.options)
            looked += 1
    assert looked >= 10


def test_students_get_figures_of_their_own_and_the_same_ones_again():
    assert question("two-double", "bench 1") == question("two-double", "bench 1")
    assert len({question("two-double", seed).answer for seed in SEEDS}) > 10


def test_the_order_of_choices_differs_between_students():
    assert len({question("two-proof", seed).options for seed in SEEDS}) > 5


def test_a_size_with_the_wrong_sign_is_told_so():
    q = question("three-solve", 5)
    assert "sign" in check(q, -q.answer)


@pytest.mark.parametrize(
    "typed",
    ["12.5", "12,5", "12,5 µm", "12.5 um", "12.5 microns", "0.0125 mm", "0.49 thou", '0.00049"', "0.00049 inch"],
)
def test_a_length_is_taken_as_a_machinist_types_it(typed):
    q = numeric("How far?", 12.5, "µm", "By hand.", (25, "doubled", "Halve it."))
    assert check(q, typed) == "Right. By hand."


@pytest.mark.parametrize("typed", ["250", "250 µm/m", "250 µm in a metre", "250 um per meter", "250 µrad", "250 urad"])
def test_a_slope_is_taken_as_the_lessons_write_it(typed):
    assert (
        check(numeric("How far out?", 250, "µm/m", "By hand.", (25, "a slip", "Count again.")), typed)
        == "Right. By hand."
    )


def test_a_count_is_taken_with_its_word_and_a_bare_count_is_asked_for_without_a_unit():
    q = numeric("How many?", 7, "", "By hand.", (8, "one too many", "Count again."))
    assert check(q, "7 passes") == "Right. By hand."
    assert check(q, "8 passes") == "Not yet (one too many). Count again."
    assert check(q, "") == "Type one number first, then check."
    assert check(q, "some") == "Type one number, such as 12; 'some' is not one."


def test_a_figure_rounded_too_early_is_told_that_it_is_near():
    q = numeric("How far?", 8.246, "µm", "By hand.", (8.2, "forgets a part", "Add it."), tolerance=0.01)
    assert "near" in check(q, "8.3") and "near" not in check(q, "8.5")
    assert check(q, "8.2") == "Not yet (forgets a part). Add it."
    assert "near" not in check(numeric("How many?", 100, "", "By hand."), 99), "a whole number is not rounded"


def test_an_unknown_question_is_refused_in_a_sentence():
    with pytest.raises(ValueError, match="name is 'two-trouble'; it must be 'start-thou'"):
        question("two-trouble", 1)
    with pytest.raises(ValueError, match="lesson is '99'; it must be '00'"):
        names("99")


def test_known_values_by_hand():
    """2e: published, J. Rose, Modern Machine-Shop Practice; (ab + ac - bc)/2 and |2s - 1|: derived by hand."""
    looked = 0
    for seed in SEEDS:
        q = question("two-double", seed)
        e = int(q.text.split("Bar 1 is ")[1].split()[0])
        assert q.answer == 2 * e
        q = question("three-solve", seed)
        ab, ac, bc = (int(part.split(" µm")[0].split()[-1]) for part in q.text.split("are: ")[1].split(", "))
        assert q.answer == (ab + ac - bc) / 2
        looked += 1
    assert looked == len(SEEDS)


def test_the_panel_answers_by_field_and_by_button():
    panel = Exercise("two-double", "bench 1")
    panel.field.value = f"{panel.question.answer:g}"
    assert "Right." in panel.feedback.value
    panel.field.value = "<script>"
    assert "Type one number in µm" in panel.feedback.value and "<script>" not in panel.feedback.value
    choice = Exercise("two-proof", "bench 1")
    choice.button.click()
    assert "Choose one of the answers" in choice.feedback.value
    choice.field.value = choice.question.wrong[0].given
    choice.button.click()
    assert choice.question.wrong[0].misconception in choice.feedback.value


def test_the_stored_words_hold_the_whole_question():
    looked = 0
    for name in names():
        panel = Exercise(name, "bench 1")
        data = panel._repr_mimebundle_()
        data = data[0] if isinstance(data, tuple) else data
        assert data["text/plain"] == repr(panel) == repr(Exercise(name, "bench 1"))
        assert " ".join(repr(panel).split()).startswith(panel.question.text)
        looked += 1
    assert looked == len(names())


@pytest.mark.parametrize(
    "typed",
    "-12.7|−12.7|–12.7|-12,7 µm|-12.7 μm|-12.7µ|-12.7 micrometers|-0.0127 millimeters|-.5 mils|-0.0005″|-0.0005”".split(
        "|"
    ),
)
def test_a_figure_counts_however_a_phone_or_a_country_writes_it(typed):
    assert judge(numeric("Minus half a thou?", -12.7, "µm", "By definition."), typed).kind.value == "right"


@pytest.mark.parametrize("typed", ["1_2", "12_", "0x0c", "1 2", "nan", "inf", "twelve", "True"])
def test_what_is_no_figure_is_no_try(typed):
    assert not judge(numeric("A dozen?", 12, "", "By definition."), typed).taken
    assert not judge(numeric("A dozen?", 12, "µm", "By definition."), typed).taken
