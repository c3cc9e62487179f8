"""What README.md promises is there: commands, files, lessons, the picture, the example."""

import re
import shlex
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
LESSONS = sorted(path.name for path in (ROOT / "lessons").glob("[0-9][0-9]_*.ipynb"))


def blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", README, re.MULTILINE | re.DOTALL)


def steps(command: str) -> list[list[str]]:
    """The steps of one line, joined by `&&` there, each taken apart as a shell does."""
    return [shlex.split(step) for step in command.strip().split("&&")]


def test_the_first_heading_is_followed_by_the_job():
    first = README.split("\n\n")[1]
    assert "straightedge" in first and "flat surface" in first and "square" in first


def test_the_two_commands_set_up_then_open_the_course_or_run_the_tests():
    first, second = blocks("sh")[:2]
    assert [step[0] for step in steps(first)] == ["python3", ".venv/bin/pip", ".venv/bin/jupyter"]
    assert [step[0] for step in steps(second)] == ["python3", ".venv/bin/pip", ".venv/bin/python"]
    assert steps(first)[2][1:] == [
        "lab",
        "--ServerApp.root_dir=.",
        "--LabApp.default_url=/lab/tree/lessons/00_start_here.ipynb",
        "--MappingKernelManager.cull_idle_timeout=2700",
        "--MappingKernelManager.cull_connected=True",
    ]
    assert steps(second)[2][1:] == ["-m", "pytest", "-n", "auto", "--dist", "loadfile"]


def test_the_windows_form_has_the_same_steps():
    words = [[w.replace("\\", "/").replace("Scripts", "bin") for w in block.split("&&")]
             for block in blocks("bat")]  # fmt: skip
    assert len(words) == 2
    for windows, unix in zip(words, blocks("sh")):
        assert [len(shlex.split(step)) for step in windows] == [len(step) for step in steps(unix)]


def test_every_extra_that_a_command_names_is_defined():
    extras = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["optional-dependencies"]
    named = re.findall(r"\.\[([a-z,]+)\]", README)
    assert named
    assert set(named) <= set(extras)


@pytest.mark.parametrize("document", ["README.md", "DEVELOPERS.md"])
def test_every_file_that_a_document_names_exists(document):
    text = (ROOT / document).read_text(encoding="utf-8")
    named = set(re.findall(r"(?:lessons|simulate|tests|\.ci)/[\w./-]*\w", text))
    named |= {target for target in re.findall(r"\]\(([^)#]+)\)", text) if "://" not in target}
    assert named
    missing = [name for name in sorted(named) if not (ROOT / name).exists()]
    assert not missing


def test_the_table_has_a_row_with_minutes_for_every_lesson_in_order():
    rows = re.findall(r"^\| \[(\d\d)[^|]*\]\(lessons/([\w.]+)\) \| (\d+) \| .{20,} \|$", README, re.MULTILINE)
    assert [name for _, name, _ in rows] == LESSONS
    assert all(name.startswith(number) for number, name, _ in rows)


def test_the_picture_has_words_for_those_who_do_not_see_it():
    pictures = re.findall(r"!\[([^\]]*)\]\(([^)]+)\)", README)
    assert pictures
    for words, _ in pictures:
        assert len(words) > 40


def test_the_example_of_the_package_as_a_tool_runs():
    examples = blocks("python")
    assert examples
    for example in examples:
        exec(compile(example, "README.md", "exec"), {})


def test_the_cautions_name_what_hurts_hands():
    cautions = README.split("## Cautions")[1]
    for word in ("tang", "vice", "eyes", "brush", "edges", "solvent", "rags", "fingers", "not safety training"):
        assert word in cautions, word
