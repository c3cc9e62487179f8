"""What a student answers is kept: in a file beside the notebook and in the notebook, whoever is killed and however many
windows there are."""

import json
import os
import signal
import subprocess
import sys
import threading
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import nbformat
import pytest
from hypothesis import given as cases
from hypothesis import strategies as st
from nbclient import NotebookClient

from simulate import __version__
from simulate.core.atomic_files import LogbookError
from simulate.course.classroom.class_list import class_set
from simulate.course.classroom.classroom import hand_out
from simulate.course.exercise.answer_record import MOST_TRIES, Answer, Try, merged_all, seal, sealed
from simulate.course.exercise.answer_text import read_record
from simulate.course.exercise.answers_file import ANSWERS_FILE, open_answers, read_written, save_answers, written
from simulate.course.exercise.exercise import Exercise, names
from simulate.course.exercise.hand_in import ANSWERS, HandIn, hand_in, read_given
from simulate.course.exercise.pre_question import Before
from simulate.course.notebook.refresh import LESSONS

WORD = "a word of this test"
NOON = datetime(2026, 1, 31, 12, tzinfo=UTC)


@pytest.fixture
def file(tmp_path, monkeypatch):
    """Where this session's exercises keep their answers."""
    monkeypatch.setattr(ANSWERS, "path", tmp_path / ANSWERS_FILE)
    return tmp_path / ANSWERS_FILE


def new_session(monkeypatch):
    """What a restart leaves of a kernel: nothing."""
    monkeypatch.setattr(ANSWERS, "_records", ())


def test_a_new_session_finds_every_answer_and_its_feedback(file, monkeypatch):
    typed = {}
    for name in names("03"):
        panel = Exercise(name, WORD)
        panel.field.value = (
            panel.question.wrong[0].given if panel.question.options else f"{panel.question.wrong[0].given:g}"
        )
        panel.button.click()
        typed[name] = panel.field.value, panel.feedback.value
    before = Before("03", WORD)
    before.field.value = "7"
    new_session(monkeypatch)
    for name, (value, told) in typed.items():
        again = Exercise(name, WORD)
        assert (again.field.value, again.feedback.value) == (value, told) and "Not yet (" in told
    assert Before("03", WORD).field.value == "7" and "Saved, not marked." in Before("03", WORD).feedback.value
    assert Exercise("two-double", "somebody else").field.value == ""
    assert len(typed) == 5 and len(open_answers(file)) == 6


def test_each_try_holds_its_time_its_verdict_and_the_version_of_the_course():
    ticks = iter(NOON + timedelta(minutes=k) for k in range(9))
    hand = HandIn(clock=lambda: next(ticks), course="7.8")
    panel = Exercise("two-double", WORD)
    for given in (panel.question.wrong[0].given, panel.question.answer):
        hand.keep("two-double", WORD, given, panel._judged(given))
    (kept,) = read_given(repr(hand))
    assert [(t.kind, t.misconception, t.at, t.course) for t in kept.tries] == [
        ("wrong", panel.question.wrong[0].misconception, "2026-01-31T12:00:00.000000Z", "7.8"),
        ("right", "", "2026-01-31T12:01:00.000000Z", "7.8"),
    ]
    assert __version__[0].isdigit()


def test_the_first_answer_is_the_first_that_was_taken_and_right_once_is_shown_again(file, monkeypatch):
    panel = Exercise("two-double", WORD)
    right = f"{panel.question.answer:g}"
    for typed in ("12 qm", "plenty", right, "5"):
        panel.field.value = typed
    (kept,) = open_answers(file)
    assert [(t.given, t.kind) for t in kept.tries] == [(right, "right"), ("5", "wrong")]
    new_session(monkeypatch)
    again = Exercise("two-double", WORD)
    assert again.field.value == right and "Right." in again.feedback.value
    early = Before("03", WORD)
    for typed in (f"{early.question.answer:g}", "5"):
        early.field.value = typed
    assert Before("03", WORD).field.value == "5", "which one is right must not show before the lesson"


def test_tries_stay_in_order_when_the_clock_of_the_machine_goes_back():
    ticks = iter([NOON, NOON - timedelta(days=400), NOON])
    hand = HandIn(clock=lambda: next(ticks))
    for text in "abc":
        hand.keep("two-gap", WORD, text)
    (kept,) = read_given(repr(hand))
    assert [t.given for t in kept.tries] == ["a", "b", "c"]
    assert [t.at for t in kept.tries] == sorted({t.at for t in kept.tries})


def test_two_windows_lose_nothing_of_each_other(tmp_path):
    path = tmp_path / ANSWERS_FILE
    one, other = HandIn(path), HandIn(path)
    one.keep("two-gap", WORD, "1")
    other.keep("two-double", WORD, "2")
    one.keep("two-gap", WORD, "3")
    other.keep("two-gap", WORD, "4")
    assert {(r.exercise, tuple(t.given for t in r.tries)) for r in open_answers(path)} == {
        ("two-gap", ("1", "3", "4")),
        ("two-double", ("2",)),
    }


def test_a_save_never_takes_out_what_another_window_has_put_in_since(tmp_path):
    one, other = (sealed(Answer(exercise=e, student="w", tries=(Try(given="1"),))) for e in ("two-gap", "two-double"))
    save_answers(tmp_path / ANSWERS_FILE, [one])
    assert save_answers(tmp_path / ANSWERS_FILE, [other]) == open_answers(tmp_path / ANSWERS_FILE) == (one, other)


ANSWERING = """
import sys
from pathlib import Path
from simulate.course.exercise.hand_in import HandIn
hand, who = HandIn(Path("my_answers.json")), sys.argv[1]
for k in range(int(sys.argv[2])):
    hand.keep(f"two-{who}" if k % 2 else "two-gap", "w", f"{who} {k}")
    print(k, flush=True)
"""


def test_two_processes_that_answer_at_once_lose_nothing(tmp_path):
    runs = [
        subprocess.Popen([sys.executable, "-c", ANSWERING, who, "12"], cwd=tmp_path, stdout=subprocess.DEVNULL)
        for who in "ab"
    ]
    assert [run.wait(120) for run in runs] == [0, 0]
    held = {t.given for r in open_answers(tmp_path / ANSWERS_FILE) for t in r.tries}
    assert held == {f"{who} {k}" for who in "ab" for k in range(12)}


PLAY = """
from simulate.course.exercise.exercise import Exercise, names
panels = [Exercise(n, "w") for n in names("03") if not Exercise(n, "w").question.options]
marks = open({marks!r}, "a")
for number in range({start}, {start} + 10_000):
    panels[number % len(panels)].field.value = str(number)
    marks.write(f"{{number}}\\n")
    marks.flush()
"""


def kill_while_answering(manager, folder, start):
    """Start a kernel, let it answer, kill it; the numbers that it had answered before it died."""
    marks = folder / f"marks_{start}.txt"
    manager.start_kernel(cwd=str(folder), env={**os.environ, "IPYTHONDIR": str(folder / "ipython")})
    client = manager.client()
    try:
        client.start_channels()
        client.wait_for_ready(timeout=120)
        client.execute(PLAY.format(marks=str(marks), start=start))
        end = time.monotonic() + 120
        while time.monotonic() < end and (not marks.exists() or marks.read_text().count("\n") < 3):
            time.sleep(0.01)
        os.kill(manager.provisioner.process.pid, signal.SIGKILL)
        manager.provisioner.process.wait(20)
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)
    return [int(line) for line in marks.read_text().split("\n")[:-1]]


@pytest.mark.parametrize("kills", [2, pytest.param(100, marks=pytest.mark.long)])
def test_kernels_killed_while_answering_lose_no_answer(tmp_path, kills):
    jupyter_client = pytest.importorskip("jupyter_client")
    answered = 0
    for kill in range(kills):
        done = kill_while_answering(jupyter_client.KernelManager(), tmp_path, 100_000 * (kill + 1))
        held = {int(t.given): r for r in open_answers(tmp_path / ANSWERS_FILE) for t in r.tries}
        assert len(done) >= 3 and set(done[-MOST_TRIES // 2 :]) <= set(held), "all that was answered is in the file"
        assert all(r.untouched for r in held.values())
        answered += len(done)
    assert answered >= 3 * kills


def run_all(path, *more):
    """Run a notebook in its own folder as Run All does, with further cells behind it, and save it."""
    made = nbformat.read(path, as_version=4)
    own = len(made.cells)
    made.cells += [nbformat.v4.new_code_cell(source) for source in more]
    NotebookClient(
        made, timeout=180, kernel_name="python3", resources={"metadata": {"path": str(path.parent)}}
    ).execute()
    said = ["".join(o.get("text", "") for o in c.outputs) for c in made.cells[own:]]
    del made.cells[own:]
    nbformat.write(made, path)
    return made, said


@pytest.fixture
def handed_out(tmp_path):
    lessons = tmp_path / "lessons"
    lessons.mkdir()
    lesson = next(LESSONS.glob("03_*.ipynb"))
    (lessons / lesson.name).write_bytes(lesson.read_bytes())
    (path,) = hand_out(tmp_path / "students", ["A. Student"], 1, lessons)
    return path


def test_run_all_on_another_day_and_on_another_machine_brings_everything_back(handed_out, tmp_path):
    word = class_set(["A. Student"], 1)["A. Student"]
    monday = (
        "e = Exercise('two-double', student); e.field.value = '3'; e.field.value = '5'\n"
        "b = Before('03', student); b.field.value = '7'"
    )
    run_all(handed_out, monday)
    asked = "print([Exercise('two-double', student).field.value, Before('03', student).field.value])"
    tuesday, said = run_all(handed_out, "e = Exercise('two-gap', student); e.field.value = '2'", asked)
    assert said[1].strip() == "['5', '7']"
    lists = [
        o.data["text/plain"]
        for c in tuesday.cells
        for o in c.get("outputs", ())
        if "answer {" in o.get("data", {}).get("text/plain", "")
    ]
    assert {(g.exercise, g.first, g.last) for g in read_given(lists[0])} == {
        ("two-double", "3", "5"),
        ("before-03", "7", "7"),
        ("two-gap", "2", "2"),
    }
    away = tmp_path / "away" / handed_out.name  # the notebook alone goes to another machine
    away.parent.mkdir()
    away.write_bytes(handed_out.read_bytes())
    _, said = run_all(away, asked)
    assert said[0].strip() == "['5', '7']"
    assert {r.student for r in open_answers(away.with_name(ANSWERS_FILE.name))} == {word}


def test_a_notebook_of_the_older_format_gives_its_answers_to_the_file(tmp_path, monkeypatch, file):
    monkeypatch.chdir(tmp_path)
    line = {"exercise": "two-double", "student": WORD, "first": "3", "last": "5", "tries": 4}
    record = read_record(line)
    text = "answer " + json.dumps(line | {"seal": seal(record)}, ensure_ascii=False)
    made = nbformat.v4.new_notebook(
        cells=[
            nbformat.v4.new_code_cell(
                "hand_in()", outputs=[nbformat.v4.new_output("display_data", {"text/plain": text})]
            )
        ]
    )
    nbformat.write(made, tmp_path / "old.ipynb")
    hand_in()
    assert open_answers(file) == (replace(record, seal=seal(record)),) and record.count == 4
    panel = Exercise("two-double", WORD)
    assert panel.field.value == "5"
    panel.field.value = "6"
    (kept,) = open_answers(file)
    assert kept.untouched and [t.given for t in kept.tries] == ["3", "5", "6"] and kept.count == 5


def test_a_folder_that_cannot_be_written_to_is_said_in_one_line_and_the_answer_lives_on(tmp_path, monkeypatch):
    monkeypatch.setattr(ANSWERS, "path", tmp_path / "missing" / ANSWERS_FILE)
    panel = Exercise("two-double", WORD)
    panel.field.value = f"{panel.question.answer:g}"
    assert (
        "Right." in panel.feedback.value
        and "kept only as long as this lesson runs: my_answers.json was not saved" in panel.feedback.value
    )
    assert [r.last for r in read_given(repr(ANSWERS))] == [panel.field.value]
    (tmp_path / "missing").mkdir()
    panel.field.value = "5"
    assert "was not saved" not in panel.feedback.value
    assert [t.given for t in open_answers(ANSWERS.path)[0].tries] == [f"{panel.question.answer:g}", "5"]


def test_a_damaged_file_is_set_aside_and_what_is_whole_in_it_goes_on(tmp_path):
    path = tmp_path / ANSWERS_FILE
    hand = HandIn(path)
    for k in range(4):
        hand.keep(f"two-{k}", WORD, k)
    data = path.read_bytes()
    path.write_bytes(data[: len(data) * 3 // 4])
    HandIn(path).keep("two-gap", WORD, "9")
    assert [r.exercise for r in open_answers(path)] == ["two-0", "two-1", "two-gap"]
    assert (tmp_path / "my_answers_damaged_1.json").read_bytes() == data[: len(data) * 3 // 4]


def test_a_file_of_a_newer_course_is_left_alone(tmp_path):
    path = tmp_path / ANSWERS_FILE
    data = written([]).replace(b'"version": 2', b'"version": 3')
    path.write_bytes(data)
    hand = HandIn(path)
    hand.keep("two-gap", WORD, "9")
    assert "version 3" in hand.trouble and path.read_bytes() == data and read_given(repr(hand))[0].last == "9"
    with pytest.raises(LogbookError, match="Move it to another folder, or update the course"):
        save_answers(path, [])


def test_what_was_changed_by_hand_is_never_sealed_anew(tmp_path):
    path = tmp_path / ANSWERS_FILE
    HandIn(path).keep("two-gap", WORD, "9")
    path.write_text(path.read_text().replace('"given": "9"', '"given": "8"'))
    hand = HandIn(path)
    hand.keep("two-gap", WORD, "7")
    assert sorted((r.last, r.untouched) for r in open_answers(path)) == [("7", True), ("8", False)]


tries = st.lists(st.tuples(st.text(max_size=5), st.integers(0, 30)), min_size=1, max_size=6)


def record(of, number):
    return sealed(
        Answer(
            exercise=f"e{number}",
            student="w",
            tries=tuple(
                Try(given=text, at=f"2026-01-01T00:00:{second:02d}.000000Z")
                for text, second in sorted(of, key=lambda t: t[1])
            ),
        )
    )


@cases(st.lists(st.tuples(tries, st.integers(0, 2)), max_size=6), st.randoms())
def test_however_records_are_merged_no_try_is_lost_and_nothing_is_added(parts, chance):
    records = [record(of, number) for of, number in parts]
    together = merged_all(records)
    assert all(r.untouched for r in together) and merged_all((*together, *records)) == together
    want = {(r.exercise, t.given, t.at) for r in records for t in r.tries}
    assert {(r.exercise, t.given, t.at) for r in together for t in r.tries} == want
    shuffled = chance.sample(records, len(records))
    assert {(r.exercise, t.given, t.at) for r in merged_all(shuffled) for t in r.tries} == want
    assert read_written(written(together)) == (together, True)


def test_a_student_who_never_stops_pressing_fills_no_disk():
    hand = HandIn()
    for k in range(MOST_TRIES + 30):
        hand.keep("two-gap", WORD, k)
    (kept,) = read_given(repr(hand))
    assert (len(kept.tries), kept.count, kept.first, kept.last) == (
        MOST_TRIES,
        MOST_TRIES + 30,
        "0",
        str(MOST_TRIES + 29),
    )


def test_threads_of_one_session_lose_nothing_of_each_other(tmp_path):
    hand = HandIn(tmp_path / ANSWERS_FILE)
    threads = [threading.Thread(target=hand.keep, args=(f"two-{k}", WORD, k)) for k in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert len(open_answers(tmp_path / ANSWERS_FILE)) == 6


def test_an_answer_that_could_not_be_saved_is_saved_when_it_is_checked_again(tmp_path, monkeypatch):
    path = tmp_path / "my_answers.json"
    hand = HandIn(path)
    with monkeypatch.context() as full:
        full.setattr("simulate.core.atomic_files._write_through", _no_room)
        hand.keep("two-gap", WORD, "12")
    assert "not saved" in hand.trouble and not path.exists()
    hand.keep("two-gap", WORD, "12")
    assert hand.trouble == "" and HandIn(path).restored("two-gap", WORD).last == "12"


def _no_room(*_):
    raise OSError(28, "No space left on device")
