"""The lessons' structure, and what their stored files may and may not hold."""

import json
import re
from pathlib import Path

import nbformat
import pytest

from simulate.__main__ import main
from simulate.course.exercise.exercise import names
from simulate.course.notebook import refresh
from simulate.course.notebook.manifest import lesson_of

LESSONS = sorted((Path(__file__).parents[2] / "lessons").glob("*.ipynb"))
FIRST = [p for p in LESSONS if p.name[:2] <= "06"]
PARTS = [
    "The question",
    "What you will be able to do",
    "Predict first",
    "Try it",
    "What happened, and why",
    "At the bench",
    "Check yourself",
    "What still hides",
    "Sources",
]
PANELS = {
    "00": "GapPanel()",
    "01": "StraightPanel()",
    "02": "GapPanel()",
    "03": "TwoBarsPanel()",
    "04": "ThreeBarsPanel()",
    "05": "HiddenPanel()",
    "06": "OwnBarsPanel()",
}
QUESTIONS = {
    "why not two": "They only prove that they are opposites",
    "2 and 3 both fit 1": "Both fit bar 1: are all three good?",
    "which one to file": "Which one do I file?",
    "which is hollow": "Hollow or hill?",
    "must it be turned": "So the turn finds the S with two bars",
    "all fit, is that proof": "Proof only of what was tried",
    "do three bars control twist": "Do three bars control twist? No: they give edges, not planes",
    "blue everywhere": "Blue everywhere may be a good bar, a thick film, or work that rocked",
    "why is the middle marked": "Why is the middle always marked?",
    "how small a gap": "The wedge.",
    "do two squares need a third": "a pair shows only the sum of two angles",
    "does it matter how it lies": "how it lies does matter",
    "why did the fit vanish": "Why did yesterday's fit vanish?",
    "does agreement mean truth": "Does agreement mean truth?",
}
CAUTIONS = [
    "every tang",
    "never",
    "low and firm",
    "soft jaws",
    "Eye",
    "brush",
    "blow",
    "edges",
    "not safety training",
    "person responsible",
]

every_lesson = pytest.mark.parametrize("path", LESSONS, ids=lambda p: p.stem)
first_lessons = pytest.mark.parametrize("path", FIRST, ids=lambda p: p.stem)


def read(path):
    return nbformat.read(path, as_version=4)


def words(notebook):
    return " ".join("\n".join(c.source for c in notebook.cells if c.cell_type == "markdown").replace("**", "").split())


def code(notebook):
    return [c for c in notebook.cells if c.cell_type == "code"]


def test_the_seven_lessons_are_there():
    assert [p.stem for p in FIRST] == [
        "00_start_here",
        "01_what_straight_means",
        "02_seeing_a_gap",
        "03_two_bars_agree",
        "04_three_bars",
        "05_what_still_hides",
        "06_your_own_bars",
    ]


@first_lessons
def test_the_nine_parts_stand_in_order(path):
    heads = re.findall(r"^## (.+)$", "\n\n".join(c.source for c in read(path).cells if c.cell_type == "markdown"), re.M)
    assert heads == PARTS


@first_lessons
def test_a_prediction_comes_before_the_panel(path):
    cells = [c.source for c in read(path).cells]
    predict = next(i for i, s in enumerate(cells) if s.startswith("## Predict first"))
    panel = cells.index(PANELS[path.name[:2]])
    assert predict < panel
    assert "1." in cells[predict] and "?" in cells[predict]


@every_lesson
def test_one_question_is_asked_before_a_lesson_that_has_exercises(path):
    cells = [c.source for c in read(path).cells]
    asked = [i for i, source in enumerate(cells) if "Before(" in source]
    lesson = lesson_of(path.name[:2])
    if not lesson.before:
        assert not asked
        return
    (at,) = asked
    predict, check = (
        next(i for i, s in enumerate(cells) if head in s) for head in ("## Predict first", "## Check yourself")
    )
    assert predict < at < check
    assert cells[at] == f'from simulate.course import Before\n\nBefore("{lesson.key}", student)'
    assert f'Exercise("{lesson.before}", student)' in cells[check:]


@every_lesson
def test_the_switch_of_the_units_stands_at_the_start(path):
    first = code(read(path))[0]
    assert "start()" in first.source
    assert first.outputs[0].data["text/plain"] == "Metric: heights in µm, places in mm."


@every_lesson
def test_the_kernel_is_the_plain_one(path):
    assert read(path).metadata.kernelspec.name == "python3"


@every_lesson
def test_cells_are_short_and_stored_as_run(path):
    cells = code(read(path))
    assert cells
    for number, cell in enumerate(cells, 1):
        assert len(cell.source.splitlines()) <= 15, cell.source
        assert cell.execution_count == number, cell.source
        assert cell.outputs, cell.source
        assert not [o for o in cell.outputs if o.output_type == "error" or o.get("name") == "stderr"], cell.source


@every_lesson
def test_the_stored_file_is_what_refresh_would_store(path):
    text = path.read_text(encoding="utf-8")
    notebook = read(path)
    assert "widgets" not in notebook.metadata and "version" not in notebook.metadata.language_info
    assert not [c for c in notebook.cells if "execution" in c.metadata]
    assert refresh.WIDGET_VIEW not in text
    assert nbformat.writes(refresh.strip(notebook), version=4).rstrip("\n") + "\n" == text
    assert not re.search(r" at 0x[0-9a-f]{6}|/home/|/tmp/|/work/", text)


@first_lessons
def test_the_panel_is_stored_as_picture_and_words(path):
    cell = next(c for c in code(read(path)) if c.source == PANELS[path.name[:2]])
    data = cell.outputs[0].data
    assert len(data["image/png"]) > 1000
    assert len(data["text/plain"].split()) >= 5 and "children=" not in data["text/plain"]
    assert cell.outputs[0].metadata["image/png"]["alt"]


@every_lesson
def test_every_picture_has_words(path):
    for cell in read(path).cells:
        if cell.cell_type == "markdown":
            for alt in re.findall(r"!\[([^\]]*)\]\(", cell.source):
                assert len(alt.split()) >= 4, cell.source
        for output in cell.get("outputs", ()):
            for tag in re.findall(r"<img[^>]*>", str(output.get("data", {}).get("text/html", ""))):
                assert re.search(r"alt=\"[^\"]{10,}", tag) or "alt='" in tag, tag[:80]


@first_lessons
def test_the_exercises_are_those_of_the_lesson(path):
    asked = re.findall(r'^Exercise\("([^"]+)", student\)$', "\n".join(c.source for c in code(read(path))), re.M)
    assert len(asked) >= 4
    assert tuple(asked) == names(path.name[:2])


@first_lessons
def test_cautions_stand_at_the_bench(path):
    said = words(read(path))
    bench = said[said.index("## At the bench") : said.index("## Check yourself")]
    missing = [c for c in CAUTIONS if c.lower() not in bench.lower()]
    assert not missing


def test_lesson_00_names_every_caution_and_what_to_do_about_a_dead_panel():
    said = words(read(FIRST[0]))
    for caution in (
        "struck",
        "pins stay below the surface",
        "safety sheet",
        "no flame",
        "closed metal bin",
        "red lead",
        "slid apart",
        "fingers never between",
        "Error displaying widget",
        "Run All Cells",
        "Positive means *proud*",
    ):
        assert caution in said, caution


@first_lessons
def test_each_lesson_says_what_hides_and_which_lesson_finds_it(path):
    said = words(read(path))
    part = said[said.index("## What still hides") : said.index("## Sources")]
    assert re.search(r"[Ll]esson 0\d", part)
    assert re.search(r"published|†|common practice|derived", said[said.index("## Sources") :])


def read_words(said):
    """Count what is read from top to bottom: sources, and what is folded away under a name, are looked up."""
    return len(re.sub("<details>.*?</details>", "", said[: said.index("## Sources")]).split())


@pytest.mark.parametrize("asked", QUESTIONS)
def test_what_learners_ask_is_answered(asked):
    said = " ".join(words(read(p)) for p in FIRST).replace("*", "").lower()
    assert QUESTIONS[asked].lower() in said


@first_lessons
def test_a_lesson_is_of_a_length_that_is_read(path):
    assert 500 <= read_words(words(read(path))) <= 1250


def test_strip_takes_out_what_changes_and_keeps_what_can_be_read():
    view = {"model_id": "abc", "version_major": 2, "version_minor": 0}
    output = nbformat.v4.new_output("display_data", {refresh.WIDGET_VIEW: view, "text/plain": "words"})
    alone = nbformat.v4.new_output("display_data", {refresh.WIDGET_VIEW: view})
    cell = nbformat.v4.new_code_cell("1", outputs=[output, alone], metadata={"execution": {"iopub.execute_input": "t"}})
    found = refresh.strip(
        nbformat.v4.new_notebook(
            cells=[cell], metadata={"widgets": {"state": 1}, "language_info": {"name": "python", "version": "3.11.2"}}
        )
    )
    assert found.metadata == {
        "language_info": {"name": "python"},
        "kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"},
    }
    assert found.cells[0].metadata == {}
    assert found.cells[0].outputs[0].data == {"text/plain": "words"}
    assert refresh.WIDGET_VIEW in found.cells[0].outputs[1].data


def small(tmp_path, source):
    path = tmp_path / "09_small.ipynb"
    cell = nbformat.v4.new_code_cell(source)
    cell["id"] = "only"
    path.write_text(nbformat.writes(nbformat.v4.new_notebook(cells=[cell])), encoding="utf-8")
    return path


def test_two_refreshes_give_the_same_bytes(tmp_path):
    path = small(tmp_path, "from simulate.course import Exercise\nprint(1)\nprint(2)\nExercise('two-gap', 'b')")
    assert refresh.refresh(path)
    once = path.read_bytes()
    assert not refresh.refresh(path)
    path.write_text(json.dumps(json.loads(once), indent=4), encoding="utf-8")
    assert refresh.refresh(path)
    assert path.read_bytes() == once
    assert [p.name for p in tmp_path.iterdir()] == ["09_small.ipynb"]


def test_a_lesson_that_fails_stays_as_it_was(tmp_path, monkeypatch, capsys):
    path = small(tmp_path, "1 / 0")
    before = path.read_bytes()
    monkeypatch.setattr(refresh, "find", lambda names: [path])
    assert main(["refresh"]) == 1
    assert path.read_bytes() == before
    assert "09_small.ipynb: a cell failed, the file stays as it was." in capsys.readouterr().err


def test_a_lesson_of_no_such_name_is_refused(capsys):
    assert main(["refresh", "77"]) == 2
    assert "'77' is the start of 0 files in lessons/; it must be the start of one." in capsys.readouterr().err
    assert [p.name for p in refresh.find(["04", "lessons/00_start_here.ipynb"])] == [
        "04_three_bars.ipynb",
        "00_start_here.ipynb",
    ]


def test_the_table_shown_in_lesson_06_is_one_that_is_read(tmp_path):
    from simulate.readings.table.read import read_readings

    source = next(c.source for c in read(FIRST[6]).cells if "    round,lower,upper" in c.source)
    rows = [line.strip() for line in source.splitlines() if re.match(r"    (round,|\d,)", line)]
    assert len(rows) == 4
    path = tmp_path / "bars.csv"
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    table = read_readings(path)
    assert table.low_um.tolist() == [0, 50, 100]
    assert table.high_um.tolist() == [2.5, 100, 150]
