"""Courses of the lessons: periods that hold what is put in them, an order in which nothing is missing, outcomes with
their exercises, and sheets that are words and rows alone."""

import io
import re
from math import ceil

import pytest
from pypdf import PdfReader

from simulate.__main__ import main
from simulate.course import TeachingPlan
from simulate.course.notebook.manifest import manifest
from simulate.course.notebook.wall_plan import wall_plan
from simulate.course.publish.paper import plain
from simulate.course.teaching.course_records import SEEN, _records, course_of, courses, risks_of, things_for
from simulate.course.teaching.outcomes import outcomes, questions_of, to_pass
from simulate.course.teaching.plan_sheets import plan_pdf
from simulate.course.teaching.timetable import SHORTEST, timetable

each = pytest.mark.parametrize("course", courses(), ids=lambda one: one.key)
MARKUP = re.compile(r"[#*`$|<>]|\]\(|__[a-z]|&[a-z]+;|\\")
PAGES = {"afternoon": 5, "6": 5, "12": 6, "20": 7}


def pages_of(data):
    return [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(data)).pages]


def test_there_are_courses_of_six_twelve_and_twenty_double_periods_and_one_afternoon():
    asked = {(one.key, one.periods, one.period_minutes) for one in courses()}
    assert asked == {("afternoon", 1, 240), ("6", 6, 90), ("12", 12, 90), ("20", 20, 90)}


@each
def test_what_is_put_into_a_period_fits_it_and_all_of_every_lesson_is_put_somewhere(course):
    table = timetable(course)
    assert len(table.periods) == course.periods
    for k, period in enumerate(table.periods):
        taken = sum(part.minutes for part in period) + course.start_and_clear_minutes
        assert period and taken + table.spare_minutes(k) == course.period_minutes
        assert table.spare_minutes(k) >= 0
    for one in course.lessons:
        wall = sum(plan.minutes for plan in wall_plan() if plan.lesson == one.number)
        assert table.minutes("wall", (one,)) == wall
        assert table.minutes("lesson", (one,)) == (one.minutes if course.reads_in_class else 0)
        assert 0 <= table.minutes("bench", (one,)) <= one.bench_minutes
        whole = (wall, table.minutes("lesson", (one,)), table.minutes("bench", (one,)))
        torn = [p for period in table.periods for p in period if p.lesson is one and p.minutes not in whole]
        assert all(part.does != "wall" and part.minutes >= SHORTEST for part in torn)
    assert table.minutes("bench") > 0


@each
def test_every_lesson_is_given_in_one_go_or_named_as_left_out(course):
    run = [part.lesson.key for period in timetable(course).periods for part in period]
    in_one_go = [key for k, key in enumerate(run) if not k or run[k - 1] != key]
    left = [one.key for one in course.left_out]
    assert sorted(in_one_go + left) == sorted(one.key for one in manifest())
    assert in_one_go == [one.key for one in course.lessons]
    said = pages_of(plan_pdf(course))[0]
    assert all(f"{one.number} {plain(one.title())}" in said for one in manifest())


@each
def test_nothing_is_given_before_what_it_builds_on(course):
    given = []
    for one in course.lessons:
        assert set(one.builds_on) <= set(given), one.key
        given.append(one.key)
    assert len(given) >= 5


def test_every_outcome_has_an_exercise_and_every_exercise_its_outcome():
    looked, only_seen = 0, []
    for one in manifest():
        if not one.questions:
            continue
        assert len(one.shown_by) == len(one.outcomes()) >= 2, one.key
        named = {name for names in one.shown_by for name in names}
        assert named - set(SEEN) == set(one.questions), one.key
        assert all(one.shown_by), one.key
        only_seen += [(one.number, k) for k, names in enumerate(one.shown_by) if set(names) <= set(SEEN)]
        looked += len(one.shown_by)
    assert looked > 60
    assert only_seen == [], "an outcome that no exercise asks for"


def test_the_outcomes_of_a_course_stand_in_its_plan_with_what_asks_for_them():
    course = course_of("6")
    said = " ".join(pages_of(plan_pdf(course))).replace(" ", "")
    for one in outcomes(course):
        assert plain(one.words).replace(" ", "") in said
        for name in one.exercises:
            assert name in said


@pytest.mark.parametrize("percent", [1, 50, 60, 62.5, 100])
def test_the_pass_mark_is_the_least_number_that_reaches_the_percentage(percent):
    for count in range(1, 140):
        enough = to_pass(count, percent)
        assert 100 * enough >= percent * count - 1e-9 and 100 * (enough - 1) < percent * count
    assert f"Pass mark: {percent:g} %. Of the 38 exercises of this course {to_pass(38, percent)} right" in " ".join(
        pages_of(plan_pdf(course_of("6"), 3, percent))
    )
    assert len(questions_of(course_of("6"))) == 38


@each
def test_materials_grow_with_the_class_and_no_lot_is_shared_by_more_than_it_says(course):
    things = things_for(course.lessons)
    assert {one.key for one in things} == {key for one in course.lessons for key in one.needs}
    for one in things:
        numbers = [one.number_for(n) for n in range(1, 61)]
        assert numbers == sorted(numbers) and numbers[0] == one.count
        for n, number in enumerate(numbers, 1):
            lots = number // one.count
            assert lots * one.count == number
            assert lots * one.sharers >= n > (lots - 1) * one.sharers
    said = pages_of(plan_pdf(course, 17))
    sheet = next(page for page in said if page.startswith("Materials for a class of 17"))
    assert f"3 to 2 learners {3 * ceil(17 / 2)} 00" in sheet


def test_every_thing_is_needed_every_need_is_a_thing_and_every_risk_is_brought_by_one():
    things = [row["key"] for row in _records()["thing"]]
    assert len(set(things)) == len(things)
    assert set(things) == {key for one in manifest() for key in one.needs}
    assert all(set(row["from"]) <= set(things) for row in _records()["risk"])
    assert len(risks_of(things_for(manifest()))) == len(_records()["risk"])
    assert "scraper in the hand" not in {one.name for one in risks_of(things_for(course_of("6").lessons))}


@each
def test_a_plan_is_a_few_pages_of_words_without_markup(course):
    pages = pages_of(plan_pdf(course))
    assert len(pages) == PAGES[course.key]
    heads = (
        "Outcomes",
        "Observation at the bench",
        "Materials for a class of 30",
        "Risks, to be judged under local rules",
    )
    for head in (course.name, *heads):
        assert sum(page.startswith(head) for page in pages) == 1
    for k, page in enumerate(pages, 1):
        assert not MARKUP.search(page), MARKUP.search(page)
        assert page.endswith(f"page {k} of {len(pages)}")
    risks = next(page for page in pages if page.startswith("Risks"))
    assert "not a risk assessment" in risks and "qualified" in risks and "rules of your workshop" in risks


@pytest.mark.parametrize("students", [1, 12, 30, 75])
def test_the_observation_sheet_has_a_row_for_every_learner(students):
    pages = pages_of(plan_pdf(course_of("6"), students))
    first = next(k for k, page in enumerate(pages) if page.startswith("Observation"))
    last = next(k for k, page in enumerate(pages) if page.startswith("Materials"))
    rows = " ".join(re.sub(r".*?Result ± \(95 %\), note", "", page).split(" Plan:")[0] for page in pages[first:last])
    assert [int(n) for n in rows.split()] == list(range(1, students + 1))
    assert all(mark in pages[first] for mark in ("Safe", "Method", "Measured, ± 95 %", "Log"))


def test_inches_stand_on_letter_paper_beside_lengths():
    data = plan_pdf(course_of("6"), units="inch")
    assert [round(float(v)) for v in PdfReader(io.BytesIO(data)).pages[0].mediabox[2:]] == [612, 792]
    assert "in)" in " ".join(pages_of(data)) and "in)" not in " ".join(pages_of(plan_pdf(course_of("6"))))


def test_the_command_writes_the_courses_that_are_named_and_refuses_in_a_sentence(tmp_path, capsys):
    assert main(["plan", str(tmp_path / "plans"), "6", "afternoon", "--students", "3", "--pass", "50"]) == 0
    assert sorted(p.name for p in (tmp_path / "plans").iterdir()) == ["course_6.pdf", "course_afternoon.pdf"]
    for words, told in (
        (["7"], "course is '7'; it must be 'afternoon', '6', '12' or '20'."),
        (["6", "--students", "0"], "students is 0; it must be 1 to 200."),
        (["6", "--pass", "101"], "the pass mark is 101; it must be above 0 and at most 100 per cent."),
    ):
        assert main(["plan", str(tmp_path / "none"), *words]) == 2
        assert told in capsys.readouterr().err
    assert not (tmp_path / "none").exists()


def test_the_button_of_lesson_24_writes_the_plan_that_is_chosen_and_says_so(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    panel = TeachingPlan()
    panel.course.value, panel.students.value = "12", 8
    assert "12 double periods" in panel.told.value
    panel.button.click()
    assert "Written: my_plan_12.pdf" in panel.message.value
    assert "Materials for a class of 8" in " ".join(pages_of((tmp_path / "my_plan_12.pdf").read_bytes()))
    panel.students.value = 0
    panel.button.click()
    assert "Not possible: students is 0; it must be 1 to 200." in panel.message.value
    panel.students.value, panel.pass_percent.value = 5, 0
    panel.button.click()
    assert "Not possible: the pass mark is 0" in panel.message.value


def test_the_table_of_courses_names_every_lesson_once():
    shown = TeachingPlan()._repr_mimebundle_()
    rows = re.findall(r'<th scope="row"[^>]*>(\d\d) ', shown["text/html"])
    assert rows == [one.number for one in manifest()]
    assert [line[:2] for line in shown["text/plain"].splitlines()] == rows
