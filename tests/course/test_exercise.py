"""Every question takes its right answer, and leads out of each likely wrong one."""

import pytest

from simulate.course.asking.check_answer import believed, check, judge, same_answer
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
    q = numeric("How many passes?", 7, "", "By hand.", (8, "one too many", "Count again."))
    assert check(q, "7 passes") == check(q, "7 times") == "Right. By hand."
    assert check(numeric("How many?", 7, "spottings", "By hand."), "7 Spotting") == "Right. By hand."
    assert not any(judge(q, typed).taken for typed in ("7 wrong", "7 thou", "7 minus", "7 mm"))
    assert check(q, "7 passes") == "Right. By hand."
    assert check(q, "8 passes") == "Not yet (one too many). Count again."
    assert check(q, "") == "Type one number first, then check."
    assert check(q, "some") == "Type one number, such as 12; 'some' is not one."


@pytest.mark.parametrize("typed", ["25.4 µm.", "25.4 UM", "25.4MM", "25.4um"])
def test_a_full_stop_and_capitals_do_no_harm(typed):
    assert judge(numeric("How far?", 25.4, "mm" if "MM" in typed else "µm", "By hand."), typed).kind.value == "right"


def test_a_comma_before_three_figures_may_be_of_thousands_or_of_decimals():
    for answer in (1250, 1.25):
        assert judge(numeric("How far?", answer, "µm", "By hand."), "1,250").kind.value == "right"
    assert judge(numeric("How far?", 3, "µm", "By hand."), "1,250").kind.value == "wrong"
    for typed, right in (("0,500", 500), ("0,003", 3), ("0,025", 25)):  # a nought begins no thousands
        assert judge(numeric("How far?", right, "µm", "By hand."), typed).kind.value == "wrong"
    assert "you answered 1250 µm" in believed(numeric("How far?", 1250, "µm", "By hand."), "1,250")


def test_inches_are_as_fine_as_they_were_typed_and_never_a_known_wrong_answer():
    fine = numeric("How far?", 0.15, "µm", "By hand.", (0.075, "halved", "Double it."), tolerance=0.01)
    said = {typed: judge(fine, typed).kind.value for typed in ("0.006 thou", "0.0059 thou", "0.001 thou", "0.003 thou")}
    assert said == {"0.006 thou": "right", "0.0059 thou": "right", "0.001 thou": "wrong", "0.003 thou": "wrong"}
    anchor = numeric("How far?", 1.633, "µm", "By hand.")
    assert [judge(anchor, typed).kind.value for typed in ("0.0643 thou", "0.0587 thou", "1.49")][:1] == ["right"]
    assert judge(anchor, "0.0587 thou").kind.value != "right" and judge(anchor, "1.49").kind.value != "right"


def test_figures_that_a_question_shows_in_inches_lead_to_a_right_answer_in_inches():
    # 390 mm is shown as 15.4 in and 130 mm as 5.12 in; their difference is 10.28 in, and 260 mm are 10.24 in
    turned = numeric("From 390 mm to 130 mm?", 260, "mm", "390 - 130.", (520, "added", "Take away."), tolerance=0.5)
    assert judge(turned, "10.28 in").kind.value == judge(turned, "10.24 in").kind.value == "right"
    assert judge(numeric("A blade of 0.30 mm?", 0.3, "mm", "Read.", tolerance=0), "0.0118 in").kind.value == "right"


def test_a_figure_written_otherwise_is_the_same_answer():
    q = numeric("Twice 5 µm?", 10, "µm", "5 + 5.")
    assert all(same_answer(q, "10", other) for other in ("10.0", " 10 ", "10 µm", "0.01 mm", "10,0"))
    assert not any(same_answer(q, "10", other) for other in ("11", "ten", ""))


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
