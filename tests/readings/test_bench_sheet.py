"""A sheet that several hands fill at the bench: nothing of any hand is lost, and what was typed last counts."""

import json
from contextlib import nullcontext

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from simulate import read_readings
from simulate.core.refusal import Refusal
from simulate.readings.entry.cell_grid import entry_grid
from simulate.readings.entry.laying_out import laid_out
from simulate.readings.logbook.bench_sheet import (
    CELL,
    NOTE,
    begin_sheet,
    emptied,
    place_of,
    put_sheet_away,
    save_sheet,
    sheets,
    type_into,
)
from simulate.readings.logbook.entry import DependsOn, Entry, edited, history
from simulate.readings.logbook.logbook import open_logbook, save_logbook

EMPTY = laid_out("bars", "um", bodies="A, B, C", stations="0 to 100 every 50", pairs="")
WORDS = st.one_of(
    st.integers(0, 900).map(str),
    st.sampled_from(["", "dark", "<30", "50-100", "thin", '"', "# film: 3 um", "a,b;c", "not read: 1,2", "=1+1", "½"]),
)
ACTS = st.lists(
    st.tuples(st.sampled_from(["left", "right", "third"]), st.integers(0, 2), st.integers(0, 3), WORDS), max_size=12
)
FRESH = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def only(folder):
    (found,) = sheets(folder)
    return found


@FRESH
@given(acts=ACTS)
def test_the_last_hand_counts_and_every_other_word_is_kept_as_a_comment_that_changes_no_reading(tmp_path_factory, acts):
    folder = tmp_path_factory.mktemp("bench")
    begin_sheet(folder, EMPTY)
    last, each = {}, {}
    for hand, row, column, words in acts:
        type_into(only(folder), hand, {f"{row},{column}": (words, 0)})  # read from the disk each time, as after a kill
        last[row, column] = words
        each[hand, row, column] = words
    sheet = only(folder)
    grid = entry_grid(EMPTY)
    text = sheet.readings()
    assert {at: sheet.latest()[f"{at[0]},{at[1]}"].words for at in last} == last
    for (hand, row, column), words in each.items():
        assert sheet.hands[hand][f"{row},{column}"].words == words
        if words not in ("", last[row, column]):
            told = [line for line in text.splitlines() if line.startswith("# also typed, ")]
            assert any(line.endswith(f": {words}") for line in told)
    bare = "\n".join(line for line in text.splitlines() if not line.startswith("# also typed"))
    assert entry_grid(text).typed() == entry_grid(bare).typed()
    assert len(grid.down) == 3
    try:
        table = read_readings(bare.encode(), "one")
    except Refusal:
        return
    again = read_readings(text.encode(), "one")
    assert (again.kind, len(again), again.names) == (table.kind, len(table), table.names)


def test_what_differs_unseen_is_told_and_what_was_seen_was_meant(tmp_path):
    begin_sheet(tmp_path, EMPTY)
    type_into(only(tmp_path), "left", {"0,0": ("50", 0)})
    type_into(only(tmp_path), "right", {"0,0": ("52", 0)})
    assert only(tmp_path).otherwise() == {"0,0": ("50",)}
    type_into(only(tmp_path), "left", {"0,0": ("51", only(tmp_path).version())})  # having seen the 52
    assert only(tmp_path).otherwise() == {} and only(tmp_path).latest()["0,0"].words == "51"
    assert only(tmp_path).otherwise(unseen=False) == {"0,0": ("52",)}
    assert "# also typed, B on A at 0 mm: 52" in only(tmp_path).readings()


def test_a_clock_that_runs_back_does_not_make_an_older_word_count(tmp_path, monkeypatch):
    begin_sheet(tmp_path, EMPTY)
    for now, words in ((2_000, "1"), (1_000, "2"), (1_000, "3")):
        monkeypatch.setattr("simulate.readings.logbook.bench_sheet.time.time_ns", lambda now=now: now)
        type_into(only(tmp_path), words, {"1,1": (words, 0)})
    assert only(tmp_path).latest()["1,1"].words == "3"


def test_a_sheet_is_one_set_of_the_logbook_however_often_it_is_saved(tmp_path):
    book = tmp_path / "my_logbook.json"
    save_logbook(book, [Entry(EMPTY, "another")])
    begin_sheet(tmp_path, EMPTY, "three bars")
    type_into(only(tmp_path), "left", {"0,0": ("12", 0), NOTE: ("cold shop", 0)})
    assert save_sheet(only(tmp_path), book) == 2 == save_sheet(only(tmp_path), book)
    type_into(only(tmp_path), "right", {"0,1": ("13", 0)})
    assert save_sheet(only(tmp_path), book) == 2
    other, mine = open_logbook(book)
    assert (other.readings, other.name, history(other)) == (EMPTY, "another", (other,))
    assert (mine.name, mine.note, len(history(mine))) == ("three bars", "cold shop", 2)
    assert "A,B,no,0,12" in mine.readings and "A,C,no,0,13" in mine.readings


def test_a_note_that_was_cleared_at_the_bench_stays_cleared_and_one_that_nobody_touched_stays(tmp_path):
    path = tmp_path / "my_logbook.json"
    held = save_logbook(path, [Entry(EMPTY, "three bars", note="cold shop")]).entries[0]
    begin_sheet(tmp_path, EMPTY, own=held.identity)
    type_into(only(tmp_path), "one", {"0,0": ("12", 0)})
    save_sheet(only(tmp_path), path)
    assert open_logbook(path)[0].note == "cold shop"
    type_into(only(tmp_path), "one", {NOTE: ("", 0)})
    save_sheet(only(tmp_path), path)
    assert open_logbook(path)[0].note == "" and history(open_logbook(path)[0])[1].note == "cold shop"


def test_a_save_that_is_cut_off_between_logbook_and_draft_makes_no_second_set(tmp_path, monkeypatch):
    book = tmp_path / "my_logbook.json"
    begin_sheet(tmp_path, EMPTY)
    for k, killed in enumerate(("save_logbook", "write_draft", "save_logbook", "write_draft", "")):
        type_into(only(tmp_path), "left", {f"{k % 3},{k // 3}": (f"{k + 10}", 0)})
        with monkeypatch.context() as cut:
            if killed:
                cut.setattr(f"simulate.readings.logbook.bench_sheet.{killed}", lambda *words: 1 / 0)
            with pytest.raises(ZeroDivisionError) if killed else nullcontext():
                save_sheet(only(tmp_path), book)
        if k % 2:  # and now and then one goes through
            assert save_sheet(only(tmp_path), book) == 1
    (entry,) = open_logbook(book)
    assert [line.rpartition(",")[2] for line in entry.readings.splitlines()[1:6]] == ["10", "11", "12", "13", "14"]


def test_a_set_that_was_edited_elsewhere_since_is_left_as_it_is(tmp_path):
    book = tmp_path / "my_logbook.json"
    entry = Entry(EMPTY, "bars")
    save_logbook(book, [entry])
    begin_sheet(tmp_path, entry.readings, entry.name, own=entry.identity)
    type_into(only(tmp_path), "left", {"0,0": ("12", 0)})
    assert save_sheet(only(tmp_path), book) == 1  # it goes on with that set
    elsewhere = edited(open_logbook(book)[0], readings=EMPTY + "# mended in the Lab\n")
    save_logbook(book, [elsewhere])
    type_into(only(tmp_path), "left", {"0,0": ("14", 0)})
    assert save_sheet(only(tmp_path), book) == 2 == save_sheet(only(tmp_path), book)
    first, second = open_logbook(book)
    assert first.readings == elsewhere.readings and "A,B,no,0,14" in second.readings


def test_another_round_takes_over_what_was_stated_and_no_figure(tmp_path):
    book = tmp_path / "my_logbook.json"
    stated = {"reading_sd_um": 2.5, "target_um": 5.0, "feel_um": 3.0}
    before = Entry(EMPTY.replace("# not read: A,B,no,0,", "A,B,no,0,40"), "bars", **stated)
    before = edited(before, depends_on=(DependsOn(body="A", value=1.0, expanded=2.0, said="a certificate"),))
    save_logbook(book, [before])
    begin_sheet(tmp_path, emptied(before.readings), before.name, after=before.identity)
    assert not any(word for row in only(tmp_path).grid().typed() for word in row)
    assert save_sheet(only(tmp_path), book) == 2
    first, second = open_logbook(book)
    assert first == before and second.depends_on == before.depends_on
    assert {name: getattr(second, name) for name in stated} == stated


@pytest.mark.parametrize("at", ["../../etc/passwd", "0,0,0", "-1,0", "9,9", "0,01", "", "note/..", "1e3,0", "٣,0"])
def test_a_place_that_is_no_cell_is_refused_and_writes_nothing(tmp_path, at):
    sheet = begin_sheet(tmp_path, EMPTY)
    held = sorted(path.name for path in tmp_path.rglob("*"))
    with pytest.raises(Refusal, match="not on this sheet"):
        type_into(sheet, "left", {"0,0": ("12", 0), at: ("13", 0)})
    assert sorted(path.name for path in tmp_path.rglob("*")) == held
    assert place_of(at) in (None, (9, 9))


def test_too_long_a_word_is_refused_and_not_cut_off(tmp_path):
    sheet = begin_sheet(tmp_path, EMPTY)
    with pytest.raises(Refusal, match=f"at most {CELL}"):
        type_into(sheet, "left", {"0,0": ("1" * (CELL + 1), 0)})
    assert only(tmp_path).hands == {}


def test_what_is_put_away_is_shown_no_more_and_lies_there_still(tmp_path):
    begin_sheet(tmp_path, EMPTY, "bars")
    type_into(only(tmp_path), "left", {"0,0": ("12", 0)})
    put_sheet_away(only(tmp_path))
    assert sheets(tmp_path) == ()
    kept = [json.loads(path.read_text())["fields"] for path in tmp_path.glob("my_draft_phone_*put_away*.json")]
    assert {"text", "cells"} <= {name for fields in kept for name in fields} and len(kept) == 2


def test_a_damaged_draft_of_one_hand_takes_nothing_of_the_others(tmp_path):
    begin_sheet(tmp_path, EMPTY)
    type_into(only(tmp_path), "left", {"0,0": ("12", 0)})
    type_into(only(tmp_path), "right", {"0,1": ("13", 0)})
    (path,) = tmp_path.glob("my_draft_phone_*_right.json")
    path.write_text(path.read_text()[:40])
    assert only(tmp_path).latest()["0,0"].words == "12"
