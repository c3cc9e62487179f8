"""Every control of every panel that a lesson can show, opened and read: a noun phrase and its unit."""

import re

import ipywidgets as widgets
import pytest
from test_turning import PANELS

from simulate.show.panel.rows import MORE
from simulate.show.units import turning

LEADS_ON = re.compile("^(or |Enter |Readings of)")
"""Lines that lead into a field or a list and read on there."""
UNIT = re.compile(r" \([^()]*\)")


@pytest.fixture(autouse=True)
def _folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(turning, "_SHOWN", [])


def controls_of(part):
    """Everything below a widget that may carry a label."""
    yield part
    for child in getattr(part, "children", ()):
        yield from controls_of(child)


@pytest.mark.parametrize("name", sorted(PANELS))
def test_a_panel_says_of_each_control_in_five_words_what_it_is(name):
    panel = PANELS[name](units="mm")
    shown = [w for w in controls_of(panel.view) if not isinstance(w, widgets.Box) and MORE not in w._dom_classes]
    said = [UNIT.sub("", w.description) for w in shown if getattr(w, "description", "")]
    assert len(said) >= 3
    own = [words for words in said if not LEADS_ON.match(words) and not words.startswith("Tried: ")]
    assert not [words for words in own if sum(bool(re.search(r"\w", w)) for w in words.split()) > 5]
    assert not [words for words in own if re.search(r"\b(by|to|of|at|with|from|is|are)$", words)]
    assert set(panel.labels) >= set(panel.controls)
