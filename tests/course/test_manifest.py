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
from lesson_parts import holds_its_words
from test_lessons import PARTS, read_words, words

from simulate.__main__ import main
from simulate.core.refusal import Refusal
from simulate.course.exercise import exercise
from simulate.course.exercise.pre_question import before_name
from simulate.course.notebook.manifest import lesson_of, manifest, readme_table, write_readme
from simulate.course.notebook.new_lesson import _first_move
from simulate.course.notebook.refresh import LESSONS
from simulate.course.notebook.wall_plan import wall_plan
from simulate.show.bars.gap import GapPanel

ROOT = Path(__file__).resolve().parents[2]
HELD = [
    *(f"tests/course/test_{name}.py" for name in ("manifest", "map", "beliefs", "exercise", "wall_plan", "teaching")),
    *("tests/lessons/test_lessons.py", "tests/house/test_trade_facts.py", "tests/house/test_docstrings.py"),
    *("tests/show/test_turning.py", "tests/show/test_scale.py"),
]
"""Where a new lesson and its panel are held to anything."""
WHOLE = ["table_of_the_readme", "no_panel_and_no_film", "goes_to_the_place", "instructors_notebook", "map", "wanted"]
"""Tests there that look at the course as a whole, and name no lesson."""
IN_WORDS = ["twenty", "twenty-five", "thirty", "thirty-five", "forty", "forty-five", "fifty", "fifty-five", "sixty"]
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
    kept = [before_name(one.key) for one in manifest() if one.before]
    assert [name for name in kept if re.search(r"\d", name)] == [f"before-{k:02}" for k in range(23)]
    assert before_name("three-lands") == "before-07" and before_name("small-gauges") == "before-small-gauges"


def test_a_lesson_builds_on_earlier_ones():
    keys = [one.key for one in manifest()]
    for place, one in enumerate(manifest()):
        assert set(one.builds_on) <= set(keys[:place]), one.key
        assert one.builds_on or not place, one.key


def test_the_table_of_the_readme_is_that_of_the_manifest():
    assert readme_table() in (ROOT / "README.md").read_text(encoding="utf-8")


@asking
def test_the_minutes_promised_are_those_of_a_careful_reader_and_the_lesson_says_them(lesson):
    """As new readers were timed: 120 words a minute, 2.5 minutes a question, 2 a step of *Try it*, and 3 to begin."""
    said = "\n\n".join(source(lesson, "markdown"))
    steps = re.findall(r"^\d+\. ", said[said.index("## Try it") : said.index("## What happened")], re.MULTILINE)
    needed = read_words(words(nbformat.read(lesson.path, as_version=4))) / 120
    needed += 2.5 * len(lesson.questions) + 2 * len(steps) + 3
    assert needed <= lesson.minutes < needed + 15 and not lesson.minutes % 5
    told = re.search(r"Allow about ([a-z0-9-]+) minutes", said)[1]
    assert told in (str(lesson.minutes), IN_WORDS[lesson.minutes // 5 - 4])


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


@asking
def test_cautions_sources_and_length_of_a_lesson_are_those_that_its_words_need(lesson):
    holds_its_words(lesson.path)


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
    number = f"{max(int(one.number) for one in manifest()) + 1:02}"
    lay = ("-m", "simulate", "new-lesson", number, "lapping_by_hand", "--panel", "bars/LapPanel")
    told = run(tmp_path, *lay)
    assert told.returncode == 0 and f"{number}_lapping_by_hand.ipynb" in told.stdout, told.stderr
    assert "TODO: what it lets the reader do" in (tmp_path / "README.md").read_text(encoding="utf-8")
    held = [*HELD, f"lessons/{number}_lapping_by_hand.ipynb", "simulate/show/bars/lap_panel.py"]
    pick = f"(lapping or Lap or {number} or {' or '.join(WHOLE)}) and not laid_out and not words"
    told = run(tmp_path, "-m", "pytest", "-q", "-n", "0", "-p", "no:cacheprovider", *held, "-k", pick)
    assert told.returncode == 0, told.stdout[-3000:]
    again = run(tmp_path, *lay)
    assert f"number is '{number}'; it must be two digits that no lesson has" in again.stderr


@pytest.mark.parametrize("panel", ["LappPanel", "nowhere/LapPanel", "bars/GapPanel", "bars/lap"])
def test_a_panel_that_is_not_there_or_cannot_be_laid_out_is_refused_before_anything_is_written(panel, capsys):
    assert main(["new-lesson", "98", "lapping_by_hand", "--panel", panel]) == 2
    assert f"panel is '{panel}'; it must be " in capsys.readouterr().err
    assert not list(LESSONS.glob("98_*"))


def test_the_command_that_lays_a_lesson_out_says_how_its_own_panel_first_moves():
    first = next(plan.asks[0] for plan in wall_plan() if plan.shows == "GapPanel")
    assert _first_move("GapPanel")["control"] == next(iter(GapPanel().controls)) == first.before
    move = _first_move("StraightPanel")
    assert move == {"control": "bow_um", "goes_to": "100.0", "told": "Bow (µm): 100. "}


def test_a_promise_is_written_once_and_the_readme_follows_it(tmp_path, monkeypatch):
    readme = tmp_path / "README.md"
    older = (ROOT / "README.md").read_text(encoding="utf-8").replace(manifest()[4].promise, "an older promise")
    readme.write_text(older, encoding="utf-8")
    monkeypatch.setattr("simulate.course.notebook.manifest.README", readme)
    assert "an older promise" in older and write_readme() == readme
    assert readme.read_text(encoding="utf-8") == (ROOT / "README.md").read_text(encoding="utf-8")


def run(folder, *arguments):
    surroundings = os.environ | {"PYTHONPATH": str(folder)}
    return subprocess.run(
        [sys.executable, *arguments], cwd=folder, env=surroundings, capture_output=True, text=True, check=False
    )
