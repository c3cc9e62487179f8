"""The one command line: every command that the course names is one, help loads nothing heavy, refusals end in 2."""

import re
import shlex
import subprocess
import sys

import pytest

from simulate.__main__ import ACTS, main, parser

WRITTEN = ("README.md", "DEVELOPERS.md", "lessons/24_for_the_instructor.ipynb")
COMMANDS = (
    *("refresh", "pages", "projector", "cards", "plan", "browser"),
    *("bench-page", "print-photo", "class", "hub", "new-lesson"),
)


def test_every_command_that_is_written_anywhere_is_taken(root):
    met = set()
    for name in WRITTEN:
        for line in re.findall(r"python -m simulate ([^`\n<\\]+)", (root / name).read_text(encoding="utf-8")):
            words = shlex.split(line.split("[")[0])
            given = parser().parse_args(words)
            met.add(given.act if given.command == "class" else given.command)
    assert met == {*COMMANDS, *ACTS} - {"class"}


@pytest.mark.parametrize("words", [[], *([name] for name in COMMANDS if name != "refresh"), ["class", "mark", "inbox"]])
def test_what_is_missing_is_told_with_the_usage(words, capsys):
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == 2
    told = capsys.readouterr().err
    assert f"usage: python -m simulate {' '.join(words[:2])}".strip() in told and "required" in told


@pytest.mark.parametrize(
    "words",
    [["--lessons", ","], ["--weights", "1,-1"], ["--counts", "worst"], ["--until", "tomorrow"], ["--add"]],
)
def test_an_option_that_cannot_be_is_refused_by_its_name(words, capsys):
    with pytest.raises(SystemExit) as ended:
        main(["class", "points", "inbox", "class.csv", "1", "points.csv", *words])
    assert ended.value.code == 2 and words[0] in capsys.readouterr().err


@pytest.mark.parametrize("words", [["--port", "80"], ["--port", "x"], ["--hours", "0"], ["--hours", "100"]])
def test_an_option_of_the_bench_page_that_cannot_be_is_refused_by_its_name(words, capsys):
    with pytest.raises(SystemExit) as ended:
        main(["bench-page", "lessons", *words])
    assert ended.value.code == 2 and words[0] in capsys.readouterr().err


def test_help_names_every_command_and_loads_nothing_heavy():
    code = (
        "import sys\nfrom simulate.__main__ import main\ntry:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        "heavy = {'numpy', 'scipy', 'matplotlib', 'nbformat', 'nbconvert', 'fpdf', 'IPython', 'tornado', 'segno'}\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert all(f"  {name}  " in run.stdout for name in COMMANDS)
    assert run.stdout.splitlines()[-1] == "[]"


def test_a_missing_class_list_ends_in_a_sentence(tmp_path, capsys):
    assert main(["class", "key", str(tmp_path / "none.csv"), "1", str(tmp_path / "key.csv")]) == 2
    assert "none.csv" in capsys.readouterr().err and not (tmp_path / "key.csv").exists()
