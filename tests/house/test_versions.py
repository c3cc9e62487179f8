"""The first command works on the Pythons people have: oldest and newest packages tried, every Python's wheels resolved.

Marked long: each of these fetches packages, and builds an environment of its own where an interpreter is at hand.
"""

import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

pytestmark = pytest.mark.long

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
PYTHONS = [f"3.{minor}" for minor in range(11, 16)]
# What hangs on the versions of others: linear algebra, linear programs, pictures, notebooks, reports.
SENSITIVE = [
    "tests/core/test_spaces.py", "tests/method/test_hidden_bars.py", "tests/method/test_hidden_plates.py",
    "tests/readings/test_solve_bars.py", "tests/readings/test_solve_plates.py", "tests/readings/test_solve_squares.py",
    "tests/readings/test_solve_lands.py", "tests/readings/test_findings.py", "tests/readings/test_readings_table.py",
    "tests/readings/test_consistency.py", "tests/show/test_show.py", "tests/show/test_show_plates.py",
    "tests/show/test_show_lands.py", "tests/show/test_report.py", "tests/readings/test_logbook.py",
]  # fmt: skip
LESSONS = ["04", "05", "06", "10", "11", "14", "23"]


def wanted(lowest: bool) -> list[str]:
    """Every requirement of the course and of its tests: as it stands, or at its lower bound."""
    lines = PROJECT["dependencies"] + PROJECT["optional-dependencies"]["test"]
    return [re.sub(r">=([\d.]+).*", r"==\1", line) for line in lines] if lowest else lines


def run(*words: object, **more) -> str:
    """Run a command; where it fails show the end of what it said."""
    done = subprocess.run([str(w) for w in words], capture_output=True, text=True, check=False, **more)
    assert done.returncode == 0, f"{' '.join(map(str, words))}\n{(done.stdout + done.stderr)[-6000:]}"
    return done.stdout


def interpreter(version: str) -> str | None:
    """A Python of that version that starts, or None; a name on the path may be a shim that starts nothing by itself."""
    kept = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv")) / "versions"
    aside = sorted(kept.glob(f"{version}.*/bin/python{version}"))
    for name in (sys.executable, shutil.which(f"python{version}"), *map(str, aside)):
        if name:
            ask = "import sys; print('%d.%d' % sys.version_info[:2])"
            asked = subprocess.run([name, "-c", ask], capture_output=True, text=True, check=False)
            if asked.stdout.strip() == version:
                return name
    return None


def test_a_python_kept_beside_a_shim_that_starts_nothing_is_found(tmp_path, monkeypatch):
    version = ".".join(map(str, sys.version_info[:2]))
    kept = tmp_path / "versions" / f"{version}.99" / "bin" / f"python{version}"
    kept.parent.mkdir(parents=True)
    kept.symlink_to(sys.executable)
    monkeypatch.setenv("PYENV_ROOT", str(tmp_path))
    monkeypatch.setattr(shutil, "which", lambda name: None)
    monkeypatch.setattr(sys, "executable", "")
    assert interpreter(version) == str(kept) and interpreter("2.0") is None


def made(place: Path, python: str, requirements: list[str]) -> Path:
    """A fresh environment with these packages and nothing of the course: the tests find it beside them."""
    run(python, "-m", "venv", place)
    own = place / "bin" / "python"
    run(own, "-m", "pip", "install", "-q", "--upgrade", "pip")
    run(own, "-m", "pip", "install", "-q", *requirements)
    return own


def holds(python: Path) -> None:
    lessons = [next((ROOT / "lessons").glob(f"{number}_*.ipynb")) for number in LESSONS]
    more = {"cwd": ROOT, "env": {**os.environ, "PYTHONPATH": str(ROOT)}}
    said = run(python, "-m", "pytest", "-q", "-p", "no:cacheprovider", *SENSITIVE, *lessons, **more)
    assert re.search(r"\b\d{3,} passed", said) and "failed" not in said


def test_the_lower_bounds_are_versions_that_the_course_works_with(tmp_path):
    python = interpreter("3.11") or sys.executable
    holds(made(tmp_path / "oldest", python, wanted(lowest=True)))


@pytest.mark.parametrize("version", PYTHONS)
def test_the_newest_of_everything_works_where_this_python_is_at_hand(version, tmp_path):
    python = interpreter(version)
    if python is None:
        pytest.skip(f"no Python {version} on this machine; its wheels are resolved instead")
    holds(made(tmp_path / "newest", python, wanted(lowest=False)))


@pytest.fixture(scope="module")
def recent_pip(tmp_path_factory) -> Path:
    """A pip of today: an old one holds the Python that it runs on against packages for another."""
    place = tmp_path_factory.mktemp("pip") / "env"
    return made(place, sys.executable, ["packaging"])


@pytest.mark.parametrize("version", PYTHONS)
def test_every_package_has_a_wheel_for_this_python_on_linux(version, recent_pip, tmp_path):
    # pip reads markers such as python_version as those of the Python that runs it; what is asserted is wheels and
    # bounds.
    platforms = [f"--platform=manylinux{tag}_x86_64" for tag in ("_2_34", "_2_28", "_2_17", "2014")]
    run(
        recent_pip,
        "-m",
        "pip",
        "install",
        "-q",
        "--dry-run",
        "--ignore-installed",
        "--target",
        tmp_path / "none",
        "--only-binary=:all:",
        "--implementation=cp",
        f"--python-version={version}",
        *platforms,
        "--report",
        tmp_path / "report.json",
        *wanted(lowest=False),
    )
    found = json.loads((tmp_path / "report.json").read_text())["install"]
    names = {one["metadata"]["name"].lower().replace("_", "-") for one in found}
    asked = {re.match(r"[\w.-]+", line)[0].lower() for line in wanted(lowest=False)}
    assert asked <= names and len(names) > 80
    tag = "cp" + version.replace(".", "")
    built = [
        one["download_info"]["url"].rsplit("/", 1)[1]
        for one in found
        if one["metadata"]["name"] in ("numpy", "scipy", "highspy")
    ]
    assert len(built) == 3 and all(f"-{tag}-" in name for name in built), built


def test_no_version_of_python_is_refused_from_above():
    assert PROJECT["requires-python"] == f">={PYTHONS[0]}"
