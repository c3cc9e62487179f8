"""One switch turns every panel and question to inches, and it is remembered."""

from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

from simulate.course.asking.check_answer import check
from simulate.course.asking.question import numeric
from simulate.course.exercise.exercise import Exercise, names, question
from simulate.show.units.switch import UnitSwitch, chosen_units, in_both


def test_metric_is_taken_until_something_else_was_chosen(tmp_path):
    kept = tmp_path / "my_units.txt"
    assert chosen_units(None, kept) == "mm"
    switch = UnitSwitch(kept)
    assert repr(switch) == "Metric: heights in µm, places in mm." and not kept.exists()
    switch.buttons.value = "inch"
    assert kept.read_text() == "inch"
    assert "Text, questions and panels change immediately." in switch.said.value
    assert (
        "Animations, the plan, the practice bench and panels with your own figures change when you choose Run, then "
        "Run All Cells."
    ) in switch.said.value
    assert chosen_units(None, kept) == "inch"
    assert repr(UnitSwitch(kept)) == "Inch: heights in thou (0.001 in), places in inches."
    switch.buttons.value = "mm"
    assert chosen_units(None, kept) == "mm"


@pytest.mark.parametrize("damage", [b"", b"cubit", b"\xff\xfe", b"inch\nmm", b"x" * 10_000])
def test_a_damaged_choice_is_metric(tmp_path, damage):
    kept = tmp_path / "my_units.txt"
    kept.write_bytes(damage)
    assert chosen_units(None, kept) == "mm"


def test_what_a_panel_was_asked_for_goes_before_the_switch(tmp_path):
    kept = tmp_path / "my_units.txt"
    kept.write_text("inch")
    assert chosen_units("mm", kept) == "mm"
    with pytest.raises(ValueError, match=r"units is 'cubit'; it must be 'mm' or 'inch'\."):
        chosen_units("cubit", kept)


def test_a_folder_that_refuses_is_said_in_a_sentence(tmp_path):
    switch = UnitSwitch(tmp_path / "no such folder" / "my_units.txt")
    switch.buttons.value = "inch"
    assert (
        "The choice was not kept" in switch.said.value
        and "it must be in a folder that can be written to" in switch.said.value
    )


@pytest.mark.parametrize(
    "said, both",
    [
        ("It is 25.4 µm high.", "It is 25.4 µm (1 thou) high."),
        ("It is +25.4 µm high.", "It is +25.4 µm (+1 thou) high."),
        ("It is -127 µm high.", "It is -127 µm (-5 thou) high."),
        ("It is −127 µm high.", "It is −127 µm (-5 thou) high."),
        ("At 508 mm, and 1016 mm.", "At 508 mm (20 in), and 1016 mm (40 in)."),
        (
            "A stroke takes 1 mm³ of 10 mm² and 3 K.",
            "A stroke takes 1 mm³ (0.000061 in³) of 10 mm² (0.0155 in²) and 3 K.",
        ),
        ("µm and mm alone stay; so do 4 to 6.", "µm and mm alone stay; so do 4 to 6."),
    ],
)
def test_lengths_in_a_sentence_get_inches_beside_them(said, both):
    assert in_both(said, "inch") == both
    assert in_both(said, "mm") == said


def test_answers_may_come_in_any_unit_of_length():
    q = numeric("?", 50.8, "µm", "because.", (25.4, "half", "Double it."), (-50.8, "flipped", "Turn it."))
    looked = 0
    for given in ("50.8", "50,8 µm", "2 thou", "2,00 thou", "0.002 in", "0.0508 mm", "50.8 um"):
        assert check(q, given) == "Right. because.", given
        looked += 1
    assert looked == 7
    assert check(q, "1 thou") == "Not yet (half). Double it."
    assert check(q, "-2 thou") == "Not yet (flipped). Turn it."
    assert check(q, "2.02 thou").startswith("Not yet, but near")
    assert check(q, "3 thou").startswith("Not yet. Make a small sketch")
    assert check(q, "two thou") == "Type one number in µm, such as 12.5; 'two thou' is not one."
    share = numeric("?", 50, "per cent", "half.", (25, "a", "b"), (75, "c", "d"))
    assert check(share, "50 mm").startswith("Type one number in per cent")


def test_every_question_takes_its_answer_in_thou_and_inches():
    looked = 0
    for name in names():
        q = question(name, "inch")
        if not q.options and q.unit in ("µm", "mm"):
            thou = q.answer / 25.4 if q.unit == "µm" else q.answer / 0.0254
            assert check(q, f"{thou:.2f} thou").startswith("Right."), name
            assert check(q, f"{thou / 1000:.6f} in").startswith("Right."), name
            looked += 1
    assert looked >= 40


def test_a_lesson_with_inches_chosen_draws_and_asks_in_inches(tmp_path):
    (tmp_path / "my_units.txt").write_text("inch")
    sources = [
        "from simulate.course import start\nstart()",
        "from simulate.show import ThreeBarsPanel\nprint(ThreeBarsPanel().sentence)",
        "from simulate.course import Exercise\nprint(Exercise('two-double', 'bench 1'))",
    ]
    made = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(s) for s in sources])
    NotebookClient(made, timeout=120, kernel_name="python3", resources={"metadata": {"path": str(tmp_path)}}).execute()
    first, panel, asked = (
        "".join(str(o.get("text", o.get("data", {}).get("text/plain"))) for o in c.outputs) for c in made.cells
    )
    assert first.startswith("Inch: heights in thou")
    assert " thou" in panel and "µm" not in panel
    assert "µm (" in asked and " thou)" in asked


def test_the_question_is_metric_where_nothing_was_chosen():
    assert not Path("my_units.txt").exists()
    assert "thou" not in repr(Exercise("two-double", "bench 1"))
