"""A class of thirty as classes are: late, torn, renamed, handed in twice, changed by hand; marked through the
command."""

import csv
import json
import re

import nbformat
import pytest

from simulate.__main__ import main
from simulate.course.asking.check_answer import check
from simulate.course.classroom.class_list import class_set, exercises_of
from simulate.course.classroom.grading import mark_class
from simulate.course.classroom.hand_out import hand_out
from simulate.course.classroom.learning_gain import gain
from simulate.course.exercise.answer_record import seal
from simulate.course.exercise.answers_file import written as written_book
from simulate.course.exercise.exercise import names, question
from simulate.course.exercise.hand_in import HandIn, read_given
from simulate.course.exercise.pre_question import asked
from simulate.course.notebook.refresh import LESSONS

CLASS = [f"Invented Student {k:02d}" for k in range(30)]
SEED = "a seed of this test"
LESSON, EVERY = "03", names("03")
ROLES = (
    "right",
    "right at the second try",
    "wrong",
    "last left out",
    "renamed",
    "handed in twice",
    "changed by hand",
    "torn",
    "late",
    "not run",
)


def role(name):
    return ROLES[CLASS.index(name) % len(ROLES)]


def worked(notebook, text):
    """The notebook as a student hands it in: run, with the list of answers under its last cell."""
    done = nbformat.from_dict(json.loads(json.dumps(notebook)))
    for number, cell in enumerate((c for c in done.cells if c.cell_type == "code"), 1):
        cell.execution_count = number
    if text is not None:
        cell = next(c for c in done.cells if c.cell_type == "code")
        cell.outputs = [nbformat.v4.new_output("display_data", {"text/plain": text})]
    return done


def answers(word, part, wrong_first=False, right=True):
    hand = HandIn()
    for name in part:
        asks = question(name, word)
        if wrong_first or not right:
            hand.keep(name, word, asks.wrong[0].given)
        if right:
            hand.keep(name, word, asks.answer)
    return repr(hand)


def written(what, word):
    """What a student of this role stored as answers: None where the notebook was not run."""
    if what in ("right at the second try", "handed in twice"):
        return answers(word, EVERY, wrong_first=True)
    if what in ("wrong", "changed by hand"):
        wrong = answers(word, EVERY, right=False)
        return wrong if what == "wrong" else by_hand(wrong, word)
    if what == "last left out":
        return answers(word, EVERY[:-1])
    return None if what == "not run" else answers(word, EVERY)


def by_hand(wrong, word):
    """Stored answers, each figure of a first try replaced by the right one without a new seal."""
    lines = [json.loads(line.removeprefix("answer ")) for line in wrong.splitlines()]
    for line in lines:
        line["tries"] = [line["tries"][0] | {"given": str(question(line["exercise"], word).answer)}]
    return "\n".join("answer " + json.dumps(line) for line in lines)


@pytest.fixture(scope="module")
def marked(tmp_path_factory):
    """Two tables: at the end of the lesson, and after the late ones have come in."""
    place = tmp_path_factory.mktemp("class")
    (place / "class.csv").write_text("name\n" + "\n".join(CLASS), encoding="utf-8")
    lessons, inbox = place / "lessons", place / "inbox"
    lessons.mkdir()
    inbox.mkdir()
    lesson = next(LESSONS.glob("03_*.ipynb"))
    (lessons / lesson.name).write_bytes(lesson.read_bytes())
    hand_out(place / "students", CLASS, SEED, lessons)
    words, late = class_set(CLASS, SEED), []
    for k, (name, word) in enumerate(words.items()):
        given = nbformat.read(place / "students" / word / lesson.name, as_version=4)
        target = inbox / f"{k:02d}" / (f"final (2) really final {k}.ipynb" if role(name) == "renamed" else lesson.name)
        target.parent.mkdir()
        done = worked(given, written(role(name), word))
        if role(name) == "handed in twice":
            first = worked(given, answers(word, EVERY, right=False))
            nbformat.write(first, target.with_name("zz old copy.ipynb"))
        if role(name) == "torn":
            target.write_text(nbformat.writes(done)[:-200], encoding="utf-8")
        elif role(name) == "late":
            late.append((done, target))
        else:
            nbformat.write(done, target)
    tables = []
    for _ in range(2):
        assert main(["class", "mark", str(inbox), str(place / "class.csv"), SEED, str(place / "marks.csv")]) == 0
        with open(place / "marks.csv", encoding="utf-8-sig", newline="") as file:
            tables.append(list(csv.DictReader(file)))
        while late:
            nbformat.write(*late.pop())
    return tables


def of_lesson(table):
    return [row for row in table if row["lesson"] == LESSON and row["exercise"] in EVERY]


def test_there_is_one_row_for_each_student_and_exercise(marked):
    for table in marked:
        assert len([r for r in table if r["name"]]) == 30 * len(names())
        assert len(of_lesson(table)) == 30 * len(EVERY)


def test_every_answer_is_marked_as_it_was_given(marked):
    looked = dict.fromkeys(ROLES, 0)
    for row in of_lesson(marked[1]):
        what, missing = role(row["name"]), row["right"] == ""
        asks = question(row["exercise"], row["word"])
        if what in ("right", "renamed", "late"):
            assert (row["right"], row["right_at_first"], row["tries"], row["note"]) == ("yes", "yes", "1", ""), row
        elif what == "right at the second try":
            assert (row["right"], row["right_at_first"], row["tries"], row["note"]) == ("yes", "no", "2", ""), row
        elif what == "wrong":
            assert (row["right"], row["told"]) == ("no", asks.wrong[0].misconception), row
        elif what == "last left out":
            assert missing == (row["exercise"] == EVERY[-1]) and (missing or row["right"] == "yes"), row
        elif what == "handed in twice":
            assert (row["right"], row["tries"]) == ("yes", "2"), row
            assert re.fullmatch(
                r"handed in 2 times, in different versions: the best counts, not \d\d/zz old copy.ipynb", row["note"]
            )
            assert (
                row["file"].endswith("03_two_bars_agree.ipynb")
                and row["first_misconception"] == asks.wrong[0].misconception
            )
        elif what == "changed by hand":
            assert missing and row["note"].startswith("changed by hand: "), row
            assert check(asks, row["note"].split("'")[1]).startswith("Right.") or asks.options, (
                "it would have been right"
            )
        else:
            assert missing and row["told"] == "not answered", row
        looked[what] += 1
    assert looked == dict.fromkeys(ROLES, 3 * len(EVERY))


def test_files_that_gave_nothing_are_named_below_the_class(marked):
    told = [row["told"] for row in marked[1] if not row["name"]]
    assert sorted(told) == sorted(
        [f"{k:02d}/03_two_bars_agree.ipynb is cut short or is not a notebook" for k in (7, 17, 27)]
        + [
            f"{k:02d}/03_two_bars_agree.ipynb holds no answer: was its first cell run, and the file saved?"
            for k in (9, 19, 29)
        ]
    )


def test_a_late_hand_in_changes_the_rows_of_its_student_and_no_other(marked):
    before, after = (of_lesson(table) for table in marked)
    changed = {b["name"] for a, b in zip(before, after, strict=True) if a != b}
    assert changed == {name for name in CLASS if role(name) == "late"}


def test_a_notebook_handed_out_holds_no_answer_no_reason_and_no_hint(tmp_path):
    written = hand_out(tmp_path, CLASS[:1], SEED)
    looked = 0
    for path in written:
        text = path.read_text(encoding="utf-8")
        for lesson, name in exercises_of():
            if lesson != path.name[:2]:
                continue
            asks = asked(name, path.parent.name)
            for hidden in (asks.text, asks.why, *(w.hint for w in asks.wrong), *asks.options):
                assert len(hidden) < 30 or hidden not in text, (path.name, name, hidden)
            looked += 1
    assert looked == len(exercises_of())


@pytest.mark.parametrize(
    "change",
    [
        {"given": "99"},
        {"kind": "right"},
        {"at": "2026-01-01T00:00:00.000000Z"},
        {"course": "9"},
        {"unlisted": 7},
        {"student": "nobody-here"},
        {"exercise": "two-gap"},
        {"seal": ""},
    ],
)
def test_whatever_is_changed_by_hand_in_a_record_the_seal_no_longer_fits(change):
    hand = HandIn()
    hand.keep("two-double", "bako-rimu", "12")
    line = json.loads(repr(hand).removeprefix("answer "))
    assert read_given("answer " + json.dumps(line))[0].untouched
    of_try = {"given", "kind", "at", "course"} & set(change)
    changed = line | ({"tries": [line["tries"][0] | change]} if of_try else change)
    assert not read_given("answer " + json.dumps(changed))[0].untouched


def test_a_seal_depends_on_the_students_word():
    hand, other = HandIn(), HandIn()
    hand.keep("two-double", "bako-rimu", "12")
    other.keep("two-double", "tavi-lose", "12")
    one, two = read_given(repr(hand))[0], read_given(repr(other))[0]
    assert one.seal != two.seal and seal(one) == one.seal


@pytest.mark.parametrize("kept", ["07_three_points_to_seven.ipynb", "my_answers.json"])
def test_answers_of_the_former_lesson_07_count_for_their_questions_where_those_stand_now(kept, tmp_path):
    """It was two lessons in one: `lands-gauge` stood beside what is lesson 08 now, and the answer before it was kept
    under its number."""
    ((_, word),) = class_set(CLASS[:1], SEED).items()
    then = ("lands-gauge", "lands-two-gauges", "lands-fits", "lands-hollow", "lands-turned", "lands-spare")
    hand = HandIn()
    hand.keep("before-07", word, asked("before-07", word).wrong[0].given)
    for name in then:
        hand.keep(name, word, question(name, word).answer)
    cells = [
        "# 07 From three points to seven",
        f'student = "{word}"',
        *(f'Exercise("{name}", student)' for name in then),
    ]
    old = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(one) for one in cells[1:]])
    old.cells.insert(0, nbformat.v4.new_markdown_cell(cells[0]))
    stored = (
        nbformat.writes(worked(old, repr(hand))).encode()
        if kept.endswith(".ipynb")
        else written_book(hand.all_of(word))
    )
    (tmp_path / kept).write_bytes(stored)
    marked = mark_class(tmp_path, CLASS[:1], SEED)
    rows = {row.exercise: row for row in marked.rows if row.right == "yes"}
    assert {name: row.lesson for name, row in rows.items()} == {"lands-gauge": "07"} | dict.fromkeys(then[1:], "08")
    (before,) = (row for row in marked.before if row.given)
    assert (before.exercise, before.lesson, before.right) == ("before-07", "08", "no")
    (learnt,) = gain(marked.before + marked.rows)
    assert (learnt.lesson, learnt.exercise, learnt.learnt) == ("08", "lands-hollow", 1)
