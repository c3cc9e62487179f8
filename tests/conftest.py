"""What every test shares: where the repository is, and a lid on generated examples."""

from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("workshop", deadline=None, max_examples=50)
settings.load_profile("workshop")

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def root() -> Path:
    """Top of the repository, wherever it was cloned."""
    return ROOT


@pytest.fixture(autouse=True)
def answers_of_nobody(monkeypatch):
    """Exercises neither find answers where the tests run, nor leave any there."""
    from simulate.show.given import ANSWERS

    for name, value in (("path", None), ("_records", ()), ("_shown", []), ("trouble", "")):
        monkeypatch.setattr(ANSWERS, name, value)


@pytest.fixture(autouse=True)
def drafts_of_nobody(monkeypatch, tmp_path):
    """Panels neither find drafts where the tests run, nor leave any there."""
    monkeypatch.setattr("simulate.show.draft_keeper.FOLDER", tmp_path)
