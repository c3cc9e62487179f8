"""One bad hand-in harms nobody: spoilt files of every kind beside honest ones, and code planted wherever a hand-in has
room for it."""

import csv
import gzip
import json
import os
import random
import subprocess
import sys
import zipfile

import nbformat
import pytest

from simulate.__main__ import main
from simulate.course.classroom import handed_in
from simulate.course.classroom.class_list import class_set
from simulate.course.classroom.grading import mark_class
from simulate.course.exercise.answer_record import seal
from simulate.course.exercise.answer_text import read_record
from simulate.course.exercise.exercise import names, question
from simulate.course.exercise.hand_in import HandIn

CLASS = [f"Invented Student {k:02d}" for k in range(30)]
SEED, LESSON = "a seed of this test", "03"
WORDS = class_set(CLASS, SEED)
BAD = CLASS[-1]
"""Whose hand-ins are spoilt; the others are honest."""


def records(word, right=True):
    hand = HandIn()
    for name in names(LESSON):
        asks = question(name, word)
        hand.keep(name, word, asks.answer if right else asks.wrong[0].given)
    return [json.loads(line.removeprefix("answer ")) for line in repr(hand).splitlines()]


def book(word, lines, own=None):
    source = f'student = "{own or word}"\nhand_in()\nstart()'
    cell = nbformat.v4.new_code_cell(
        source, execution_count=1, outputs=[nbformat.v4.new_output("display_data", {"text/plain": "\n".join(lines)})]
    )
    return nbformat.v4.new_notebook(cells=[nbformat.v4.new_markdown_cell("# 03 Two bars agree"), cell])


def lines_of(parts):
    return ["answer " + json.dumps(part) for part in parts]


def old(word, **changed):
    """A line of the older format, with a seal that fits where one can be made."""
    line = {"exercise": "two-double", "student": word, "first": "3", "last": "5", "tries": 2} | changed
    made = read_record(line)
    try:
        return "answer " + json.dumps(line | {"seal": changed.get("seal", seal(made) if made else "0" * 16)})
    except ValueError:
        return "answer " + json.dumps(line, default=str)


def torn(data, chance):
    return data[: chance.randrange(1, len(data))]


def flipped(data, chance):
    some = bytearray(data)
    for _ in range(chance.choice((1, 4, 40))):
        some[chance.randrange(len(some))] = chance.randrange(256)
    return bytes(some)


VALUES = (
    None,
    True,
    -5,
    1e300,
    float("inf"),
    float("nan"),
    10**400,
    "",
    "\ud800",
    "é",
    "=1+1",
    "\x00",
    "x" * 5000,
    [],
    {},
    [[[]]],
    {"a": {"b": []}},
    "<script>touch()</script>",
    "../../etc",
    "12 qm",
    "\u202e12",
    "1\r\n=2",
)


def twisted(part, chance):
    """A record with a value of any type in any place."""
    part = json.loads(json.dumps(part))
    place = chance.choice(
        ["exercise", "student", "tries", "unlisted", "seal", "version", "first", "last", "given", "at", "kind"]
    )
    value = chance.choice(VALUES)
    if place in ("given", "at", "kind") and isinstance(part["tries"], list):
        part["tries"][0][place] = value
    else:
        part[place] = value
    if chance.random() < 0.2:
        part["tries"] = chance.choice(
            [[], [None], [[]], [{}], [{"given": "1", "more": 2}], {"a": 1}, [{"given": 3}], "[[" * 50]
        )
    if chance.random() < 0.3:  # sealed all the same, by somebody who reads the source
        try:
            made = read_record(part)
            part["seal"] = seal(made) if made else ""
        except (ValueError, TypeError):
            pass
    return part


def spoilt(kind, chance, whole):
    """Bytes of one bad file, and the ending of its name."""
    word = WORDS[BAD]
    parts = records(word, right=False)
    text = json.dumps(whole).encode()
    made = {
        "torn": lambda: torn(text, chance),
        "flipped": lambda: flipped(text, chance),
        "bytes": lambda: chance.randbytes(chance.randrange(0, 3000)),
        "empty": lambda: b" \n" * chance.randrange(3),
        "nested": lambda: chance.choice([b"[", b'{"a":']) * chance.choice([900, 20_000, 300_000]),
        "utf16": lambda: json.dumps(book(word, lines_of(parts))).encode("utf-16"),
        "zip": lambda: b"PK\x03\x04" + chance.randbytes(200),
        "gzip": lambda: gzip.compress(text[:500]),
        "digits": lambda: b'{"cells": [], "n": ' + b"9" * chance.choice([5000, 200_000]) + b"}",
        "accent in a seal": lambda: json.dumps(book(word, [old(word, seal="é" * 16)])).encode(),
        "tries without end": lambda: json.dumps(book(word, [old(word, tries=float("inf"))])).encode(),
        "nested answer": lambda: json.dumps(
            book(word, ['answer {"exercise": ' + "[" * chance.choice([900, 100_000])])
        ).encode(),
        "surrogate answer": lambda: json.dumps(book(word, [old(word, last="\ud800", seal="0" * 16)])).encode(),
        "surrogate word": lambda: json.dumps(book(word, [old("\ud800", seal="0" * 16)])).encode(),
        "odd tries": lambda: json.dumps(
            book(word, [old(word, tries=chance.choice([-5, 0, "2", 10**400, 2.5, None, [1]]))])
        ).encode(),
        "twisted": lambda: json.dumps(book(word, lines_of(twisted(p, chance) for p in parts))).encode(),
        "types": lambda: json.dumps(twisted_book(whole, chance)).encode(),
        "format 3": lambda: json.dumps(
            {
                "nbformat": 3,
                "worksheets": [
                    {
                        "cells": [
                            {
                                "cell_type": "code",
                                "input": "1",
                                "outputs": [{"output_type": "pyout", "text": lines_of(parts)}],
                            }
                        ]
                    }
                ],
            }
        ).encode(),
        "format 5": lambda: json.dumps(dict(whole, nbformat=5, extra={"a": 1})).encode(),
        "strangers": lambda: json.dumps(
            book(word, [old(f"nobody-{k}") for k in range(300)], own="nobody-here")
        ).encode(),
        "answers file torn": lambda: torn(
            json.dumps({"format": "three-bar answers", "version": 2, "answers": parts}).encode(), chance
        ),
        "answers file": lambda: json.dumps(
            {
                "format": "three-bar answers",
                "version": chance.choice([2, 3, None, "x"]),
                "answers": [twisted(p, chance) for p in parts],
            }
        ).encode(),
        "no notebook": lambda: json.dumps(
            chance.choice([1, "x", None, [], {}, {"cells": None}, {"cells": 3}, {"cells": [1, None]}])
        ).encode(),
    }[kind]()
    return made, chance.choice(
        [
            ".ipynb",
            ".IPYNB",
            ".ipynb.txt",
            ".json",
            ".ipynb.json",
            " (1).ipynb",
            ".txt",
            ".zip" if kind == "zip" else ".Ipynb",
        ]
    )


KINDS = (
    "torn",
    "flipped",
    "bytes",
    "empty",
    "nested",
    "utf16",
    "zip",
    "gzip",
    "digits",
    "accent in a seal",
    "tries without end",
    "nested answer",
    "surrogate answer",
    "surrogate word",
    "odd tries",
    "twisted",
    "types",
    "format 3",
    "format 5",
    "strangers",
    "answers file torn",
    "answers file",
    "no notebook",
)


def twisted_book(whole, chance):
    made = json.loads(json.dumps(whole))
    cell = made["cells"][1]
    for _ in range(chance.choice((1, 2, 3))):
        target, key = (
            chance.choice(
                [
                    (made, "cells"),
                    (made, "nbformat"),
                    (made, "metadata"),
                    (cell, "source"),
                    (cell, "outputs"),
                    (cell, "cell_type"),
                    (cell, "execution_count"),
                    (cell["outputs"][0], "data"),
                    (cell["outputs"][0], "output_type"),
                ]
            )
            if isinstance(cell.get("outputs"), list) and cell["outputs"] and isinstance(cell["outputs"][0], dict)
            else (cell, "source")
        )
        target[key] = chance.choice(VALUES[:7] + VALUES[9:10] + VALUES[13:17])
    return made


def inbox_of(folder, count, chance):
    """The inbox: honest ones, and so many spoilt ones that are not named by their student's files."""
    inbox = folder / "inbox"
    for k, (name, word) in enumerate(WORDS.items()):
        if name != BAD:
            (inbox / f"{k:02d}").mkdir(parents=True)
            nbformat.write(book(word, lines_of(records(word))), inbox / f"{k:02d}" / "03_two_bars_agree.ipynb")
    whole = book(WORDS[BAD], lines_of(records(WORDS[BAD], right=False)))
    (inbox / "bad").mkdir()
    for k in range(count):
        data, ending = spoilt(KINDS[k % len(KINDS)], chance, whole)
        (inbox / "bad" / f"{k:04d} {KINDS[k % len(KINDS)]}{ending}").write_bytes(data)
    (inbox / "bad" / "folder.ipynb").mkdir()
    for name, to in (
        ("passwords.ipynb", "/etc/passwd"),
        ("broken.ipynb", "nowhere"),
        ("loop.ipynb", "loop.ipynb"),
        ("up", ".."),
    ):
        os.symlink(to, inbox / "bad" / name)
    if hasattr(os, "mkfifo"):
        os.mkfifo(inbox / "bad" / "waits for ever.ipynb")
    (folder / "class.csv").write_text("name\n" + "\n".join(CLASS), encoding="utf-8")
    return inbox


@pytest.mark.parametrize("count", [3 * len(KINDS), pytest.param(2000, marks=pytest.mark.long)])
def test_spoilt_hand_ins_beside_honest_ones_are_named_and_nobody_else_is_harmed(tmp_path, count):
    chance = random.Random(20_260_131)
    inbox = inbox_of(tmp_path, count, chance)
    marks = [str(inbox), str(tmp_path / "class.csv"), SEED, str(tmp_path / "marks.csv")]
    assert main(["class", "mark", *marks, "--lessons", LESSON]) == 0
    with open(tmp_path / "marks.csv", encoding="utf-8-sig", newline="") as file:
        table = list(csv.DictReader(file))
    honest = [row for row in table if row["name"] not in ("", BAD)]
    assert len(honest) == 29 * len(names(LESSON))
    assert {(r["right"], r["right_at_first"], r["tries"]) for r in honest} == {("yes", "yes", "1")}
    assert not [r for r in honest if r["note"]]
    told = {}
    for row in table:
        if not row["name"]:
            told.setdefault(row["file"], []).append(row["told"])
    for path in sorted((inbox / "bad").iterdir()):
        harmless = any(
            kind in path.name
            for kind in (
                "utf16",
                "format",
                "types",
                "flipped",
                "twisted",
                "answers file",
                "odd tries",
                "accent in",
                "surrogate answer",
            )
        )
        assert harmless or f"bad/{path.name}" in told, path.name
    for file, sentences in told.items():
        assert all(s.startswith(file) and "\n" not in s and len(s) < 900 for s in sentences), sentences
    assert {"bad/folder.ipynb", "bad/passwords.ipynb", "bad/broken.ipynb", "bad/loop.ipynb", "bad/up"} <= set(told)
    assert not [file for file in told if "root:" in str(told[file])]


def test_what_a_spoilt_file_still_says_counts_for_its_student_only_where_the_seal_fits(tmp_path):
    chance = random.Random(7)
    inbox = inbox_of(tmp_path, 2 * len(KINDS), chance)
    rows = [m for m in mark_class(inbox, CLASS, SEED, [LESSON]).rows if m.name == BAD]
    assert {m.right for m in rows} == {"no"}, "the files that hold the wrong answers of that student whole are read"


def test_whatever_reading_one_file_comes_to_it_is_named_and_the_others_are_marked(tmp_path, monkeypatch):
    inbox, read = inbox_of(tmp_path, 0, random.Random(1)), handed_in.read_json
    (inbox / "bad" / "huge.ipynb").write_text("[]  too much for this machine")

    def short_of_memory(data):
        if b"too much" in data:
            raise MemoryError
        return read(data)

    monkeypatch.setattr(handed_in, "read_json", short_of_memory)
    marked = mark_class(inbox, CLASS, SEED, [LESSON])
    assert "bad/huge.ipynb could not be read (MemoryError)" in [a.told for a in marked.aside]
    assert sum(m.right == "yes" for m in marked.rows) == 29 * len(names(LESSON))


PLANTED = """
import json, os, sys
seen = []
def watch(event, arguments):
    if event in ("subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.fork", "socket.connect",
                 "socket.getaddrinfo", "webbrowser.open", "ctypes.dlopen", "pickle.find_class", "urllib.Request"):
        seen.append([event, str(arguments)[:200]])
    elif event in ("exec", "compile") and "PLANTED" in str(arguments):
        seen.append([event, "planted code"])
    elif event == "open" and "planted" in str(arguments[0]) and not str(arguments[0]).endswith(ENDINGS):
        seen.append([event, str(arguments[0])])
ENDINGS = (".ipynb", ".json", ".py", ".txt", ".html", ".pkl")
import simulate.course.classroom.classroom  # what the libraries open as they load is none of the hand-ins
from simulate.__main__ import main
sys.addaudithook(watch)
end = {"mark": ".csv", "points": ".csv"}
code = [main(["class", act, sys.argv[1], sys.argv[2], "1", sys.argv[3] + act + end.get(act, ""), "--lessons", "03"])
        for act in ("mark", "summary", "feedback", "points")]
print("\\n" + json.dumps([code, seen]))
"""


def test_nothing_of_a_hand_in_is_run_or_opened_wherever_code_is_planted(tmp_path):
    inbox, mark_of = tmp_path / "inbox", tmp_path / "touched"
    inbox.mkdir()
    word = class_set(CLASS[:1], 1)[CLASS[0]]
    touch = f"__import__('os').system('touch {mark_of}')  # PLANTED"
    page = (
        "<img src=x onerror=alert(1)><script>/*PLANTED*/fetch('http://127.0.0.1:9/planted')</script>{{ "
        f"{touch} }}}}{{% include '{mark_of}' %}}"
    )
    hand = HandIn()
    for name, given in (("two-double", touch), ("two-gap", page), ("two-opposite", "=cmd|' /C calc'!A0"), (page, "3")):
        hand.keep(name, word, given)
    hand.keep("two-equal", word, question("two-equal", word).answer)
    made = book(word, repr(hand).splitlines())
    made.cells[1].source += "\n" + touch
    made.cells[1].metadata["planted"] = touch
    made.metadata["kernelspec"] = {"name": touch, "display_name": touch, "language": touch}
    made.cells[1].outputs += [
        nbformat.v4.new_output("display_data", {"text/html": page, "application/javascript": page, "text/plain": page}),
        nbformat.v4.new_output("error", ename=touch, evalue=touch, traceback=[touch]),
    ]
    nbformat.write(made, inbox / "planted.ipynb")
    for name in ("conftest.py", "sitecustomize.py", "planted.py"):
        (inbox / name).write_text(touch)
    (inbox / "planted.html").write_text(page)
    (inbox / "planted.pkl").write_bytes(b"cos\nsystem\n(S'touch " + str(mark_of).encode() + b"'\ntR.")
    with zipfile.ZipFile(inbox / "planted.zip", "w") as packed:
        packed.writestr("../planted.py", touch)
    (tmp_path / "class.csv").write_text(f"name\n{CLASS[0]}\n", encoding="utf-8")
    run = subprocess.run(
        [sys.executable, "-c", PLANTED, str(inbox), str(tmp_path / "class.csv"), str(tmp_path / "out_")],
        capture_output=True,
        text=True,
        cwd=inbox.parent,
        check=False,
    )
    assert run.returncode == 0, run.stderr[-2000:]
    code, seen = json.loads(run.stdout.strip().splitlines()[-1])
    assert code == [0, 0, 0, 0] and seen == [] and not mark_of.exists()
    for path in (tmp_path / "out_summary" / "summary.html", tmp_path / "out_feedback" / f"{word}.html"):
        text = path.read_text(encoding="utf-8")
        assert (
            "<script" not in text
            and "<img" not in text
            and "default-src &#39;none&#39;" not in text
            and "default-src 'none'" in text
        )
    assert "\"'=cmd" in (tmp_path / "out_mark.csv").read_text(encoding="utf-8-sig") or "=cmd" not in (
        tmp_path / "out_mark.csv"
    ).read_text(encoding="utf-8-sig")


def test_a_table_is_written_whole_or_not_at_all(tmp_path, monkeypatch):
    from simulate.core import atomic_files as whole

    inbox = inbox_of(tmp_path, 5, random.Random(1))
    target = tmp_path / "marks.csv"
    target.write_text("what was there")
    monkeypatch.setattr(whole.os, "replace", lambda *_: (_ for _ in ()).throw(OSError(28, "No space left on device")))
    assert main(["class", "mark", str(inbox), str(tmp_path / "class.csv"), SEED, str(target)]) == 2
    assert target.read_text() == "what was there" and not list(tmp_path.glob(".*part"))
