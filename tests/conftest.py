"""What every test shares: where the repository is, and a lid on generated examples."""

import gc
import os
import sys
from contextlib import contextmanager
from pathlib import Path
from tempfile import mkdtemp

import pytest
from hypothesis import settings

from simulate.core.native_threads import one_each

one_each()  # before a test loads numpy, whose threads spin while they wait, on the cores of the other workers

# In CI every run draws the same examples, so that what is refused there was broken by the change and not by the draw.
settings.register_profile("workshop", deadline=None, max_examples=50, derandomize="CI" in os.environ)
settings.load_profile("workshop")

ROOT = Path(__file__).resolve().parent.parent
QUICK = {
    "test_bend.py", "test_faces_of_the_package.py", "test_form.py", "test_grades.py", "test_hidden_bars.py",
    "test_hidden_plates.py", "test_house.py", "test_joining.py", "test_readings_table.py", "test_readme.py",
    "test_refusal.py", "test_seat.py", "test_solve_bars.py", "test_solve_squares.py", "test_spaces.py",
    "test_starting.py", "test_three_bars.py", "test_union_jack.py",
}  # fmt: skip
"""The rules of the house and the numbers that everything rests on: what to run while working."""


def pytest_collection_modifyitems(items):
    """Mark what is quick: every test of the files above that is not long or a ratio."""
    for item in items:
        if item.path.name in QUICK and not any(item.get_closest_marker(name) for name in ("long", "ratio")):
            item.add_marker(pytest.mark.quick)


@pytest.fixture(scope="session")
def root() -> Path:
    """Top of the repository, wherever it was cloned."""
    return ROOT


@pytest.fixture(autouse=True)
def answers_of_nobody(monkeypatch):
    """Exercises neither find answers where the tests run, nor leave any there."""
    from simulate.course.exercise.hand_in import ANSWERS

    for name, value in (("path", None), ("_records", ()), ("_shown", []), ("trouble", "")):
        monkeypatch.setattr(ANSWERS, name, value)


@pytest.fixture(autouse=True)
def drafts_of_nobody(monkeypatch, request, tmp_path_factory):
    """Panels neither find drafts where the tests run, nor leave any there.

    A test that asks for `tmp_path` finds them in it. No other gets one: pytest looks through all folders that are there
    for the next number, and thousands of tests have no use for theirs.
    """
    own = "tmp_path" in request.fixturenames
    folder = (
        request.getfixturevalue("tmp_path") if own else mkdtemp(prefix="drafts", dir=tmp_path_factory.getbasetemp())
    )
    monkeypatch.setattr("simulate.show.own.draft_keeper.FOLDER", Path(folder))


@pytest.fixture(scope="module", autouse=True)
def widgets_of_no_file():
    """Widgets that a fixture of a wider scope made end with the file, and what they held on to is given back."""
    with widgets_closed() as closed:
        yield
    if closed:
        closed.clear()
        gc.collect()


@pytest.fixture(autouse=True)
def widgets_of_nobody():
    """Widgets end with the test that made them; those of a fixture of a wider scope stay as long as that.

    ipywidgets keeps every widget that was not closed, and with it the panel, its pictures and what it computed: workers
    grew to gigabytes, and each look for garbage went through all of it.
    """
    with widgets_closed() as closed:
        yield
    if len(closed) > MANY_WIDGETS:
        closed.clear()
        gc.collect()


MANY_WIDGETS = 500
"""More than a panel or two hold. A panel refers to itself: only a look for garbage gives its pictures back."""


@contextmanager
def widgets_closed():
    """Close what was made meanwhile; nothing where nobody imported ipywidgets. Yields: filled with it at the end."""
    before, closed = set(_widgets()), []
    yield closed
    closed += [widget for name, widget in _widgets().items() if name not in before]
    for widget in closed:
        widget.close()


def _widgets() -> dict:
    module = sys.modules.get("ipywidgets.widgets.widget")
    return dict(module._instances) if module else {}
