"""Lessons 17 to 22 hold to the order of the first ones, and say what their panels show."""

import re

import pytest
from test_lessons import CAUTIONS, LESSONS, PARTS, code, read, words

from simulate.show.exercise import names

PANELS = {"17": "BendingPanel()", "18": "HeatPanel()", "19": "EyePanel()", "20": "PlanPanel()",
          "21": "PracticePanel()", "22": "OwnWorkshopPanel()"}
MINE = [p for p in LESSONS if p.name[:2] in PANELS]
each = pytest.mark.parametrize("path", MINE, ids=lambda p: p.stem)


def test_they_are_there():
    assert MINE


@each
def test_parts_panel_and_exercises_stand_in_order(path):
    notebook = read(path)
    heads = re.findall(r"^## (.+)$", "\n\n".join(c.source for c in notebook.cells if c.cell_type == "markdown"), re.M)
    assert heads == PARTS
    cells = [c.source for c in notebook.cells]
    predict = next(i for i, s in enumerate(cells) if s.startswith("## Predict first"))
    panel = cells.index(PANELS[path.name[:2]])
    assert predict < panel and "?" in cells[predict]
    data = notebook.cells[panel].outputs[0].data
    assert len(data["image/png"]) > 1000 and len(data["text/plain"].split()) >= 5
    asked = re.findall(r'^Exercise\("([^"]+)", student\)$', "\n".join(c.source for c in code(notebook)), re.M)
    assert len(asked) >= 4
    assert tuple(asked) == names(path.name[:2])


@each
def test_cautions_sources_and_length(path):
    said = words(read(path))
    bench = said[said.index("## At the bench"):said.index("## Check yourself")].lower()
    assert not [c for c in CAUTIONS if c.lower() not in bench]
    assert re.search(r"[Ll]esson \d\d", said[said.index("## What still hides"):said.index("## Sources")])
    assert re.search(r"published|from memory|common practice|derived", said[said.index("## Sources"):])
    assert 500 <= len(said.split()) <= 1300
