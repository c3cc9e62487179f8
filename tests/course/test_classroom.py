"""Class sets: thirty students, answers right and wrong, marked by each one's own figures."""

import csv

import nbformat
import pytest
from nbclient import NotebookClient

from simulate.__main__ import main
from simulate.course.asking.check_answer import check
from simulate.course.classroom.class_list import answer_key, class_set, read_class
from simulate.course.classroom.grading import mark_class
from simulate.course.classroom.hand_out import hand_out
from simulate.course.classroom.learning_gain import gain
from simulate.course.classroom.tables import write_table
from simulate.course.exercise.exercise import Exercise, names, question
from simulate.course.exercise.hand_in import ANSWERS, HandIn, read_given
from simulate.course.exercise.pre_question import Before, asked, before_name
from simulate.course.notebook.manifest import manifest
from simulate.course.notebook.refresh import LESSONS
from simulate.show.units.lengths import with_inches
from simulate.show.units.switch import chosen_units

CLASS = [f"Invented Student {k:02d}" for k in range(30)]
ASKED = ["03", "04"]


def mark(*given, **more):
    """The rows of the exercises, then what else is to be looked at."""
    found = mark_class(*given, **more)
    return found.rows + found.aside


def notebook(*texts):
    outputs = [nbformat.v4.new_output("display_data", {"text/plain": text}) for text in texts]
    return nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("hand_in()", outputs=outputs)])


@pytest.fixture(scope="module")
def handed_in(tmp_path_factory):
    """Students of even place answer right, of odd place with a named misconception; each third leaves the last out."""
    folder = tmp_path_factory.mktemp("handed in")
    for place, word in enumerate(class_set(CLASS, "spring").values()):
        for lesson in ASKED:
            hand = HandIn()
            hand.keep(before_name(lesson), word, asked(before_name(lesson), word).wrong[0].given)
            for exercise in names(lesson)[:-1] if place % 3 == 0 else names(lesson):
                q = question(exercise, word)
                hand.keep(exercise, word, q.wrong[0].given)
                if place % 2 == 0:
                    hand.keep(exercise, word, q.answer)
            (folder / word).mkdir(exist_ok=True)
            nbformat.write(notebook(repr(hand)), folder / word / f"{lesson}.ipynb")
    return folder


def test_everybody_has_a_word_of_their_own_that_others_do_not_change():
    words = class_set(CLASS, "spring")
    assert list(words) == CLASS and len(set(words.values())) == 30
    assert class_set(CLASS[5:], "spring") == {n: words[n] for n in CLASS[5:]}
    assert not set(class_set(CLASS, "autumn").values()) & set(words.values())


def test_the_key_holds_the_answer_that_each_student_needs():
    key = answer_key(CLASS, "spring", ASKED)
    assert len(key) == 30 * sum(1 + len(names(lesson)) for lesson in ASKED)
    looked = 0
    for row in key:
        assert check(asked(row.exercise, row.word), row.answer).startswith("Right."), row
        looked += 1
    assert looked == len(key)
    assert len({row.answer for row in key if row.exercise == "two-double"}) > 10


def test_a_class_of_thirty_is_marked_answer_by_answer(handed_in):
    marked = mark_class(handed_in, CLASS, "spring", ASKED)
    rows = marked.rows + marked.before
    assert len(marked.rows) == 30 * sum(len(names(lesson)) for lesson in ASKED) and len(marked.before) == 30 * len(
        ASKED
    )
    looked = {"yes": 0, "no": 0, "": 0}
    for row in rows:
        place = CLASS.index(row.name)
        q = asked(row.exercise, row.word)
        if row.exercise.startswith("before"):
            assert (row.right, row.right_at_first, row.tries, row.told) == ("no", "no", 1, q.wrong[0].misconception), (
                row
            )
        elif place % 3 == 0 and row.exercise == names(row.lesson)[-1]:
            assert (row.right, row.given, row.told) == ("", "", "not answered"), row
        elif place % 2 == 0:
            assert (row.right, row.right_at_first, row.tries, row.told) == ("yes", "no", 2, "Right"), row
        else:
            assert (row.right, row.right_at_first, row.tries, row.told) == ("no", "no", 1, q.wrong[0].misconception), (
                row
            )
        looked[row.right] += 1
    assert looked == {"yes": 15 * 10 - 10, "no": 15 * 10 - 10 + 60, "": 20}


def test_answers_of_a_neighbour_do_not_count(tmp_path):
    words = class_set(CLASS[:2], 1)
    hand = HandIn()
    hand.keep("two-double", words[CLASS[1]], question("two-double", words[CLASS[1]]).answer)
    hand.keep("two-double", "nobody-here", "4")
    nbformat.write(notebook(repr(hand), "answer {broken", "answer []"), tmp_path / "copied.ipynb")
    (tmp_path / "torn.ipynb").write_text("{")
    rows = mark(tmp_path, CLASS[:2], 1, ["03"])
    assert [r.name for r in rows if r.right == "yes"] == [CLASS[1]]
    assert [r.told for r in rows if not r.name] == [
        "copied.ipynb holds 1 line that begins like an answer but is not",
        "copied.ipynb holds answers under 'nobody-here': this word belongs to nobody in the class",
        "torn.ipynb is cut short or is not a notebook",
    ]
    assert [r.file for r in rows if not r.name] == ["copied.ipynb", "copied.ipynb", "torn.ipynb"]


def test_students_get_every_lesson_with_their_word_and_nobody_elses_outputs(tmp_path):
    written = hand_out(tmp_path, CLASS[:2], 1)
    assert len(written) == 2 * (len(list(LESSONS.glob("*.ipynb"))) - 1)
    assert not any("instructor" in path.name for path in written)
    looked = 0
    for path in written:
        made = nbformat.read(path, as_version=4)
        nbformat.validate(made)
        assert sum(f'student = "{path.parent.name}"' in c.source for c in made.cells) == 1, path.name
        assert not [c for c in made.cells if c.get("outputs")]
        first = next(c.source for c in made.cells if c.cell_type == "code")
        assert first.endswith("\nhand_in()\nstart()") and "Save Notebook" in made.cells[-1].source
        assert CLASS[0] not in path.read_text() and "bench 1" not in "".join(c.source for c in made.cells)
        looked += 1
    assert looked == len(written)
    with pytest.raises(ValueError, match="may hold a student's work; .* Take an empty folder"):
        hand_out(tmp_path, CLASS[:2], 1)


def test_what_is_checked_in_a_panel_is_kept_with_its_tries():
    panel = Exercise("two-double", "a word of this test")
    for typed in ("3", "3", " ", "5 µm"):
        panel.field.value = typed
        panel.button.click()
    found = [g for g in read_given(repr(ANSWERS)) if g.student == "a word of this test"]
    assert [(g.exercise, g.first, g.last, g.count) for g in found] == [("two-double", "3", "5 µm", 2)]


def test_a_notebook_that_ran_carries_its_answers_even_those_given_after_the_list_was_shown(tmp_path):
    word = class_set(CLASS[:1], 1)[CLASS[0]]
    answer = question("two-double", word).answer
    sources = [
        "from simulate.course import Exercise, hand_in",
        f"e = Exercise('two-double', '{word}')\ne.field.value = '1'",
        "hand_in()",
        f"e.field.value = '{answer:g}'",
    ]
    made = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(s) for s in sources])
    NotebookClient(made, timeout=120, kernel_name="python3", resources={"metadata": {"path": str(tmp_path)}}).execute()
    nbformat.write(made, tmp_path / "one.ipynb")
    row = next(r for r in mark(tmp_path, CLASS[:1], 1, ["03"]) if r.exercise == "two-double")
    assert (row.right, row.right_at_first, row.tries) == ("yes", "no", 2)


def test_the_commands_write_tables_that_no_spreadsheet_takes_for_formulas(tmp_path, handed_in):
    listed = tmp_path / "class.csv"
    listed.write_text("name\n" + "\n".join(CLASS[:2]) + "\n=Invented()\n", encoding="utf-8")
    assert main(["class", "key", str(listed), "spring", str(tmp_path / "key.csv")]) == 0
    assert main(["class", "mark", str(handed_in), str(listed), "spring", str(tmp_path / "marks.csv")]) == 0
    with open(tmp_path / "key.csv", encoding="utf-8-sig", newline="") as file:
        key = list(csv.DictReader(file))
    assert {row["name"] for row in key} == {CLASS[0], CLASS[1], "'=Invented()"}
    with open(tmp_path / "marks.csv", encoding="utf-8-sig", newline="") as file:
        marks = list(csv.DictReader(file))
    assert [r["right"] for r in marks if r["name"] == CLASS[0] and r["lesson"] == "03"] == [*["yes"] * 4, ""]
    rows = answer_key(["A. Student"], 3, ["04"])
    write_table(tmp_path / "one.csv", rows)
    text = (tmp_path / "one.csv").read_text(encoding="utf-8-sig")
    assert all(f'"{r.answer}"' in text for r in rows)


def test_refusals_are_sentences(tmp_path):
    with pytest.raises(ValueError, match=r"the class list holds no name; it must hold at least one\."):
        class_set([], 1)
    with pytest.raises(ValueError, match=r"name 2 of the class list is 'A'; it must be there, and only once\."):
        class_set(["A", "A"], 1)
    with pytest.raises(
        ValueError,
        match=(
            r"'test_refusals_are_sentences0' holds no notebook; it must hold the files handed in, which end in "
            r"\.ipynb\."
        ),
    ):
        mark(tmp_path, ["A"], 1)
    with pytest.raises(ValueError, match="lesson is '99'"):
        answer_key(["A"], 1, ["99"])
    (tmp_path / "empty.csv").write_text("name\n")
    with pytest.raises(ValueError, match="the class list holds no name"):
        read_class(tmp_path / "empty.csv")


def test_a_question_before_the_lesson_is_kept_and_not_judged():
    looked, pairs = 0, {one.number: one.before for one in manifest() if one.before}
    for lesson, name in pairs.items():
        assert name in names(lesson)
        for word in ("bench 1", "bako-rimu"):
            panel = Before(lesson, word)
            q = asked(before_name(lesson), word)
            assert panel.question == q
            for given in (q.answer, q.wrong[0].given):
                assert panel.answer(given) == "Saved, not marked. A similar question comes at the end of the lesson."
            looked += 1
    assert looked == 2 * len(pairs)
    numeric = [n for n in pairs if not asked(before_name(n), 1).options]
    assert len(numeric) >= 6
    assert sum(asked(before_name(n), 1).text != question(pairs[n], 1).text for n in numeric) >= len(numeric) - 1
    panel = Before("03", "a word of the gain")
    panel.field.value = "7"
    panel.button.click()
    assert "Saved" in panel.feedback.value and "Right" not in panel.feedback.value
    assert [g.last for g in read_given(repr(ANSWERS)) if g.exercise == "before-03"] == ["7"]
    with pytest.raises(ValueError, match="lesson is '77'; it must be '00'"):
        Before("77", 1)


def test_the_gain_counts_first_answers_of_those_who_answered_both(tmp_path, handed_in, capsys):
    marked = mark_class(handed_in, CLASS, "spring", ASKED)
    found = gain(marked.before + marked.rows)
    # everybody was wrong before, and the first answer after the lesson was wrong too
    assert [(g.lesson, g.students, g.right_before, g.right_after, g.learnt, g.lost) for g in found] == [
        ("03", 30, 0, 0, 0, 0),
        ("04", 30, 0, 0, 0, 0),
    ]
    words = class_set(CLASS[:3], 1)
    for name, before, after in zip(CLASS, (0, 1, 1), (1, 1, 0)):
        hand = HandIn()
        for asks, right in (("before-03", before), ("two-double", after)):
            q = asked(asks, words[name])
            hand.keep(asks, words[name], q.answer if right else q.wrong[0].given)
        nbformat.write(notebook(repr(hand)), tmp_path / f"{words[name]}.ipynb")
    marked = mark_class(tmp_path, CLASS[:3], 1, ["03"])
    (only,) = gain(marked.before + marked.rows)
    assert (only.students, only.right_before, only.right_after, only.learnt, only.lost) == (3, 2, 2, 1, 1)
    listed = tmp_path / "class.csv"
    listed.write_text("name\n" + "\n".join(CLASS[:3]) + "\n", encoding="utf-8")
    assert main(["class", "gain", str(tmp_path), str(listed), "1", str(tmp_path / "gain.csv")]) == 0
    assert (tmp_path / "gain.csv").read_text(encoding="utf-8-sig").splitlines()[
        1
    ] == '"03","two-double","3","2","2","1","1"'
    assert main(["class", "gain", str(tmp_path), str(listed), "2", str(tmp_path / "none.csv")]) == 2
    assert "no lesson that anybody answered both before and after" in capsys.readouterr().err
    assert not (tmp_path / "none.csv").exists()


def test_a_class_in_inches_opens_so_and_its_key_and_marks_give_thou(tmp_path, handed_in):
    listed = tmp_path / "class.csv"
    listed.write_text("name\n" + "\n".join(CLASS[:2]) + "\n", encoding="utf-8")
    assert main(["class", "set", str(listed), "spring", str(tmp_path / "set"), "--inch"]) == 0
    folders = sorted((tmp_path / "set").iterdir())
    assert [f.name for f in folders] == sorted(class_set(CLASS[:2], "spring").values())
    assert all(chosen_units(None, f / "my_units.txt") == "inch" for f in folders)
    key, metric = answer_key(CLASS[:2], "spring", units="inch"), answer_key(CLASS[:2], "spring")
    turned = 0
    for row, was in zip(key, metric, strict=True):
        q = asked(row.exercise, row.word)
        if was.unit in ("µm", "mm"):
            assert row.unit == {"µm": "thou", "mm": "in"}[was.unit]
            assert float(row.answer) == pytest.approx(q.answer / 25.4, rel=1e-5)
            assert check(q, f"{row.answer} {row.unit}").startswith("Right."), row
            turned += 1
        elif q.options:
            assert row.answer == with_inches(q.answer)
        else:
            assert (row.answer, row.tolerance, row.unit) == (was.answer, was.tolerance, was.unit)
        assert (row.question, row.reason) == (with_inches(was.question), with_inches(was.reason))
    assert turned > 60
    marks, same = mark(handed_in, CLASS, "spring", ASKED, units="inch"), mark(handed_in, CLASS, "spring", ASKED)
    assert [(m.given, m.right) for m in marks] == [(m.given, m.right) for m in same]
    assert [m.told for m in marks] == [with_inches(m.told) for m in same]
