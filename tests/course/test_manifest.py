"""The manifest of the lessons against their notebooks, README, questions and plan."""

import inspect
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest
from test_lessons import PARTS

from simulate.core.refusal import Refusal
from simulate.course.exercise import exercise
from simulate.course.exercise.pre_question import before_name
from simulate.course.notebook.manifest import lesson_of, manifest, readme_table
from simulate.course.notebook.refresh import LESSONS
from simulate.course.notebook.wall_plan import wall_plan

ROOT = Path(__file__).resolve().parents[2]
every = pytest.mark.parametrize("lesson", manifest(), ids=lambda one: one.key)
asking = pytest.mark.parametrize("lesson", [one for one in manifest() if one.questions], ids=lambda one: one.key)


def source(lesson, kind):
    return [cell.source for cell in nbformat.read(lesson.path, as_version=4).cells if cell.cell_type == kind]


def test_every_notebook_has_its_record_and_every_record_its_notebook_in_order():
    assert [one.file for one in manifest()] == [path.stem for path in sorted(LESSONS.glob("*.ipynb"))]


def test_keys_and_what_answers_are_kept_under_are_there_once():
    for names in ([one.key for one in manifest()], [before_name(one.key) for one in manifest() if one.before]):
        assert len(set(names)) == len(names) > 20
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", one.key) for one in manifest())


def test_answers_given_before_lessons_had_keys_are_found_under_their_old_names():
    assert [before_name(one.key) for one in manifest() if one.before][:23] == [f"before-{k:02}" for k in range(23)]


def test_a_lesson_builds_on_earlier_ones():
    keys = [one.key for one in manifest()]
    for place, one in enumerate(manifest()):
        assert set(one.builds_on) <= set(keys[:place]), one.key
        assert one.builds_on or not place, one.key


def test_the_table_of_the_readme_is_that_of_the_manifest():
    assert readme_table() in (ROOT / "README.md").read_text(encoding="utf-8")


def test_every_question_belongs_to_one_lesson():
    listed = [name for one in manifest() for name in one.questions]
    assert sorted(listed) == sorted(exercise._makers())
    assert all(len(inspect.signature(make).parameters) == 1 for make in exercise._makers().values())


@asking
def test_a_lesson_has_the_nine_parts_and_asks_its_questions_in_order(lesson):
    text = "\n\n".join(source(lesson, "markdown"))
    assert re.findall(r"^## (.+)$", text, re.MULTILINE) == PARTS
    asked = re.findall(r'^Exercise\("([^"]+)", student\)$', "\n".join(source(lesson, "code")), re.MULTILINE)
    assert tuple(asked) == lesson.questions and len(asked) >= 3
    assert lesson.before in lesson.questions
    assert len(lesson.outcomes()) >= 2 and lesson.title() and len(lesson.promise) > 20


@every
def test_a_lesson_with_bench_work_has_a_table_for_its_card_and_no_other(lesson):
    assert ("## At the bench" in "\n".join(source(lesson, "markdown"))) == (lesson.card is not None)


def test_the_plan_of_the_wall_names_lessons_that_are_there():
    assert {plan.lesson for plan in wall_plan()} <= {one.number for one in manifest()}


def test_a_lesson_is_found_by_key_and_number_and_nothing_else():
    assert lesson_of("two-bars") is lesson_of("03")
    with pytest.raises(Refusal, match="lesson is '99'; it must be"):
        lesson_of("99")


def test_a_lesson_that_was_just_laid_out_runs_and_stands_where_it_belongs(tmp_path):
    for part in ("simulate", "lessons", "tests", "README.md", "pyproject.toml"):
        make = shutil.copytree if (ROOT / part).is_dir() else shutil.copy
        make(ROOT / part, tmp_path / part)
    lay = ("-m", "simulate", "new-lesson", "24", "lapping_by_hand")
    told = run(tmp_path, *lay)
    assert told.returncode == 0 and "24_lapping_by_hand.ipynb" in told.stdout, told.stderr
    tests = ["tests/course/test_manifest.py", "tests/lessons/test_lessons.py", "lessons/24_lapping_by_hand.ipynb"]
    told = run(
        tmp_path,
        "-m",
        "pytest",
        "-q",
        "-n",
        "0",
        "-p",
        "no:cacheprovider",
        *tests,
        "-k",
        "not just_laid_out and not words",
    )
    assert told.returncode == 0, told.stdout[-3000:]
    again = run(tmp_path, *lay)
    assert "number is '24'; it must be two digits that no lesson has" in again.stderr


def run(folder, *arguments):
    surroundings = os.environ | {"PYTHONPATH": str(folder)}
    return subprocess.run(
        [sys.executable, *arguments], cwd=folder, env=surroundings, capture_output=True, text=True, check=False
    )
