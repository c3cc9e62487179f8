"""Readings of every kind, spoilt at random as hands and spreadsheets spoil them: an answer or one sentence, never a
trace."""

import random

import pytest

from simulate.readings.logbook.entry import DependsOn, Entry
from simulate.readings.logbook.log_findings import log_findings
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import read_readings
from simulate.show.own.workshop.own_workshop import EXAMPLES, OwnWorkshopPanel
from simulate.show.own.workshop.report_content import finding_parts

CELLS = ["", "0", "-1", "1e-9", "999999", "0.5", "100", "A", "nan", "1;5", "yes", "no", "90", "250", "\u00b5"]


def spoilt(lines, rng):
    """Drop rows, change cells, double a row, fill a column, shuffle."""
    head, rows = lines[0], lines[1:]
    for _ in range(rng.choice([1, 1, 2, 4])):
        act = rng.random()
        if act < 0.35:
            rows = [row for row in rows if rng.random() > rng.choice([0.05, 0.3])] or rows
        elif act < 0.7:
            place = rng.randrange(len(rows))
            cells = rows[place].split(",")
            cells[rng.randrange(len(cells))] = rng.choice(CELLS)
            rows = [*rows[:place], ",".join(cells), *rows[place + 1 :]]
        elif act < 0.8:
            rows = [*rows, rng.choice(rows)]
        elif act < 0.9:
            column, value = rng.randrange(head.count(",") + 1), rng.choice(CELLS)
            rows = [",".join([*row.split(",")[:column], value, *row.split(",")[column + 1 :]]) for row in rows]
        else:
            rows = rng.sample(rows, len(rows))
    return "\n".join([head, *rows])


def told_or_refused(text, rng, **more):
    """True for an answer; a refusal is one sentence."""
    try:
        table = read_readings(text.encode(), "mine.csv")
        found = log_findings(table, (), rng.choice([None, None, 1.0, 1e-6, 1e5]), **more)
        assert finding_parts(found, rng.choice(["mm", "inch"]), picture=False)
    except ValueError as refusal:
        said = str(refusal)
        assert type(refusal).__name__ in ("Refusal", "ReadingsError"), text
        assert len(said) > 20 and "\n" not in said and "array(" not in said and "object at" not in said, said
        return False
    return True


def plain_lines(kind):
    return [line for line in demo_path(EXAMPLES[kind]).read_text().splitlines() if not line.startswith("#")]


@pytest.mark.parametrize("kind", EXAMPLES)
@pytest.mark.parametrize("tries", [30, pytest.param(375, marks=pytest.mark.long)])
def test_spoilt_readings_give_an_answer_or_one_sentence(kind, tries):
    rng, lines = random.Random(kind), plain_lines(kind)
    answered = [told_or_refused(spoilt(lines, rng), rng) for _ in range(tries)]
    assert 0 < sum(answered) < tries


KNOWN = {"edge": "the straightedge", "bed": "the straightedge", "joint": "the straightedge", "level": "the plate"}


@pytest.mark.parametrize(
    "kind, tries",
    [
        *(("edge", 8), ("bed", 12), ("joint", 12), ("level", 40)),
        *(pytest.param(kind, 200, marks=pytest.mark.long) for kind in KNOWN),
    ],
)
def test_spoilt_readings_against_a_body_that_is_known_give_an_answer_or_one_sentence(kind, tries):
    rng, lines = random.Random(f"{kind} known"), plain_lines(kind)
    same = demo_path(EXAMPLES[kind]).read_text()
    certificate = DependsOn(body=KNOWN[kind], value=rng.choice([0.0, 3.0]), expanded=1.0)
    earlier = DependsOn(body="the plate", set="a", earlier="the plate")
    links = [certificate, earlier] if kind == "level" else [certificate]
    book = [Entry(same, "same.csv", identity="a")]
    answered = [
        told_or_refused(spoilt(lines, rng), rng, depends_on=(rng.choice(links),), book=book) for _ in range(tries)
    ]
    assert 0 < sum(answered) < tries


def test_the_panel_stays_whole_while_spoilt_readings_come_in(tmp_path):
    panel = OwnWorkshopPanel(example="squares", logbook=str(tmp_path / "book.json"), units="mm")
    rng, lines = random.Random(5), [line for line in panel.typed.value.splitlines() if not line.startswith("#")]
    outcomes = set()
    for _ in range(15):
        before = panel.found, panel.sentence, panel.png
        panel.typed.value = spoilt(lines, rng)
        panel.read_typed.click()
        outcomes.add(panel.message.value == "")
        if panel.message.value:
            assert (panel.found, panel.sentence, panel.png) == before and "Not possible: " in panel.message.value
        else:
            assert panel.found is not before[0] and panel.sentence and panel.png
    assert outcomes == {True, False}
