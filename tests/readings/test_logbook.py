"""The logbook keeps readings of every kind with every wording they had, and opens what an older course saved."""

import json
from contextlib import nullcontext

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulate.readings.findings import findings
from simulate.readings.logbook.entry import edited, gone_back, history
from simulate.readings.logbook.file_format import _stamp, _text
from simulate.readings.logbook.logbook import (
    FORMAT,
    VERSION,
    Entry,
    LogbookError,
    open_logbook,
    rescue_logbook,
    save_logbook,
)
from simulate.readings.logbook.merge import merge
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import read_readings

FIRST = (
    Entry(
        "lower,upper,position_mm,gap_um\nA,B,0,1\n",
        "a.csv",
        "cold shop, \u00b5m \u2603",
        reading_sd_um=2.0,
        taken="Monday",
    ),
)
WORDS = st.text(max_size=20)
ENTRIES = st.lists(
    st.builds(
        Entry,
        WORDS,
        WORDS,
        WORDS,
        WORDS,
        st.none() | st.floats(1e-6, 1e5),
        WORDS,
        st.none() | st.floats(1e-6, 1e5),
        st.booleans(),
    ),
    max_size=4,
)


def test_what_is_saved_is_what_opens(tmp_path):
    path = tmp_path / "mine.json"
    save_logbook(path, FIRST)
    assert open_logbook(path) == FIRST
    more = [*FIRST, Entry("")]
    assert save_logbook(str(path), more).entries == tuple(more)
    assert open_logbook(str(path)) == (*FIRST, Entry(""))
    assert {p.name for p in tmp_path.iterdir()} == {"mine.json", ".mine.json.lock"}


@given(ENTRIES)
def test_any_words_come_back_unchanged_with_their_history(tmp_path_factory, entries):
    path = tmp_path_factory.mktemp("any") / "any.json"
    entries = [edited(entry, note="another") for entry in entries]
    save_logbook(path, entries)
    found = open_logbook(path)
    assert found == tuple(entries)
    assert [history(a) for a in found] == [history(b) for b in entries]
    assert [a.identity for a in found] == [b.identity for b in entries]


def test_readings_of_every_kind_keep_their_text_to_the_letter(tmp_path):
    texts = [
        "round,lower,upper,turned,position_in,gap_thou\r\n1,A,B,no,0,0.5\r\n",
        "lower,upper,x_mm,y_mm,gap_um\n",
        "lower,upper,height_mm,gap_at_most_um\n",
        "line,station,x_mm,y_mm,reading_arcsec\n",
        "gauge,left_mm,middle_mm,right_mm,proud_um\n",
        "# a comment\n",
    ]
    save_logbook(tmp_path / "mine.json", [Entry(text) for text in texts])
    assert [entry.readings for entry in open_logbook(tmp_path / "mine.json")] == texts


# -- an edit never overwrites ------------------------------------------------------------------------------------------


def test_an_edit_keeps_what_was_said_before_and_when(tmp_path):
    entry = Entry("A,1", note="first", written="2026-01-01T08:00:00.000000+00:00")
    entry = edited(entry, "2026-01-02T08:00:00.000000+00:00", note="second", readings="A,2")
    entry = edited(entry, "2026-01-03T08:00:00.000000+00:00", struck=True)
    save_logbook(tmp_path / "mine.json", [entry])
    [found] = open_logbook(tmp_path / "mine.json")
    assert [(w.note, w.readings, w.struck, w.written[:10]) for w in history(found)] == [
        ("first", "A,1", False, "2026-01-01"),
        ("second", "A,2", False, "2026-01-02"),
        ("second", "A,2", True, "2026-01-03"),
    ]
    back = gone_back(found, 0)
    assert (back.note, back.readings, back.struck) == ("first", "A,1", False)
    assert history(back)[:3] == history(found) and len(history(back)) == 4
    assert back.identity == found.identity == entry.identity


def test_an_edit_that_changes_nothing_is_none():
    entry = Entry("A", note="same")
    assert edited(entry, note="same") is entry
    with pytest.raises(ValueError, match="identity"):
        edited(entry, identity="another")
    with pytest.raises(ValueError, match="place"):
        gone_back(entry, 1)


@given(st.lists(st.sampled_from("abc"), max_size=8))
def test_no_wording_is_ever_lost(notes):
    entry = Entry("", note="start")
    said = ["start"]
    for note in notes:
        entry = edited(entry, note=note)
        said += [note] if note != said[-1] else []
    assert [w.note for w in history(entry)] == said


# -- two notebooks -----------------------------------------------------------------------------------------------------


def test_the_second_notebook_to_save_keeps_what_the_first_one_saved(tmp_path):
    path = tmp_path / "mine.json"
    save_logbook(path, FIRST)
    here, there = open_logbook(path), open_logbook(path)
    save_logbook(path, [*here, Entry("of the first")])
    merged = save_logbook(path, [*there, Entry("of the second")])
    assert [e.readings for e in open_logbook(path)] == [FIRST[0].readings, "of the first", "of the second"]
    assert merged.entries == open_logbook(path)
    assert merged.sentence == "Another notebook had saved 1 set or edit in the meantime; it was kept, beside yours."


def test_a_notebook_that_never_opened_the_logbook_does_not_wipe_it(tmp_path):
    path = tmp_path / "mine.json"
    save_logbook(path, FIRST)
    save_logbook(path, [])
    assert open_logbook(path) == FIRST
    save_logbook(path, [Entry("new")])
    assert open_logbook(path) == (*FIRST, Entry("new"))


def test_one_entry_edited_in_both_holds_both_wordings_and_says_so(tmp_path):
    path = tmp_path / "mine.json"
    save_logbook(path, FIRST)
    [entry] = open_logbook(path)
    save_logbook(path, [edited(entry, note="theirs")])
    merged = save_logbook(path, [edited(entry, note="ours")])
    [found] = open_logbook(path)
    assert [w.note for w in history(found)] == [FIRST[0].note, "theirs", "ours"]
    assert merged.both == (0,) and "Entry 1 was edited in both" in merged.sentence
    again = save_logbook(path, [edited(entry, note="theirs, once more")])
    assert again.entries[0].note == "theirs, once more" and len(history(again.entries[0])) == 4


@settings(max_examples=100)
@given(st.lists(st.tuples(st.integers(0, 1), st.sampled_from(["add", "edit", "save"])), max_size=20))
def test_whatever_two_notebooks_do_in_whatever_order_everything_said_stays(acts):
    """The file is a list in memory here; merge is what the disk does."""
    disk, books, said, count = (), [[], []], set(), 0
    for who, act in acts:
        count += 1
        if act == "add":
            books[who].append(Entry(f"set {count}"))
        elif act == "edit" and books[who]:
            books[who][-1] = edited(books[who][-1], note=f"note {count}")
        elif act == "save":
            disk = merge(disk, books[who]).entries
            books[who] = list(disk)
            said |= {(w.readings, w.note) for e in disk for w in history(e)}
    for book in books:
        disk = merge(disk, book).entries
        said |= {(w.readings, w.note) for e in book for w in history(e)}
    stands = [(w.readings, w.note) for e in disk for w in history(e)]
    assert set(stands) == said and len(stands) == len(set(stands)), "nothing lost, nothing twice"
    assert merge(disk, disk).entries == disk and not merge(disk, disk).sentence


# -- older and newer versions ------------------------------------------------------------------------------------------


def old_logbook() -> bytes:
    """A logbook as version 1 wrote it, letter for letter."""
    entries = [
        {
            "readings": "lower,upper,position_mm,gap_um\nA,B,0,1\n",
            "name": "a.csv",
            "note": "cold shop \u00b5",
            "units": "heights in um, positions in mm",
            "reading_sd_um": 2.0,
            "taken": "Monday",
        },
        {"readings": "x", "name": "", "note": "", "units": "", "reading_sd_um": None, "taken": ""},
    ]
    return json.dumps({"format": FORMAT, "version": 1, "entries": entries}, indent=1).encode("ascii")


def test_a_logbook_of_version_1_opens_and_is_upgraded_without_loss(tmp_path):
    path = tmp_path / "mine.json"
    path.write_bytes(old_logbook())
    old = open_logbook(path)
    assert old[0] == Entry(
        "lower,upper,position_mm,gap_um\nA,B,0,1\n", "a.csv", "cold shop \u00b5", reading_sd_um=2.0, taken="Monday"
    )
    assert old[1] == Entry("x", "", "", "")
    assert path.read_bytes() == old_logbook(), "opening alone changes nothing"
    save_logbook(path, [*old, Entry("new")])
    assert json.loads(path.read_text())["version"] == 2 < VERSION == 5
    assert open_logbook(path) == (*old, Entry("new"))


def test_two_notebooks_that_both_opened_version_1_do_not_double_it(tmp_path):
    path = tmp_path / "mine.json"
    path.write_bytes(old_logbook())
    here, there = open_logbook(path), open_logbook(path)
    save_logbook(path, [edited(here[0], note="here"), here[1]])
    save_logbook(path, [*there, Entry("there")])
    assert [(e.readings[:5], e.note) for e in open_logbook(path)] == [("lower", "here"), ("x", ""), ("there", "")]


def book(version=2, **changes):
    entry = {"readings": "", "name": "", "note": "", "units": "", "reading_sd_um": None, "taken": ""}
    return json.dumps({"format": FORMAT, "version": version, "entries": [entry], **changes}).encode()


def old_entry(**changes):
    return book(1, entries=[{**json.loads(book())["entries"][0], **changes}])


DAMAGED = {
    "empty": (b"", "is damaged: it breaks off or is unreadable at line 1"),
    "cut short": (book()[:-9], "is damaged: it breaks off or is unreadable at line 1"),
    "not text": (b"\xff\xfe\x00", "is damaged: it breaks off or is unreadable at its text"),
    "nested without end": (b"[" * 200_000, "is damaged: it breaks off or is unreadable at its text"),
    "another file": (b'{"cells": []}', "is not a logbook"),
    "a list": (b"[]", "is not a logbook"),
    "newer": (
        book(VERSION + 1),
        f"has version {VERSION + 1}; it must be of version {VERSION} or lower. Update the course to open it",
    ),
    "no version": (book(None), "its version is 'None'"),
    "true for a version": (book(True), "its version is 'True'"),
    "no entries": (book(entries=3), "no list of entries"),
    "entry of words": (book(1, entries=["a"]), "entry 1 is damaged: it holds str"),
    "entry without readings": (
        book(1, entries=[{"note": ""}]),
        "entry 1 is damaged: it holds note; it must be an entry of name, note, reading_sd_um",
    ),
    "number for words": (old_entry(note=3), "entry 1, note is 3; it must be text"),
    "words for a number": (old_entry(reading_sd_um="2"), "reading_sd_um is 2; it must be a number above 0"),
    "unstamped": (book(2), "entry 1 is damaged: it holds name"),
    "wrong stamp": (book(2, entries=[{"stamp": "0", "entry": {}}]), "entry 1 is damaged: its stamp does not fit"),
    "stamp of nothing": (book(2, entries=[], stamp="0"), "its stamp does not fit its entries"),
}


@pytest.mark.parametrize("case", DAMAGED)
def test_a_damaged_logbook_is_refused_in_one_sentence_and_never_written_over(tmp_path, case):
    data, words = DAMAGED[case]
    path = tmp_path / "mine.json"
    path.write_bytes(data)
    with pytest.raises(LogbookError) as refusal:
        open_logbook(path)
    said = str(refusal.value)
    assert said.startswith("mine.json") and words in said and "\n" not in said and said.endswith(".")
    with pytest.raises(LogbookError, match="mine.json was not saved, and the file there is unchanged: .*another name"):
        save_logbook(path, FIRST)
    assert path.read_bytes() == data


def test_what_is_no_entry_is_refused_before_the_file_is_touched(tmp_path):
    with pytest.raises(LogbookError, match=r"mine\.json, entry 1 is a str; it must be an Entry\."):
        save_logbook(tmp_path / "mine.json", ["words"])
    for change, words in (
        (
            {"reading_sd_um": float("nan")},
            r"mine\.json, entry 1, reading_sd_um is nan; it must be a number above 0, or none\.",
        ),
        ({"struck": 1}, "struck is 1; it must be true or false"),
        ({"note": 3}, "note is 3; it must be text"),
    ):
        with pytest.raises(LogbookError, match=words):
            save_logbook(tmp_path / "mine.json", [Entry("", **change)])
    assert list(tmp_path.iterdir()) == []


def test_a_logbook_that_is_not_there_is_refused(tmp_path):
    for act in (open_logbook, rescue_logbook):
        with pytest.raises(LogbookError, match="mine.json cannot be opened .no such file"):
            act(tmp_path / "mine.json")


@pytest.mark.parametrize(
    ("said", "version"), [({}, 2), ({"feel_um": 0.0}, 4), ({"place_mm": 2, "resolution_um": 0.5}, 4)]
)
def test_what_was_stated_of_blades_stands_in_the_file_and_nothing_where_nothing_was(tmp_path, said, version):
    path = tmp_path / "mine.json"
    save_logbook(path, [Entry("a"), Entry("b", **said)])
    book = json.loads(path.read_text())
    assert book["version"] == version and open_logbook(path) == (Entry("a"), Entry("b", **said))
    assert set(said) == set(book["entries"][1]["entry"]["wordings"][0]) & {"feel_um", "place_mm", "resolution_um"}


@pytest.mark.parametrize("wrong", [-1.0, "two", None, 1e7])
def test_a_stated_figure_that_is_none_is_named_with_its_place(tmp_path, wrong):
    path = tmp_path / "mine.json"
    with pytest.raises(LogbookError, match="entry 1, feel_um") if wrong is not None else nullcontext():
        save_logbook(path, [Entry("a", feel_um=wrong)])


def test_a_step_is_above_0_everywhere_and_an_old_logbook_with_0_opens_without_one(tmp_path):
    path = tmp_path / "mine.json"
    with pytest.raises(LogbookError, match=r"entry 1, resolution_um is 0; it must be a number above 0, or none\."):
        save_logbook(path, [Entry("a", resolution_um=0)])
    for kind in ("bars", "squares", "plates", "lands"):
        with pytest.raises(ValueError, match="resolution_um is 0"):
            findings(read_readings(demo_path(f"demo_{kind}.csv")), resolution_um=0)
    save_logbook(path, [Entry("a", resolution_um=5.0)])
    book = json.loads(path.read_text())
    plain = book["entries"][0]["entry"]
    plain["wordings"][0]["resolution_um"] = 0
    book["entries"][0]["stamp"] = stamp = _stamp(_text(plain))
    path.write_text(json.dumps(book | {"stamp": _stamp(stamp)}))
    assert open_logbook(path) == (Entry("a"),)
