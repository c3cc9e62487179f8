"""The kernel's part of a press that waits: a number comes back as held once the panel holds all that was typed."""

import json
import re

import ipywidgets as widgets
import pytest

from simulate.show.own.pulse import Pulse


@pytest.fixture
def panel():
    text, area, figure = widgets.Text(), widgets.Textarea(), widgets.FloatText()
    pulse = Pulse(lambda: box)
    box = widgets.VBox([widgets.HBox([text, area]), widgets.Tab([figure]), pulse.view])
    return text, area, figure, pulse


def asked(pulse, number, *typed):
    pulse.asked.value = json.dumps({"number": number, "typed": typed})
    heard, held = re.fullmatch(r'<span data-heard="(\d+)">(\d+)</span>', pulse.answered.value).groups()
    return int(heard), int(held)


def test_a_number_is_held_once_every_field_says_what_was_typed(panel):
    text, area, figure, pulse = panel
    assert asked(pulse, 1) == (1, 1)
    text.value = "0"
    assert asked(pulse, 2, "0-550/50", "a\nb", "0.50") == (2, 1)
    text.value, area.value = "0-550/50", "a\r\nb"
    assert asked(pulse, 3, "0-550/50", "a\nb", "0.50") == (3, 1)
    figure.value = 0.5
    assert asked(pulse, 4, "0-550/50", "a\nb", "0.50") == (4, 4)


@pytest.mark.parametrize("words", ["", "7", "{}", '{"number": 5}', '{"number": 5, "typed": 1}', "[" * 5000])
def test_what_no_page_of_ours_writes_changes_nothing(panel, words):
    pulse = panel[-1]
    asked(pulse, 3)
    before = pulse.answered.value
    pulse.asked.value = words
    assert pulse.answered.value == before
