"""A lesson of a class set over two days in a real browser: answered, saved, restarted, continued, saved; the notebook alone hands in everything."""

import pytest

from simulate.show.class_list import class_set
from simulate.show.classroom import hand_out
from simulate.show.exercise import question
from simulate.show.marking import mark_class
from simulate.show.refresh import LESSONS

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
    panel.get_by_role("status").filter(has_text="Right" if text == f"{question(exercise, WORD).answer:g}" else "Not yet").wait_for()


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
    page.wait_for_function("() => !document.body.textContent.includes('[*]') && document.querySelector('#jp-main-statusbar').textContent.includes('| Idle')",
                           timeout=180_000)
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
