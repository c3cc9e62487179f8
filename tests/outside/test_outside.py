"""Every figure from outside, one test each under its own name, and how many there are."""

import importlib
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from outside.item import LOOKED_UP, MEMORY
from outside.registry import ITEMS, NOT_FOUND, line_of, off_by

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("item", ITEMS, ids=[item.name for item in ITEMS])
def test_the_package_gives_the_published_figure(item):
    """The source of each stands in its entry; `python -m tests.outside` prints them all."""
    assert np.shape(item.value) == () or np.shape(item.found()) in (np.shape(item.value), ())
    assert off_by(item) <= item.within, line_of(item)


def test_at_least_forty_distinct_figures_stand_here_each_with_its_source():
    assert len({item.name for item in ITEMS}) == len(ITEMS) >= 40
    assert len({(item.source, item.value) for item in ITEMS}) >= 40
    assert len({item.source for item in ITEMS}) >= 40
    for item in ITEMS:
        assert item.seen in (LOOKED_UP, MEMORY) and len(item.source) > 12 and item.within >= 0
    assert sum(item.seen == LOOKED_UP for item in ITEMS) >= 25


def test_each_says_which_part_of_the_package_it_holds():
    looked = 0
    for item in ITEMS:
        module, name = item.where.rsplit(".", 1)
        assert hasattr(importlib.import_module(module), name), item.where
        looked += 1
    assert looked == len(ITEMS)


@pytest.mark.parametrize(
    "held", ["gum-h3", "phelps", "iso-8512", "din-876", "slab", "corners", "flats-turned", "beetles", "moody-1955"]
)
def test_what_must_be_held_is_held(held):
    assert any(held in item.name for item in ITEMS)


def test_one_command_prints_them_all():
    said = subprocess.run(
        [sys.executable, "-m", "tests.outside"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout
    lines = said.splitlines()
    assert [line.split(" | ")[0].strip() for line in lines[: len(ITEMS)]] == [item.name for item in ITEMS]
    for item, line in zip(ITEMS, lines):
        assert item.source in line and item.where in line and line.endswith(item.seen)
    assert f"{len(ITEMS)} figures" in said and NOT_FOUND in said
