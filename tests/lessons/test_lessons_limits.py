"""Lessons 17 to 22 hold to the order of the first ones, and say what their panels show."""

import pytest
from lesson_parts import holds_its_parts
from test_lessons import LESSONS

PANELS = {
    "17": ["BendingPanel()"],
    "18": ["HeatPanel()"],
    "19": ["EyePanel()"],
    "20": ["PlanPanel()"],
    "21": ["PracticePanel()"],
    "22": ["OwnWorkshopPanel()", "OwnPlatesPanel()"],
}
MINE = [p for p in LESSONS if p.name[:2] in PANELS]
each = pytest.mark.parametrize("path", MINE, ids=lambda p: p.stem)


def test_they_are_there():
    assert len(MINE) == len(PANELS)


@each
def test_parts_panel_and_exercises_stand_in_order(path):
    holds_its_parts(path, *PANELS[path.name[:2]])
