"""The browser's edition: its first cell, the commands that build it, and its refusals. The build itself needs the
net."""

import json
import subprocess
from pathlib import Path

import nbformat
import pytest

from simulate.__main__ import main
from simulate.course.notebook.refresh import LESSONS
from simulate.course.publish import browser_site
from simulate.course.publish.browser_site import (
    FIRST,
    NO_KERNEL,
    PURE,
    WAIT_S,
    build,
    for_browser,
    say_where_no_kernel_comes,
)


def test_every_lesson_fetches_its_packages_before_anything_runs():
    looked = 0
    for path in sorted(LESSONS.glob("[0-9][0-9]_*.ipynb")):
        made = for_browser(nbformat.read(path, as_version=4))
        nbformat.validate(made)
        assert next(c for c in made.cells if c.cell_type == "code").source == FIRST
        looked += 1
    assert looked > 20


@pytest.fixture
def steps(monkeypatch):
    """The commands that would be run, with the lessons that lay ready at the last one."""
    ran = []

    def run(command, cwd, **_):
        ran.append((command, sorted(p.name for p in (cwd / "contents" / "lessons").iterdir())))
        if "wheel" in command:
            (cwd / "wheels").mkdir()
            for name in ("threebar_workshop", "comm"):
                (cwd / "wheels" / f"{name}-0-py3-none-any.whl").write_bytes(b"")
        if "lite" in command:
            lab = Path(command[command.index("--output-dir") + 1]) / "lab"
            lab.mkdir(parents=True)
            (lab / "index.html").write_text("<body>lab</body>", encoding="utf-8")
        return subprocess.CompletedProcess(command, 0, "", "")

    monkeypatch.setattr(subprocess, "run", run)
    monkeypatch.setattr(browser_site.importlib.util, "find_spec", lambda name: name)
    return ran


def test_the_wheel_is_made_and_then_the_site_with_wheel_and_lessons(steps, tmp_path):
    archive = tmp_path / "pyodide.tar.bz2"
    archive.write_bytes(b"")
    build(tmp_path / "site", str(archive))
    (wheel, _), (site, lessons) = steps
    assert wheel[1:4] == ["-m", "pip", "wheel"] and "--no-deps" in wheel and set(PURE) < set(wheel)
    assert site[1:5] == ["-m", "jupyter", "lite", "build"] and site[-1] == str(archive)
    assert site[site.index("--output-dir") + 1] == str((tmp_path / "site").resolve())
    held = [Path(site[k + 1]).name for k, word in enumerate(site) if word == "--piplite-wheels"]
    assert held == ["comm-0-py3-none-any.whl", "threebar_workshop-0-py3-none-any.whl"]
    assert lessons == sorted(p.name for p in LESSONS.glob("[0-9][0-9]_*.ipynb"))


def test_a_page_says_what_to_do_where_its_kernel_does_not_come(steps, tmp_path):
    build(tmp_path / "site")
    page = (tmp_path / "site" / "lab" / "index.html").read_text(encoding="utf-8")
    assert page.count("<script>") == 1 and page.endswith("</script></body>")
    assert json.dumps(NO_KERNEL) in page and f"waited === {WAIT_S}" in page and "untested" in NO_KERNEL
    with pytest.raises(ValueError, match="given no page; it must be given at least one"):
        say_where_no_kernel_comes(tmp_path / "nothing")


def test_refusals_are_sentences_and_nothing_is_built(steps, tmp_path, monkeypatch, capsys):
    (tmp_path / "kept.txt").write_text("mine")
    with pytest.raises(ValueError, match=f"'{tmp_path.name}' is a folder that holds something already"):
        build(tmp_path)
    with pytest.raises(
        ValueError, match=r"'nowhere\.tar' is not there; it must be the path of an archive of the browser's Python\."
    ):
        build(tmp_path / "site", "nowhere.tar")
    monkeypatch.setattr(browser_site.importlib.util, "find_spec", lambda name: None)
    assert main(["browser", str(tmp_path / "site")]) == 2
    assert "Install it with pip install -e '.[browser]'." in capsys.readouterr().err
    assert steps == [] and [p.name for p in tmp_path.iterdir()] == ["kept.txt"]


def test_a_step_that_fails_is_told_in_a_sentence(steps, tmp_path, monkeypatch):
    monkeypatch.setattr(
        subprocess, "run", lambda command, **_: subprocess.CompletedProcess(command, 1, "", "a\nOSError: full\nb")
    )
    with pytest.raises(
        ValueError,
        match=r"-m pip wheel is not done: 'OSError: full'; it must be free of faults, for the site to be built\.",
    ):
        build(tmp_path / "site")
