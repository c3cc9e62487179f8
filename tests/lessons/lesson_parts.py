"""What every lesson with nine parts has to hold: order, panels, exercises, cautions, sources and length."""

import re

from test_lessons import CAUTIONS, PARTS, code, read, read_words, words

from simulate.course.exercise.exercise import names


def holds_its_parts(path, *panels):
    """The nine parts in order; questions before each panel; its picture stored; the exercises those of the lesson."""
    notebook = read(path)
    heads = re.findall(r"^## (.+)$", "\n\n".join(c.source for c in notebook.cells if c.cell_type == "markdown"), re.M)
    assert heads == PARTS
    cells = [c.source for c in notebook.cells]
    predict = next(i for i, s in enumerate(cells) if s.startswith("## Predict first"))
    assert "?" in cells[predict] and panels
    for panel in panels:
        place = cells.index(panel)
        assert predict < place
        data = notebook.cells[place].outputs[0].data
        assert len(data["image/png"]) > 1000 and len(data["text/plain"].split()) >= 5
    asked = re.findall(r'^Exercise\("([^"]+)", student\)$', "\n".join(c.source for c in code(notebook)), re.M)
    assert len(asked) >= 4
    assert tuple(asked) == names(path.name[:2])


def holds_its_words(path):
    """Cautions at the bench, a lesson that finds what still hides, sources with what they are, and a length that is
    read."""
    said = words(read(path))
    bench = said[said.index("## At the bench") : said.index("## Check yourself")].lower()
    assert not [c for c in CAUTIONS if c.lower() not in bench]
    assert re.search(r"[Ll]esson \d\d", said[said.index("## What still hides") : said.index("## Sources")])
    assert re.search(r"published|†|common practice|derived", said[said.index("## Sources") :])
    assert 500 <= read_words(said) <= 1250
