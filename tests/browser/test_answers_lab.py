"""A lesson of a class set in a real browser: answered, saved, restarted, loaded anew, in two windows; the notebook
alone hands in everything."""

import pytest

from simulate.course.classroom.class_list import class_set
from simulate.course.classroom.classroom import hand_out
from simulate.course.classroom.grading import mark_class
from simulate.course.exercise.exercise import question
from simulate.course.notebook.refresh import LESSONS

pytestmark = pytest.mark.browser
CLASS = ["Invented Student"]
WORD = class_set(CLASS, 1)[CLASS[0]]
FIELDS = ".jp-OutputArea-output .workshop-panel input[type=text]"


def field(page, exercise):
    """The white field of an exercise, scrolled to."""
    words = question(exercise, WORD).text[:40]
    panel = page.locator(".jp-OutputArea-output .workshop-panel").filter(has_text=words).first
    panel.scroll_into_view_if_needed()
    return panel.locator("input[type=text]"), panel


def answer(page, exercise, text):
    place, panel = field(page, exercise)
    place.fill(text)
    place.press("Enter")
    panel.get_by_role("status").filter(
        has_text="Right" if text == f"{question(exercise, WORD).answer:g}" else "Not yet"
    ).wait_for()


def save(lesson, path):
    page, before = lesson.page, path.stat().st_mtime_ns
    lesson.menu("File", "Save Notebook")
    for _ in range(200):
        page.wait_for_timeout(100)
        if path.stat().st_mtime_ns != before:
            return
    raise AssertionError("the notebook was not saved")


def test_a_lesson_continued_on_another_day_hands_in_everything(lesson, lab, tmp_path):
    source = tmp_path / "lessons"
    source.mkdir()
    name = next(LESSONS.glob("03_*.ipynb")).name
    (source / name).write_bytes((LESSONS / name).read_bytes())
    (path,) = hand_out(lab.folder / "students", CLASS, 1, source)
    where = path.relative_to(lab.folder).as_posix()
    right = f"{question('two-double', WORD).answer:g}"

    lesson.open(where).run_all()
    page = lesson.page
    answer(page, "two-double", "1")
    answer(page, "two-double", right)
    save(lesson, path)
    lesson.menu("Kernel", "Restart Kernel and Run All Cells")
    page.locator(".jp-Dialog").get_by_role("button", name="Confirm Kernel Restart").click()
    page.wait_for_timeout(3000)
    page.wait_for_function(
        (
            "() => !document.body.textContent.includes('[*]') && "
            "document.querySelector('#jp-main-statusbar').textContent.includes('| Idle')"
        ),
        timeout=180_000,
    )
    place, panel = field(page, "two-double")
    page.wait_for_timeout(1000)
    assert place.input_value() == right and "Right." in panel.inner_text()
    answer(page, "two-gap", "1")
    save(lesson, path)
    lesson.shot("answers_on_the_second_day")

    away = tmp_path / "inbox"
    away.mkdir()
    (away / "final.ipynb").write_bytes(path.read_bytes())  # the notebook alone
    rows = {m.exercise: m for m in mark_class(away, CLASS, 1, ["03"]).rows}
    assert (rows["two-double"].right, rows["two-double"].first, rows["two-double"].tries) == ("yes", "1", 2)
    assert rows["two-gap"].given == "1"
    assert not lesson.errors()


def ready(lesson):
    lesson.page.wait_for_selector(".jp-Notebook")
    lesson.page.wait_for_selector("#jp-main-statusbar >> text=| Idle")
    lesson.page.locator(".jp-OutputArea-output .workshop-panel input[type=text]").first.wait_for()


def given(path):
    """What the notebook alone, as it was saved, hands in."""
    alone = path.with_name("alone")
    alone.mkdir(exist_ok=True)
    (alone / "final.ipynb").write_bytes(path.read_bytes())
    return {m.exercise for m in mark_class(alone, CLASS, 1, ["03"]).rows if m.right}


def test_a_page_loaded_anew_and_a_second_window_save_every_answer(lesson, lab, browser):
    (path,) = hand_out(lab.folder / "anew", CLASS, 1, chosen=["03"])
    where = path.relative_to(lab.folder).as_posix()
    right = {exercise: f"{question(exercise, WORD).answer:g}" for exercise in ("two-double", "two-gap", "two-equal")}
    lesson.open(where).run_all()
    answer(lesson.page, "two-double", right["two-double"])
    save(lesson, path)
    lesson.page.reload()
    ready(lesson)
    answer(lesson.page, "two-gap", right["two-gap"])
    save(lesson, path)
    assert given(path) == {"two-double", "two-gap"}

    context = browser.new_context(viewport={"width": 1700, "height": 1100})
    try:
        second = type(lesson)(context.new_page(), lab).open(where)
        ready(second)
        answer(second.page, "two-equal", right["two-equal"])
        save(second, path)
        assert given(path) == set(right)
    finally:
        context.close()
