"""Readings along lines, of beds, of prints and of straight bodies, spoilt as hands and spreadsheets spoil them: an
answer or one sentence, and nothing that was saved is lost."""

import random
import zlib

import pytest

from simulate.core.refusal import Refusal
from simulate.readings.entry.cell_grid import entry_grid
from simulate.readings.entry.cell_typing import with_cells
from simulate.readings.findings import findings
from simulate.readings.logbook.entry import Entry
from simulate.readings.logbook.logbook import open_logbook, save_logbook
from simulate.readings.logbook.standing import job_standing
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import read_readings

PRINTS = "\n".join(
    [
        "# film: 3 um",
        "lower,upper,turned,x_mm,y_mm,printed",
        *(
            f"{a},{b},{t},{x},{y},{'x' if (x + y + len(t)) % 3 else '.'}"
            for a, b, t in (("A", "B", "0"), ("A", "C", "0"), ("B", "C", "0"), ("A", "B", "90"))
            for y in (-60, 0, 60)
            for x in (-60, 0, 60)
        ),
    ]
)
TEXTS = {
    "prints": PRINTS,
    **{
        name: demo_path(f"demo_{name}.csv").read_text()
        for name in ("level", "edge", "bed", "joint", "head", "cross_slide", "one_square", "thickness", "faces")
    },
}
FILES = [300, pytest.param(1500, marks=pytest.mark.long)]
CELLS = [
    *(
        "",
        "0",
        "-1",
        "1e-9",
        "999999",
        "0.5",
        "100",
        "nan",
        "inf",
        "1e308",
        "1;5",
        "0,05",
        "50-100",
        "<30",
        "dark",
        "x",
    ),
    *(
        "A",
        "a",
        "head ",
        "yes",
        "no",
        "90",
        "180",
        "upright",
        "foot",
        "3 um",
        "\u00b5",
        "\u2212 3",
        "=1+1",
        '"',
        "#",
        "\x00",
    ),
]
HEADS = [
    "gap_mm",
    "dial",
    "dial_in",
    "x",
    "x_mm",
    "",
    "note",
    "turned",
    "reading_div",
    "thickness_um",
    "by",
    "axis",
    "line",
]


def spoilt(text, rng):
    """Lose, double and shuffle rows, change cells and heads, fill columns, other separators, cut the file off."""
    lines = text.splitlines()
    at = next(i for i, line in enumerate(lines) if not line.startswith("#"))
    above, head, rows = lines[:at], lines[at], lines[at + 1 :]
    for _ in range(rng.choice([1, 1, 2, 3, 6])):
        act, row = rng.randrange(12), rng.randrange(len(rows))
        cells = rows[row].split(",")
        if act < 4:
            cells[rng.randrange(len(cells))] = rng.choice(CELLS)
            rows[row] = ",".join(cells)
        elif act == 4:
            rows = [one for one in rows if rng.random() > rng.choice([0.1, 0.5, 0.9])] or rows
        elif act == 5:
            rows = [*rows, rng.choice(rows)]
        elif act == 6:
            rows = rng.sample(rows, len(rows))
        elif act == 7:
            heads = head.split(",")
            heads[rng.randrange(len(heads))] = rng.choice(HEADS)
            head = ",".join(heads)
        elif act == 8:
            place, value = rng.randrange(head.count(",") + 1), rng.choice(CELLS)
            rows = [",".join([*one.split(",")[:place], value, *one.split(",")[place + 1 :]]) for one in rows]
        elif act == 9:
            place = rng.randrange(head.count(",") + 1)
            head, *rows = (",".join([c for k, c in enumerate(one.split(",")) if k != place]) for one in (head, *rows))
        elif act == 10:
            above = []
        else:
            rows[row] = rows[row][: rng.randrange(len(rows[row]) + 1)]
    separator = rng.choice([",", ",", ",", ";", "\t"])
    return "\n".join([*above, *(one.replace(",", separator) for one in (head, *rows))])


def told_or_refused(text, sd):
    """Give the findings, or the one sentence that refuses them; anything else is a fault."""
    try:
        found = findings(read_readings(text.encode("utf-8", "surrogatepass"), "mine.csv"), sd)
    except Refusal as refusal:
        said = str(refusal)
        assert len(said) > 20 and "\n" not in said.strip() and "array(" not in said and "object at" not in said, said
        return None
    words = [*found.sentences, *found.hidden, *found.cut, *(cell for row in found.rows for cell in row)]
    assert all(words) and not [one for one in words if "nan" in one.lower().replace("finan", "")], words
    return found


@pytest.mark.parametrize("kind", TEXTS)
@pytest.mark.parametrize("files", FILES)
def test_spoilt_files_are_told_or_refused_and_what_is_typed_into_their_cells_stays(kind, files):
    rng, answered, refused = random.Random(zlib.crc32(kind.encode())), 0, 0
    cells = random.Random(1)  # of its own, so that which files are spoilt does not hang on which a grid shows
    for _ in range(files // len(TEXTS)):
        text = spoilt(TEXTS[kind], rng)
        found = told_or_refused(text, rng.choice([None, None, 1.0, 1e-6, 1e4]))
        answered, refused = answered + (found is not None), refused + (found is None)
        try:
            grid = entry_grid(text)
        except Refusal:
            continue
        free = [(r, c) for r, row in enumerate(grid.places) for c, place in enumerate(row) if not place.closed]
        cell = cells.choice(free)
        again = entry_grid(with_cells(text, grid, {cell: "12"}))
        assert "12" in [typed for row in again.typed() for typed in row]
    assert answered + refused == files // len(TEXTS) and answered and refused, "both happen"


def test_a_logbook_keeps_every_spoilt_set_as_it_was_typed(tmp_path):
    rng, path = random.Random(7), tmp_path / "my_logbook.json"
    texts = [spoilt(text, rng).replace("\x00", "") for text in TEXTS.values() for _ in range(2)]
    save_logbook(path, [Entry(text, f"{k}.csv") for k, text in enumerate(texts)])
    assert [one.readings for one in open_logbook(path)] == texts
    standing = job_standing(open_logbook(path))
    assert {one.number for one in standing} == set(range(1, len(texts) + 1))
    assert any(one.why for one in standing) and any(one.value is not None for one in standing)
    save_logbook(path, open_logbook(path))
    assert [one.readings for one in open_logbook(path)] == texts
