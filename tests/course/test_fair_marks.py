"""Fair marks: what counts of several hand-ins, what others' files can do, and what an instructor is told and given
afterwards."""

import csv
import json
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import nbformat
import pytest

from simulate.__main__ import main
from simulate.core.refusal import Refusal
from simulate.course.asking.misconceptions import BELIEFS
from simulate.course.classroom.class_list import answer_key, class_set, read_class
from simulate.course.classroom.feedback import points
from simulate.course.classroom.grading import Mark, mark_class
from simulate.course.classroom.hand_out import hand_out
from simulate.course.classroom.name_rows import name_rows
from simulate.course.classroom.served import COURSE, keep_private
from simulate.course.classroom.summary import by_belief, by_question, by_student
from simulate.course.classroom.tables import cell
from simulate.course.exercise.answer_record import Answer, Try, seal, sealed
from simulate.course.exercise.answer_text import as_line, read_record
from simulate.course.exercise.exercise import names, question
from simulate.course.exercise.hand_in import HandIn
from simulate.course.notebook.refresh import LESSONS
from simulate.course.teaching.outcomes import to_pass

CLASS = ["Invented One", "Invented Two", "Invented Three"]
WORDS = class_set(CLASS, 1)
ONE, TWO, THREE = WORDS.values()
MONDAY = datetime(2026, 3, 2, 9, tzinfo=UTC)


def right(word, exercise="two-double"):
    return f"{question(exercise, word).answer:g}"


def wrong(word, exercise="two-double", which=0):
    return question(exercise, word).wrong[which].given


def hand_in(path, word, *given, own=None, day=0, exercise="two-double", lesson="03"):
    """A notebook as it is handed in, with tries a minute apart."""
    ticks = (MONDAY + timedelta(days=day, minutes=k) for k in range(999))
    hand = HandIn(clock=lambda: next(ticks), course="0.1.0")
    for text in given:
        hand.keep(exercise, word, text)
    write(path, repr(hand), own or word, lesson)


def write(path, text, own, lesson="03"):
    made = nbformat.v4.new_notebook(
        cells=[
            nbformat.v4.new_markdown_cell(f"# {lesson} A lesson"),
            nbformat.v4.new_code_cell(
                f'student = "{own}"\nhand_in()',
                execution_count=1,
                outputs=[nbformat.v4.new_output("display_data", {"text/plain": text})],
            ),
        ]
    )
    path.parent.mkdir(parents=True, exist_ok=True)
    nbformat.write(made, path)


def row(folder, word=ONE, exercise="two-double", **more):
    return next(
        r for r in mark_class(folder, CLASS, 1, ["03"], **more).rows if r.word == word and r.exercise == exercise
    )


def told(folder):
    return [r.told for r in mark_class(folder, CLASS, 1, ["03"]).aside]


def test_the_first_answer_is_the_first_that_the_exercise_took_also_in_older_records(tmp_path):
    line = {"exercise": "two-double", "student": ONE, "first": "12 qm", "last": right(ONE), "tries": 2}
    write(tmp_path / "old.ipynb", "answer " + json.dumps(line | {"seal": seal(read_record(line))}), ONE)
    one = row(tmp_path)
    assert (one.right, one.right_at_first, one.tries, one.first, one.note) == ("yes", "yes", 1, right(ONE), "")


def test_right_once_is_right(tmp_path):
    hand_in(tmp_path / "a.ipynb", ONE, wrong(ONE), right(ONE), wrong(ONE, which=1))
    one = row(tmp_path)
    assert (one.right, one.right_at_first, one.tries, one.given, one.told) == ("yes", "no", 2, right(ONE), "Right")
    assert (one.first_misconception, one.course, one.file) == (
        question("two-double", ONE).wrong[0].misconception,
        "0.1.0",
        "a.ipynb",
    )
    assert one.at == "2026-03-02T09:01:00.000000Z"


@pytest.mark.parametrize("order", [("a", "b"), ("b", "a")])
def test_of_several_hand_ins_the_best_counts_or_the_latest_whatever_they_are_called(tmp_path, order):
    hand_in(tmp_path / f"{order[0]}.ipynb", ONE, right(ONE))
    hand_in(tmp_path / f"{order[1]}.ipynb", ONE, wrong(ONE), wrong(ONE, which=1), day=3)
    best, latest = row(tmp_path), row(tmp_path, counts="latest")
    assert (best.right, best.right_at_first, best.file) == ("yes", "yes", f"{order[0]}.ipynb")
    assert (latest.right, latest.tries, latest.file) == ("no", 2, f"{order[1]}.ipynb")
    assert best.note == f"handed in 2 times, in different versions: the best counts, not {order[1]}.ipynb"
    assert latest.note == f"handed in 2 times, in different versions: the latest counts, not {order[0]}.ipynb"


def test_a_right_answer_after_many_tries_is_better_than_a_wrong_one_after_one(tmp_path):
    hand_in(tmp_path / "a.ipynb", ONE, wrong(ONE), wrong(ONE, which=1), right(ONE))
    hand_in(tmp_path / "b.ipynb", ONE, wrong(ONE), day=3)
    assert (row(tmp_path).right, row(tmp_path).tries, row(tmp_path).file) == ("yes", 3, "a.ipynb")


def test_an_earlier_state_of_the_same_work_is_no_second_hand_in(tmp_path):
    hand_in(tmp_path / "monday.ipynb", ONE, wrong(ONE))
    hand_in(tmp_path / "tuesday.ipynb", ONE, wrong(ONE), right(ONE), lesson="04")
    assert (row(tmp_path).right, row(tmp_path).note) == ("yes", "")
    assert row(tmp_path, counts="latest").right == "yes"


@pytest.mark.parametrize("counts", ["best", "latest"])
def test_a_strangers_word_lowers_nobodys_marks_and_the_file_is_named(tmp_path, counts):
    hand_in(tmp_path / "own.ipynb", ONE, right(ONE))
    hand_in(tmp_path / "theirs.ipynb", ONE, *[wrong(ONE), wrong(ONE, which=1)] * 20, own=TWO, day=30)
    one = row(tmp_path, counts=counts)
    assert (one.right, one.right_at_first, one.tries, one.file) == ("yes", "yes", 1, "own.ipynb")
    assert f"theirs.ipynb is the notebook of {TWO!r}" in one.note
    assert "theirs.ipynb holds answers of 'Invented One', but the notebook is that of 'Invented Two'" in told(tmp_path)


def test_copied_and_renamed_notebooks_are_named(tmp_path):
    hand_in(tmp_path / ONE / "03.ipynb", ONE, right(ONE))
    hand_in(tmp_path / TWO / "my own work.ipynb", ONE, right(ONE))
    said = told(tmp_path)
    first, second = sorted([f"{ONE}/03.ipynb", f"{TWO}/my own work.ipynb"])
    assert (
        f"{second} is a copy of {first}: the same answers of 'Invented One'; did somebody hand in another's file?"
        in said
    )
    assert f"{TWO}/my own work.ipynb lies in the folder of 'Invented Two' and holds none of their answers" in said
    assert row(tmp_path, TWO).told == "not answered"


def test_empty_hand_ins_other_versions_and_a_wrong_seed_are_said(tmp_path, capsys):
    write(tmp_path / "inbox" / "empty.ipynb", "No exercise is answered yet.", TWO)
    cleared = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(f'student = "{THREE}"')])
    nbformat.write(cleared, tmp_path / "inbox" / "cleared.ipynb")
    hand_in(tmp_path / "inbox" / "other.ipynb", ONE, "3", exercise="two-of-another-version")
    assert set(told(tmp_path / "inbox")) == {
        "empty.ipynb holds no answer: was its first cell run, and the file saved?",
        "cleared.ipynb holds no answer: it was never run, or its outputs were cleared",
        (
            "other.ipynb holds answers to 'two-of-another-version', which this version of the course does not ask "
            "(made by '0.1.0')"
        ),
    }
    (tmp_path / "class.csv").write_text("\n".join(CLASS))
    assert (
        main(
            [
                "class",
                "mark",
                str(tmp_path / "inbox"),
                str(tmp_path / "class.csv"),
                "another seed",
                str(tmp_path / "marks.csv"),
            ]
        )
        == 0
    )
    assert (
        "no answer belongs to this class: is the seed the one that the class set was made with?"
        in capsys.readouterr().err
    )


def test_a_verdict_of_another_version_that_differs_is_pointed_out(tmp_path):
    record = sealed(
        Answer(exercise="two-double", student=ONE, tries=(Try(given=wrong(ONE) and "1", kind="right", course="0.0.9"),))
    )
    write(tmp_path / "a.ipynb", as_line(record), ONE)
    assert row(tmp_path).note == "version 0.0.9 of the course said 'right' then: look at it"


def test_late_answers_and_weights_make_points(tmp_path):
    hand_in(tmp_path / "one.ipynb", ONE, right(ONE))
    hand_in(tmp_path / "two.ipynb", TWO, wrong(TWO), right(TWO), day=2)
    until = MONDAY + timedelta(days=1)
    rows = mark_class(tmp_path, CLASS, 1, ["03"], until=until).rows
    assert [r.late for r in rows if r.exercise == "two-double"] == ["no", "yes", ""]
    assert [(p.name, p.points, p.most) for p in points(rows, (1, 0.5), 0.5)] == [
        ("Invented One", 1.0, 5.0),
        ("Invented Two", 0.25, 5.0),
        ("Invented Three", 0.0, 5.0),
    ]


def test_the_pass_mark_is_that_of_the_plan_and_reaches_the_points():
    """Whatever percentage is set: who has as many right as the plan asks for has passed, and one fewer has not."""
    looked = 0
    for percent in (1, 50, 60, 62.5, 100 / 3, 100):
        for count in (1, 3, 5, 38):
            enough = to_pass(count, percent)
            for right_ones in (enough, enough - 1):
                rows = [Mark(name="Invented", right="yes" if k < right_ones else "no", tries=1) for k in range(count)]
                (one,) = points(rows, pass_percent=percent)
                assert one.passed == ("yes" if right_ones >= enough else "no"), (percent, count, right_ones)
                assert one.enough == pytest.approx(count * percent / 100)
                looked += 1
    assert looked == 48
    weighed = points([Mark(name="Invented", right="yes", tries=2)] * 3, weights=(1, 1 / 3), pass_percent=100 / 3)
    assert [one.passed for one in weighed] == ["yes"], "a third of the points, by whichever way it is rounded"
    for percent in (0, 101, float("nan")):
        with pytest.raises(Refusal, match="the pass mark is .*; it must be above 0 and at most 100 per cent"):
            points([Mark(name="Invented")], pass_percent=percent)


@pytest.fixture
def worked(tmp_path):
    """A class in which everybody shows a belief first and is right later; the third is not there."""
    for word in list(WORDS.values())[:2]:
        hand = HandIn()
        for exercise in names("03"):
            asks = question(exercise, word)
            hand.keep(exercise, word, asks.wrong[0].given)
            hand.keep(exercise, word, asks.answer)
        write(tmp_path / "inbox" / f"{word}.ipynb", repr(hand), word)
    (tmp_path / "class.csv").write_text("name\n" + "\n".join(CLASS), encoding="utf-8")
    return tmp_path


def test_the_summary_counts_first_answers_and_names_who_believes_what(worked):
    rows = mark_class(worked / "inbox", CLASS, 1, ["03"]).rows
    students = by_student(rows)
    assert [(s.name, s.asked, s.answered, s.right_at_first, s.right, s.tries) for s in students] == [
        ("Invented One", 5, 5, 0, 5, 10),
        ("Invented Two", 5, 5, 0, 5, 10),
        ("Invented Three", 5, 0, 0, 0, 0),
    ]
    looked = 0
    for q in by_question(rows):
        assert (q.students, q.answered, q.right_at_first_pct, q.right_pct, q.tries) == (3, 2, 0.0, 100.0, 2.0)
        assert q.misconceptions == f"{question(q.exercise, ONE).wrong[0].misconception} (2: Invented One, Invented Two)"
        looked += 1
    assert looked == len(names("03"))
    shown = {b.said: (b.students, b.answered, b.names) for b in by_belief(rows)}
    assert len(shown) == len(BELIEFS) == 15
    met = [
        b for b in BELIEFS if any(e in names("03") and m == question(e, ONE).wrong[0].misconception for e, m in b.met)
    ]
    assert met and all(shown[b.said] == (2, 2, "Invented One, Invented Two") for b in met)


def test_the_commands_write_summary_feedback_and_points(worked):
    places = [str(worked / "inbox"), str(worked / "class.csv"), "1"]
    assert main(["class", "summary", *places, str(worked / "summary"), "--lessons", "03,04"]) == 0
    page = (worked / "summary" / "summary.html").read_text(encoding="utf-8")
    assert (
        page.count("<tr>") >= 3 + 5 + 15 and "0 / 5 / 5" in page and all(b.said.split(",")[0] in page for b in BELIEFS)
    )
    assert {p.name for p in (worked / "summary").iterdir()} == {
        "summary.html",
        "summary_students.csv",
        "summary_questions.csv",
        "summary_beliefs.csv",
    }
    assert main(["class", "feedback", *places, str(worked / "feedback")]) == 0
    pages = {p.stem: p.read_text(encoding="utf-8") for p in (worked / "feedback").iterdir()}
    assert set(pages) == {ONE, TWO}
    import html

    assert all(
        html.escape(question(e, ONE).why, quote=False) in html.unescape(pages[ONE])
        or question(e, ONE).why in html.unescape(pages[ONE])
        for e in names("03")
    )
    assert "Invented Two" not in pages[ONE] and TWO not in pages[ONE]
    assert (
        main(
            [
                "class",
                "points",
                *places,
                str(worked / "points.csv"),
                "--lessons",
                "03",
                "--weights",
                "1,0.5",
                "--pass",
                "50",
                "--semicolon",
            ]
        )
        == 0
    )
    lines = (worked / "points.csv").read_text(encoding="utf-8-sig").splitlines()
    assert lines == [
        '"name";"points";"most";"enough";"passed"',
        '"Invented One";"2,5";"5";"2,5";"yes"',
        '"Invented Two";"2,5";"5";"2,5";"yes"',
        '"Invented Three";"0";"5";"2,5";"no"',
    ]


def test_the_key_says_what_is_asked_how_far_out_it_may_be_and_why():
    looked = 0
    for key in answer_key(CLASS[:1], 1, ["03"]):
        if key.exercise.startswith("two"):
            asks = question(key.exercise, ONE)
            assert (key.question, key.reason) == (asks.text, asks.why)
            assert asks.options or float(key.tolerance) == asks.tolerance
            looked += 1
    assert looked == len(names("03"))


@pytest.mark.parametrize(
    "text",
    [
        "=1+1",
        "+1+1",
        "-1+1",
        "@SUM(A1)",
        "\t=1+1",
        "\r=1+1",
        "\n=1+1",
        " =1+1",
        "\u00a0=1+1",
        "\ufeff=1+1",
        "x;=1+1;y",
        "x\n=1+1",
        "x\t-1+1",
        "\uff1d1+1",
        "x;\r\n @SUM(A1)",
        "\x00=1+1",
    ],
)
def test_no_cell_is_a_formula_wherever_a_spreadsheet_parts_it(text):
    made = cell(text)
    for part in re.split(r"[;\t\r\n]", made):
        assert not re.match(r"[\s\u200b\ufeff]*[=+\-@\uff1d\uff0b\uff0d\uff20]", part), made
    assert cell("-12.5") == "-12.5" and cell("12 µm") == "12 µm"


@pytest.mark.parametrize("code", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize(
    "text",
    [
        "Nachname;Vorname\r\nMüller;Hans\r\nMüller;Ida\r\n",
        "Vorname;Nachname\r\nHans;Müller\r\nIda;Müller\r\n",
        "sep=;\r\nName;Vorname\r\nMüller;Hans\r\nMüller;Ida\r\n",
        "first name\tsurname\nHans\tMüller\nIda\tMüller\n",
        "Student\nHans Müller\nIda Müller\n",
        "Hans Müller\nIda Müller\n",
        "Hans,Müller\nIda,Müller\n",
        "nr;Prénom;Nom;e-mail\n1;Hans;Müller;h@invented.example\n2;Ida;Müller;i@invented.example\n",
        "name,group\nHans Müller,2b\nIda Müller,2b\n",
        "Hans Müller,2b\nIda Müller,2b\n",
    ],
)
def test_names_are_read_from_any_spreadsheet(code, text):
    assert name_rows(text.encode(code)) == ["Hans Müller", "Ida Müller"]


def test_names_that_begin_oddly_stay_names(tmp_path):
    (tmp_path / "class.csv").write_text(
        'name\n#Five of Invented\n# six\n=Seven()\n"Eight, of Invented"\n"Ni\u0308ne"\n', encoding="utf-8"
    )
    found = read_class(tmp_path / "class.csv")
    assert found == ("#Five of Invented", "# six", "=Seven()", "Eight, of Invented", "Nïne")


def test_a_name_has_one_word_however_its_accents_are_stored():
    assert list(class_set(["Mu\u0308ller"], 1).values()) == list(class_set(["Müller"], 1).values())


def test_words_say_whose_folder_is_whose_and_a_late_joiner_gets_one(tmp_path, capsys):
    listed = tmp_path / "class.csv"
    listed.write_text("\n".join(CLASS[:2]))
    assert main(["class", "set", str(listed), "1", str(tmp_path / "students"), "--lessons", "03"]) == 0
    mine = tmp_path / "students" / ONE / next(LESSONS.glob("03_*")).name
    mine.write_text("work of a student")
    listed.write_text("\n".join(CLASS))
    assert main(["class", "set", str(listed), "1", str(tmp_path / "students"), "--lessons", "03"]) == 2
    assert "may hold a student's work" in capsys.readouterr().err
    assert main(["class", "set", str(listed), "1", str(tmp_path / "students"), "--lessons", "03", "--add"]) == 0
    assert mine.read_text() == "work of a student"
    assert sorted(p.name for p in (tmp_path / "students").iterdir()) == sorted(WORDS.values())
    with open(tmp_path / "words.csv", encoding="utf-8-sig", newline="") as file:
        assert {r["name"]: r["word"] for r in csv.DictReader(file)} == WORDS


def test_a_set_without_lessons_is_refused(tmp_path):
    with pytest.raises(
        ValueError, match="it must hold the notebooks of the course. Run this in a copy of the repository"
    ):
        hand_out(tmp_path / "students", CLASS, 1, tmp_path)
    assert not (tmp_path / "students").exists()


def test_names_keys_and_marks_stay_out_of_what_a_server_shows(tmp_path, monkeypatch, capsys):
    for name in ("key.csv", "lessons/key.csv", "../" + COURSE.name + "/key.csv"):
        with pytest.raises(ValueError, match="which the course's server shows"):
            keep_private(COURSE / name)
    assert keep_private(COURSE / "key.csv", force=True) and keep_private(COURSE.parent / "class" / "key.csv")
    monkeypatch.setenv("JUPYTER_SERVER_ROOT", str(tmp_path))
    (tmp_path / "class.csv").write_text("\n".join(CLASS))
    inbox = tmp_path / "inbox"
    hand_in(inbox / "a.ipynb", ONE, right(ONE))
    listed, looked = str(tmp_path / "class.csv"), 0
    for act in ("set", "key", "mark", "summary", "feedback", "points"):
        places = [listed] if act in ("set", "key") else [str(inbox), listed]
        assert main(["class", act, *places, "1", str(tmp_path / "out" / act), "--lessons", "03"]) == 2
        assert "which the course's server shows to whoever is on it; it must be outside" in capsys.readouterr().err
        looked += 1
    assert looked == 6 and not (tmp_path / "out").exists()


def test_what_holds_names_is_ignored_by_git():
    ignored = set(Path(COURSE, ".gitignore").read_text().split())
    assert {
        "class.csv",
        "key.csv",
        "marks.csv",
        "words.csv",
        "points.csv",
        "students/",
        "handed_in/",
        "feedback/",
        "my_answers*.json",
        "summary*.csv",
        "summary.html",
        "/wall/",
        "/pages/",
        "/cards/",
        "/browser/",
    } <= ignored
