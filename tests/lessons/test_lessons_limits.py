"""Lessons 18 to 23 hold to the order of the first ones, and say what their panels show."""

import pytest
from lesson_parts import holds_its_parts
from test_lessons import LESSONS

PANELS = {
    "18": ["BendingPanel()"],
    "19": ["HeatPanel()"],
    "20": ["EyePanel()"],
    "21": ["PlanPanel()"],
    "22": ["PracticePanel()"],
    "23": ["OwnWorkshopPanel()", "OwnPlatesPanel()"],
}
MINE = [p for p in LESSONS if p.name[:2] in PANELS]
each = pytest.mark.parametrize("path", MINE, ids=lambda p: p.stem)


def test_they_are_there():
    assert len(MINE) == len(PANELS)


@each
def test_parts_panel_and_exercises_stand_in_order(path):
    holds_its_parts(path, *PANELS[path.name[:2]])
