"""Nothing that a lesson runs writes outside the folder it runs in: every file opened for writing is recorded while all
of them run.

The system's folder for temporary files is let pass where nothing stays in it: a library tries out there how files are
locked.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from simulate.course.notebook.refresh import LESSONS

# Runs in a process of its own, since a recorder of this kind cannot be taken out again.
RECORD = r"""
import json, os, sys
from pathlib import Path
wrote = []
CHANGES = ("os.mkdir", "os.remove", "os.rmdir", "os.truncate", "os.symlink", "os.link")
WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_APPEND | os.O_TRUNC
def watch(event, arguments):  # a file given by its number was seen when it was opened
    if event == "open" and isinstance(arguments[0], (str, bytes, os.PathLike)) and (arguments[2] or 0) & WRITES:
        wrote.append(os.path.abspath(os.fsdecode(arguments[0])))
    elif event in CHANGES and not isinstance(arguments[0], int):
        wrote.append(os.path.abspath(os.fsdecode(arguments[0])))
    elif event == "os.rename":
        wrote.extend(os.path.abspath(os.fsdecode(a)) for a in arguments[:2])
import nbformat, matplotlib.font_manager
from IPython.core.interactiveshell import InteractiveShell
from traitlets.config import Config
shell = InteractiveShell.instance(config=Config({"HistoryManager": {"enabled": False}}))
sys.addaudithook(watch)
ran = 0
for path in sys.argv[1:]:
    for cell in nbformat.read(path, as_version=4).cells:
        if cell.cell_type == "code":
            with open(os.devnull, "w") as quiet:
                out, sys.stdout = sys.stdout, quiet
                try:
                    done = shell.run_cell(cell.source)
                finally:
                    sys.stdout = out
            done.raise_error()
            ran += 1
shell.run_cell(EXTRA)
print("\n" + json.dumps({"ran": ran, "wrote": wrote}))
"""
# What a learner's own hands make it write: an act at the practice bench, and the switch of units.
ACTS = """
from simulate.show.practice.practice_panel import PracticePanel
from simulate.show.units.switch import UnitSwitch
PracticePanel().act("look")
UnitSwitch().buttons.value = "inch"
"""


def recorded(folder, lessons, extra=""):
    environment = {
        **os.environ,
        "PYTHONDONTWRITEBYTECODE": "1",
        "IPYTHONDIR": str(folder / "ipython"),
        "TMPDIR": str(folder / "temporary"),
    }
    script = RECORD.replace("EXTRA", repr(extra))
    run = subprocess.run(
        [sys.executable, "-c", script, *map(str, lessons)],
        cwd=folder / "lessons",
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stderr[-3000:]
    return json.loads(run.stdout.strip().splitlines()[-1])


def outside(folder, paths):
    allowed = (folder / "lessons", folder / "temporary", Path(os.devnull))
    return sorted({p for p in paths if not any(Path(p).is_relative_to(place) for place in allowed)})


@pytest.fixture
def learner(tmp_path):
    (tmp_path / "lessons").mkdir()
    (tmp_path / "temporary").mkdir()
    return tmp_path


def test_no_lesson_writes_outside_the_folder_it_runs_in(learner):
    every = sorted(LESSONS.glob("[0-9][0-9]_*.ipynb"))
    found = recorded(learner, every, ACTS)
    assert found["ran"] > 5 * len(every)
    assert outside(learner, found["wrote"]) == []
    assert list((learner / "temporary").iterdir()) == []
    assert {"my_practice.json", "my_units.txt"} <= {p.name for p in (learner / "lessons").iterdir()}, (
        "the recorder had something to see"
    )


def test_a_write_elsewhere_is_seen(learner):
    found = recorded(learner, [], f"open({str(learner / 'elsewhere.txt')!r}, 'w').close()")
    assert outside(learner, found["wrote"]) == [str(learner / "elsewhere.txt")]
