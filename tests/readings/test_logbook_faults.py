"""Power cut, full disk, read-only folder, damage, two processes at once: a sentence, and nothing lost."""

import errno
import os
import signal
import subprocess
import sys
import time

import pytest

from simulate.core.atomic_files import locked
from simulate.readings.logbook.entry import edited, history
from simulate.readings.logbook.file_format import written
from simulate.readings.logbook.logbook import Entry, LogbookError, open_logbook, rescue_logbook, save_logbook

FIRST = (
    Entry(
        "lower,upper,position_mm,gap_um\nA,B,0,1\n",
        "a.csv",
        "cold shop, \u00b5m \u2603",
        reading_sd_um=2.0,
        taken="Monday",
    ),
)
posix = pytest.mark.skipif(os.name == "nt", reason="signals, limits and mounts of that kind are not there")


def parts(folder):
    return [p for p in folder.iterdir() if p.name.endswith(".part")]


def run(code, *arguments, wait=True):
    process = subprocess.Popen(
        [sys.executable, "-c", code, *map(str, arguments)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    if not wait:
        return process
    out, err = process.communicate(timeout=120)
    assert process.returncode == 0, err
    return out.strip()


# -- power cut ---------------------------------------------------------------------------------------------------------

SAVER = """
import sys
from simulate.readings.logbook.logbook import Entry, edited, open_logbook, save_logbook
entry = open_logbook(sys.argv[1])[0]
print("ready", flush=True)
for count in range(10 ** 6):
    figure = str(count % 10)
    changed = edited(entry, readings=figure * 300_000, note=figure, when=sys.argv[2] + str(count))
    save_logbook(sys.argv[1], [changed])
"""


@posix
def test_a_power_cut_while_it_saves_loses_nothing(tmp_path):
    path = tmp_path / "mine.json"
    save_logbook(path, FIRST)
    killed, before = 0, 1
    for wait in (0.01, 0.06, 0.25):
        saver = run(SAVER, path, f"{killed} ", wait=False)
        assert saver.stdout.readline() == "ready\n"
        time.sleep(wait)
        saver.send_signal(signal.SIGKILL)
        assert saver.wait() == -signal.SIGKILL
        saver.communicate()
        killed += 1
        [entry] = open_logbook(path)
        wordings = history(entry)
        assert wordings[0] == FIRST[0]
        assert all(w.readings == w.note * 300_000 for w in wordings[1:]), "every wording is whole"
        assert len(wordings) >= before, "what was saved before the cut is there after it"
        before = len(wordings)
        for part in parts(tmp_path):
            os.utime(part, (0, 0))
    assert killed == 3
    save_logbook(path, FIRST)
    assert parts(tmp_path) == [], "what the killed ones left lying is swept away"


CUT_AT_EVERY_CALL = """
import os, signal, sys
from simulate.readings.logbook.logbook import Entry, open_logbook, save_logbook
path = sys.argv[1]
calls = ("open", "write", "flush", "close", "fsync", "replace", "unlink", "rename", "fdopen", "flock", "ftruncate")
first = open_logbook(path)
new = Entry("new" * 1000)


def cut(at):
    count = 0

    def look(frame, event, function):
        nonlocal count
        if event in ("c_call", "c_return") and getattr(function, "__name__", "") in calls:
            count += 1
            if count == at:
                os.kill(os.getpid(), signal.SIGKILL)
    sys.setprofile(look)
    save_logbook(path, [new])
    sys.setprofile(None)
    os._exit(0)


old = whole = at = 0
while True:
    at += 1
    with open(path, "rb") as opened:
        before = opened.read()
    child = os.fork()
    if child == 0:
        cut(at)
    status = os.waitpid(child, 0)[1]
    found = open_logbook(path)  # raises where it was torn
    assert found in (first, (*first, new)), found
    old, whole = old + (found == first), whole + (found != first)
    if status == 0:
        break
    with open(path, "wb") as opened:
        opened.write(before)
print(at, old, whole)
"""


@posix
def test_a_power_cut_at_every_call_that_touches_the_disk_leaves_the_old_or_the_new(tmp_path):
    path = tmp_path / "mine.json"
    save_logbook(path, FIRST)
    cuts, old, new = map(int, run(CUT_AT_EVERY_CALL, path).split())
    assert cuts > 15 and old > 5 and new >= 1


def test_what_another_writes_at_this_moment_is_not_swept_away(tmp_path):
    fresh = tmp_path / ".mine.json.00ff.part"
    other = tmp_path / ".yours.json.00ff.part"
    for part in (fresh, other):
        part.write_text("half")
    os.utime(other, (0, 0))
    save_logbook(tmp_path / "mine.json", FIRST)
    assert fresh.exists() and other.exists()


# -- a disk or a folder that refuses -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "act, error, words",
    [
        ("fsync", errno.ENOSPC, "no space left"),
        ("replace", errno.EACCES, "permission denied"),
        ("open", errno.EROFS, "read-only file system"),
    ],
)
def test_a_disk_that_refuses_leaves_the_old_logbook(tmp_path, monkeypatch, act, error, words):
    path = tmp_path / "mine.json"
    save_logbook(path, FIRST)

    def refuse(*args, **kwargs):
        raise OSError(error, os.strerror(error))

    with monkeypatch.context() as patch:
        patch.setattr(os, act, refuse)
        with pytest.raises(
            LogbookError, match=f"mine.json was not saved \\({words}.*the earlier file is unchanged"
        ) as refusal:
            save_logbook(path, [Entry("new")])
    assert isinstance(refusal.value, ValueError)
    assert open_logbook(path) == FIRST and parts(tmp_path) == []


def test_a_folder_that_is_not_there_or_is_the_target_is_refused(tmp_path):
    for path in (tmp_path / "no" / "mine.json", tmp_path):
        with pytest.raises(LogbookError) as refusal:
            save_logbook(path, FIRST)
        assert (refusal.value.code, refusal.value.where) == (
            "file",
            path.name,
        ) and "was not saved" in refusal.value.found
        assert refusal.value.must_be == "in a folder that can be written to, with room on the disk"
    assert not (tmp_path / "no").exists()


@pytest.fixture
def small_disk(tmp_path):
    """A real disk of 64 kB, where the machine lets the tests mount one."""
    place = tmp_path / "disk"
    place.mkdir()
    if (
        os.name == "nt"
        or os.geteuid() != 0
        or subprocess.run(
            ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(place)], capture_output=True, check=False
        ).returncode
    ):
        pytest.skip("no small disk can be mounted here; the limit on file size and the refused write stand in for it")
    yield place
    subprocess.run(["umount", str(place)], check=True)


@posix
def test_a_disk_that_is_really_full_keeps_what_was_saved(small_disk):
    path, count, said = small_disk / "mine.json", 0, ""
    entries = list(FIRST)
    save_logbook(path, entries)
    while not said and count < 50:
        count += 1
        try:
            save_logbook(path, [*entries, Entry(str(count) * 4000)])
        except LogbookError as refusal:
            said = str(refusal)
        else:
            entries = list(open_logbook(path))
    assert "mine.json was not saved (no space left on device)" in said and 1 < count < 50
    assert open_logbook(path) == tuple(entries) and parts(small_disk) == []
    (small_disk / "mine.json").unlink()
    save_logbook(path, entries[:1])
    assert open_logbook(path) == FIRST, "with room again it saves again"


@posix
def test_a_read_only_folder_is_refused_and_still_read(small_disk):
    path = small_disk / "mine.json"
    save_logbook(path, FIRST)
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    with pytest.raises(LogbookError, match="mine.json was not saved .read-only file system."):
        save_logbook(path, [Entry("new")])
    assert open_logbook(path) == FIRST


@pytest.mark.skipif(
    os.name == "nt" or os.geteuid() == 0, reason="who may do everything may write into a read-only folder"
)
def test_a_folder_without_the_right_to_write_is_refused(tmp_path):
    path = tmp_path / "mine.json"
    save_logbook(path, FIRST)
    tmp_path.chmod(0o555)
    try:
        with pytest.raises(LogbookError, match="mine.json was not saved .permission denied."):
            save_logbook(path, [Entry("new")])
        assert open_logbook(path) == FIRST
    finally:
        tmp_path.chmod(0o755)


LIMITED = """
import resource, signal, sys
from simulate.readings.logbook.logbook import Entry, LogbookError, save_logbook
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))
try:
    save_logbook(sys.argv[1], [Entry("x" * 100_000)])
except LogbookError as refusal:
    print(refusal)
"""


@posix
def test_a_write_that_the_system_stops_half_way_leaves_the_old_logbook(tmp_path):
    path = tmp_path / "mine.json"
    save_logbook(path, FIRST)
    assert run(LIMITED, path).startswith("mine.json was not saved (file too large), and the earlier file is unchanged")
    assert open_logbook(path) == FIRST and parts(tmp_path) == []


# -- damage ------------------------------------------------------------------------------------------------------------


def three() -> bytes:
    return written(
        "mine.json", [edited(Entry("A,1\n\u00b5", note="one"), note="eins"), Entry("B", reading_sd_um=2.5), Entry("C")]
    )


def judged(path, data, whole):
    """Open what is damaged: a sentence, or the very same entries; the rest is rescued where it is whole."""
    path.write_bytes(data)
    try:
        found = open_logbook(path)
    except LogbookError as refusal:
        said = str(refusal)
        assert refusal.code in ("damaged", "file") and refusal.found and refusal.must_be
        assert refusal.where == "mine.json" or refusal.where.startswith("mine.json, entry "), refusal.where
        assert said.startswith(f"{refusal.where} ") and said.endswith(".") and "\n" not in said
        try:
            rescued = rescue_logbook(path).entries
        except LogbookError as nothing:
            rescued = ()
            assert "no set of readings in it is whole" in str(nothing)
        assert all(any(r == w and history(r) == history(w) for w in whole) for r in rescued), "nothing is made up"
        return len(rescued)
    assert found == whole and [history(e) for e in found] == [history(e) for e in whole]
    return len(found)


def test_cut_at_every_length_it_says_so_and_gives_what_is_whole(tmp_path):
    path, data = tmp_path / "mine.json", three()
    path.write_bytes(data)
    whole = open_logbook(path)
    rescued = [judged(path, data[:length], whole) for length in range(len(data))]
    assert rescued == sorted(rescued) and set(rescued) == {0, 1, 2, 3}


def test_with_any_byte_changed_it_says_so_and_loses_at_most_that_entry(tmp_path):
    path, data = tmp_path / "mine.json", three()
    path.write_bytes(data)
    whole, looked = open_logbook(path), 0
    for place in range(len(data)):
        for flip in (0x01, 0x80):
            changed = bytearray(data)
            changed[place] ^= flip
            assert judged(path, bytes(changed), whole) >= 2, place
            looked += 1
    assert looked == 2 * len(data) > 2000


def test_a_damaged_logbook_of_version_1_gives_its_whole_entries(tmp_path):
    from test_logbook import old_logbook

    path = tmp_path / "mine.json"
    path.write_bytes(old_logbook()[:-20])
    with pytest.raises(
        LogbookError, match=r"mine\.json is damaged: it breaks off or is unreadable at line \d+; it must be a logbook"
    ):
        open_logbook(path)
    rescued = rescue_logbook(path)
    assert [e.name for e in rescued.entries] == ["a.csv"]
    assert rescued.sentence == (
        "mine.json is damaged: 1 set of readings in it is whole and was read, and the file stays as it is."
    )


# -- two notebooks at once ---------------------------------------------------------------------------------------------

WRITER = """
import sys, time
from pathlib import Path
from simulate.readings.logbook.logbook import Entry, save_logbook
Path(sys.argv[1] + sys.argv[2]).touch()
while not all(Path(sys.argv[1] + name).exists() for name in ("left", "right")):
    time.sleep(0.001)
for count in range(25):
    save_logbook(sys.argv[1], [Entry(f"{sys.argv[2]} {count}")])  # what was saved before is never given again
"""


def test_two_processes_on_one_logbook_lose_nothing_of_each_other(tmp_path):
    path = tmp_path / "mine.json"
    writers = [run(WRITER, path, name, wait=False) for name in ("left", "right")]
    for writer in writers:
        _, err = writer.communicate(timeout=120)
        assert writer.returncode == 0, err
    found = [entry.readings for entry in open_logbook(path)]
    assert sorted(found) == sorted(f"{name} {count}" for name in ("left", "right") for count in range(25))


HOLDER = """
import sys, time
from simulate.core.atomic_files import locked
with locked(sys.argv[1]):
    print("held", flush=True)
    time.sleep(60)
"""


@posix
def test_a_logbook_that_another_holds_is_not_saved_until_that_one_is_gone(tmp_path, monkeypatch):
    path = tmp_path / "mine.json"
    save_logbook(path, FIRST)
    holder = run(HOLDER, path, wait=False)
    assert holder.stdout.readline() == "held\n"
    with pytest.raises(
        LogbookError,
        match="mine.json was not saved: another notebook was writing it for more than 0.2 s, and it is unchanged",
    ):
        with locked(path, wait_s=0.2):
            pass
    assert open_logbook(path) == FIRST
    holder.kill()
    holder.communicate()
    save_logbook(path, [Entry("new")])
    assert len(open_logbook(path)) == 2, "the lock of one that was killed holds nobody up"
