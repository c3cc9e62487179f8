"""Whose a handed-in notebook is, what it is called, and what it keeps itself of the answers."""

import itertools
import json
from datetime import timedelta

import nbformat
import pytest

from simulate.course.classroom.class_list import class_set, set_sign
from simulate.course.classroom.grading import mark_class
from simulate.course.classroom.hand_out import hand_out
from simulate.course.exercise import hand_in as page
from simulate.course.exercise import notebook_keeper
from simulate.course.exercise.answers_file import written
from simulate.course.exercise.exercise import question
from simulate.course.exercise.hand_in import HandIn, now_utc
from simulate.course.exercise.notebook_text import KEPT, SET, stored_lists

CLASS, SEED = ["Invented One", "Invented Two"], "a seed"
ONE, TWO = class_set(CLASS, SEED).values()
ASKS = "two-double"
RIGHT = {word: f"{question(ASKS, word).answer:g}" for word in (ONE, TWO)}
WRONG = [question(ASKS, ONE).wrong[k].given for k in (0, 1)]


def records(word, *given, day=0):
    start = now_utc() + timedelta(days=day)
    ticks = (start + timedelta(minutes=k) for k in itertools.count())
    hand = HandIn(clock=lambda: next(ticks))
    for text in given:
        hand.keep(ASKS, word, text)
    return hand


@pytest.fixture
def handed_out(tmp_path):
    """The notebooks of lesson 03 of both students, by word."""
    made = hand_out(tmp_path / "students", CLASS, SEED, chosen=["03"])
    return {path.parent.name: nbformat.read(path, as_version=4) for path in made}


def answered(notebook, hand, kept=True, word=None):
    """A notebook with what was answered: kept by itself, or in the list that its first cell showed."""
    made = nbformat.reads(nbformat.writes(notebook), as_version=4)
    cell = next(c for c in made.cells if "hand_in()" in c.source)
    cell.execution_count = 1
    if word:
        cell.source = cell.source.replace(f'student = "{ONE}"', f'student = "{word}"').replace(f'"{TWO}"', f'"{word}"')
    if kept:
        made.metadata[KEPT] = repr(hand).splitlines()
    else:
        cell.outputs = [nbformat.v4.new_output("display_data", {"text/plain": repr(hand)})]
    return made


def put(place, name, made):
    place.mkdir(exist_ok=True)
    (place / name).write_text(nbformat.writes(made), encoding="utf-8")


def row(place, **more):
    return next(r for r in mark_class(place, CLASS, SEED, ["03"], **more).rows if (r.word, r.exercise) == (ONE, ASKS))


def test_what_a_notebook_keeps_itself_counts_beside_what_its_list_shows(handed_out, tmp_path):
    inbox, hand = tmp_path / "inbox", records(ONE, WRONG[0])
    made = answered(handed_out[ONE], hand, kept=False)
    put(inbox, "a.ipynb", made)
    hand.keep(ASKS, ONE, RIGHT[ONE])  # on a page that was loaded anew: the stored list stays as it was
    assert (row(inbox).right, row(inbox).note) == ("no", "")
    made.metadata[KEPT] = repr(hand).splitlines()
    put(inbox, "a.ipynb", made)
    assert (row(inbox).right, row(inbox).tries, row(inbox).note) == ("yes", 2, "")
    assert RIGHT[ONE] in "\n".join(stored_lists(inbox))


@pytest.mark.parametrize(
    "spoilt", [None, 3, "answer {", {"a": 1}, [None, 3, ["answer {"], 'answer {"tries": 1e999}'], ["\ud800"]]
)
def test_whatever_stands_in_its_place_harms_nobody(handed_out, tmp_path, spoilt):
    made = json.loads(nbformat.writes(answered(handed_out[ONE], records(ONE, RIGHT[ONE]), kept=False)))
    made["metadata"] |= {KEPT: spoilt, SET: spoilt}
    (tmp_path / "inbox").mkdir()
    (tmp_path / "inbox" / "a.ipynb").write_text(json.dumps(made))
    assert row(tmp_path / "inbox").right == "yes"


def by_answers_file(handed_out, inbox):
    (inbox / "z.json").write_bytes(written(records(ONE, *WRONG, day=9)._records))


def by_another_word(handed_out, inbox):
    put(inbox, "z.ipynb", answered(handed_out[TWO], records(ONE, *WRONG, day=9), word=ONE))


def by_a_notebook_of_the_course(handed_out, inbox):
    made = answered(handed_out[TWO], records(ONE, *WRONG, day=9), word=ONE)
    del made.metadata[SET]
    put(inbox, "z.ipynb", made)


def by_a_made_up_sign(handed_out, inbox):
    made = answered(handed_out[TWO], records(ONE, *WRONG, day=9), word=ONE)
    made.metadata[SET] = set_sign(ONE, "another seed")
    put(inbox, "z.ipynb", made)


@pytest.mark.parametrize("counts", ["best", "latest"])
@pytest.mark.parametrize("lower", [by_answers_file, by_another_word, by_a_notebook_of_the_course, by_a_made_up_sign])
def test_nobody_lowers_a_mark_by_anothers_word(handed_out, tmp_path, counts, lower):
    inbox = tmp_path / "inbox"
    put(inbox, "own.ipynb", answered(handed_out[ONE], records(ONE, RIGHT[ONE])))
    lower(handed_out, inbox)
    one = row(inbox, counts=counts)
    assert (one.right, one.right_at_first, one.tries, one.file) == ("yes", "yes", 1, "own.ipynb")
    assert f"handed in 2 times, in different versions: the {counts} counts, not z." in one.note


def test_a_word_that_was_typed_over_does_not_hide_to_whom_the_notebook_was_handed_out(handed_out, tmp_path):
    put(tmp_path / "inbox", "own.ipynb", answered(handed_out[ONE], records(ONE, RIGHT[ONE])))
    by_another_word(handed_out, tmp_path / "inbox")
    said = [m.told for m in mark_class(tmp_path / "inbox", CLASS, SEED, ["03"]).aside]
    assert said == ["z.ipynb holds answers of 'Invented One', but the notebook is that of 'Invented Two'"]


def test_the_latest_is_also_what_goes_on_from_the_students_own_notebook(handed_out, tmp_path):
    inbox, hand = tmp_path / "inbox", records(ONE, WRONG[0])
    put(inbox, "monday.ipynb", answered(handed_out[ONE], hand))
    hand.keep(ASKS, ONE, RIGHT[ONE])
    (inbox / "my_answers.json").write_bytes(written(hand._records))
    assert (row(inbox, counts="latest").right, row(inbox, counts="latest").file) == ("yes", "my_answers.json")


@pytest.mark.parametrize(
    "name",
    ["my_work.ipynb", "My_Notebook.ipynb", "my_logbook.ipynb", ".ipynb", ".ipynb.txt", "my_03.ipynb.json", "no ending"],
)
def test_a_notebook_is_read_whatever_it_is_called(handed_out, tmp_path, name):
    put(tmp_path / "inbox", name, answered(handed_out[ONE], records(ONE, RIGHT[ONE])))
    for left in ("my_units.txt", "my_logbook.json", "my_draft_bars.json", "._03.ipynb", ".DS_Store"):
        (tmp_path / "inbox" / left).write_text("left by a lesson or a system")
    found = mark_class(tmp_path / "inbox", CLASS, SEED, ["03"])
    assert (row(tmp_path / "inbox").right, found.aside) == ("yes", [])


def test_a_byte_that_is_no_text_spoils_its_own_word_and_no_answer(handed_out, tmp_path):
    put(tmp_path / "inbox", "a.ipynb", answered(handed_out[ONE], records(ONE, RIGHT[ONE])))
    path = tmp_path / "inbox" / "a.ipynb"
    data = path.read_bytes().replace(b"# 03 ", b"# 03 \xfc\xff ", 1)
    path.write_bytes(data)
    assert (row(tmp_path / "inbox").right, b"\xfc\xff" in data) == ("yes", True)


def test_the_page_shows_each_answer_and_every_window_keeps_it(monkeypatch):
    class Model:
        lines = None

    class Handle:
        shown = 0

        def update(self, hand):
            self.shown += 1

    handles, models = [], []
    monkeypatch.setattr(page, "display", lambda *_, **__: handles.append(Handle()) or handles[-1])
    monkeypatch.setattr(page, "notebook_keeper", lambda: models.append(Model()) or notebook_keeper._Keeper(models[-1]))
    hand = records(ONE, WRONG[0])
    hand.show()
    hand.show()  # the cell is run again
    (model,) = models
    assert model.lines == repr(hand).splitlines()
    hand.keep(ASKS, ONE, RIGHT[ONE])
    assert RIGHT[ONE] in model.lines[0] and model.lines == repr(hand).splitlines()
    assert [h.shown for h in handles] == [3, 2]
