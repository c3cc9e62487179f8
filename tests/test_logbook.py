"""The logbook is written whole or not at all."""

import errno
import json
import os
import signal
import subprocess
import sys
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulate.readings.logbook import FORMAT, VERSION, Entry, LogbookError, open_logbook, save_logbook

FIRST = (Entry("lower,upper,position_mm,gap_um\nA,B,0,1\n", "a.csv", "cold shop, \u00b5m \u2603", reading_sd_um=2.0, taken="Monday"),)


def parts(folder):
    return [p for p in folder.iterdir() if p.name.endswith(".part")]


def test_what_is_saved_is_what_opens(tmp_path):
    path = tmp_path / "mine.json"
    save_logbook(path, FIRST)
    assert open_logbook(path) == FIRST
    save_logbook(str(path), [*FIRST, Entry("")])
    assert open_logbook(str(path)) == (*FIRST, Entry(""))
    assert [p.name for p in tmp_path.iterdir()] == ["mine.json"]
    save_logbook(path, [])
    assert open_logbook(path) == ()


@settings(deadline=None, max_examples=30)
@given(st.lists(st.builds(Entry, st.text(), st.text(), st.text(), st.text(), st.none() | st.floats(1e-6, 1e5), st.text())))
def test_any_words_come_back_unchanged(tmp_path_factory, entries):
    path = tmp_path_factory.getbasetemp() / "any.json"
    save_logbook(path, entries)
    assert open_logbook(path) == tuple(entries)


SAVER = """
import sys
from simulate.readings.logbook import Entry, save_logbook
count = 0
print("ready", flush=True)
while True:
    count += 1
    save_logbook(sys.argv[1], [Entry(str(count % 10) * 3_000_000, note=str(count % 10))] * 2)
"""


@pytest.mark.skipif(os.name == "nt", reason="no SIGKILL there")
def test_killing_it_while_it_saves_loses_nothing(tmp_path):
    path = tmp_path / "mine.json"
    save_logbook(path, FIRST)
    killed = halfway = 0
    for wait in (0.0, 0.01, 0.03, 0.05, 0.08, 0.11):
        saver = subprocess.Popen([sys.executable, "-c", SAVER, str(path)], stdout=subprocess.PIPE)
        assert saver.stdout.readline() == b"ready\n"
        time.sleep(wait)
        saver.send_signal(signal.SIGKILL)
        assert saver.wait() == -signal.SIGKILL
        saver.stdout.close()
        killed += 1
        halfway += bool(parts(tmp_path))
        entries = open_logbook(path)
        assert entries == FIRST or (len(entries) == 2 and entries[0] == entries[1]
                                    and entries[0].readings == entries[0].note * 3_000_000)
        for part in parts(tmp_path):
            os.utime(part, (0, 0))
    assert killed == 6
    save_logbook(path, FIRST)
    assert open_logbook(path) == FIRST
    assert parts(tmp_path) == [], "what the killed ones left lying is swept away"


def test_what_another_writes_at_this_moment_is_not_swept_away(tmp_path):
    fresh = tmp_path / ".mine.json.00ff.part"
    other = tmp_path / ".yours.json.00ff.part"
    for part in (fresh, other):
        part.write_text("half")
    os.utime(other, (0, 0))
    save_logbook(tmp_path / "mine.json", FIRST)
    assert fresh.exists() and other.exists()


@pytest.mark.parametrize("act, error, words", [("fsync", errno.ENOSPC, "no space left"), ("replace", errno.EACCES, "permission denied"),
                                               ("open", errno.EROFS, "read-only file system")])
def test_a_disk_that_refuses_leaves_the_old_logbook(tmp_path, monkeypatch, act, error, words):
    path = tmp_path / "mine.json"
    save_logbook(path, FIRST)

    def refuse(*args, **kwargs):
        raise OSError(error, os.strerror(error))

    with monkeypatch.context() as patch:
        patch.setattr(os, act, refuse)
        with pytest.raises(LogbookError, match=f"mine.json was not saved \\({words}.*what was there before is unchanged") as refusal:
            save_logbook(path, [])
    assert isinstance(refusal.value, ValueError)
    assert open_logbook(path) == FIRST and parts(tmp_path) == []


def test_a_folder_that_is_not_there_or_is_the_target_is_refused(tmp_path):
    for path in (tmp_path / "no" / "mine.json", tmp_path):
        with pytest.raises(LogbookError, match="was not saved .*allowed is a folder that can be written to"):
            save_logbook(path, FIRST)
    with pytest.raises(LogbookError, match="entry 1: a str was given; allowed is an Entry"):
        save_logbook(tmp_path / "mine.json", ["words"])
    with pytest.raises(LogbookError, match="reading_sd_um is nan; allowed is a number above 0"):
        save_logbook(tmp_path / "mine.json", [Entry("", reading_sd_um=float("nan"))])


def book(**changes):
    entry = {"readings": "", "name": "", "note": "", "units": "", "reading_sd_um": None, "taken": ""}
    return json.dumps({"format": FORMAT, "version": VERSION, "entries": [entry], **changes}).encode()


DAMAGED = {
    "empty": (b"", "damaged at line 1"),
    "cut short": (book()[:-9], "damaged at line 1"),
    "not text": (b"\xff\xfe\x00", "damaged at its text"),
    "nested without end": (b"[" * 200_000, "damaged at its text"),
    "another file": (b'{"cells": []}', "is no logbook"),
    "a list": (b"[]", "is no logbook"),
    "newer": (book(version=VERSION + 1), f"has version {VERSION + 1}; this course opens versions up to {VERSION}"),
    "no version": (book(version=None), "its version is 'None'"),
    "true for a version": (book(version=True), "its version is 'True'"),
    "no entries": (book(entries=3), "no list of entries"),
    "entry of words": (book(entries=["a"]), "entry 1 holds str"),
    "entry without readings": (book(entries=[{"note": ""}]), "entry 1 holds note; allowed are name, note, reading_sd_um"),
    "number for words": (book(entries=[{**json.loads(book())["entries"][0], "note": 3}]), "entry 1, note is 3; allowed is text"),
}


@pytest.mark.parametrize("case", DAMAGED)
def test_a_damaged_logbook_is_refused_in_one_sentence(tmp_path, case):
    data, words = DAMAGED[case]
    path = tmp_path / "mine.json"
    path.write_bytes(data)
    with pytest.raises(LogbookError) as refusal:
        open_logbook(path)
    said = str(refusal.value)
    assert said.startswith("mine.json") and words in said and "\n" not in said and said.endswith(".")


def test_a_logbook_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(LogbookError, match="mine.json cannot be opened .no such file"):
        open_logbook(tmp_path / "mine.json")
