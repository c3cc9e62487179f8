"""Sets of the logbook come together as rounds, in whatever units and order they were typed."""

from dataclasses import replace

import numpy as np
import pytest

from simulate.core.refusal import Refusal
from simulate.readings.logbook.entry import Entry, edited
from simulate.readings.logbook.joining import joined, same_bodies, same_names
from simulate.readings.logbook.log_findings import log_findings
from simulate.readings.table.demo import DEMOS, demo_path
from simulate.readings.table.read import read_readings

PAIRS = (("A", "B"), ("A", "C"), ("B", "C"))


def bars(bow_um, unit="um", names="ABC", number=None):
    """Three bars of 200 mm with bows of 1, 2 and 3 times bow_um, hollow in the middle."""
    scale = {"um": 1.0, "thou": 25.4}[unit]
    size = dict(zip("ABC", (1, 2, 3)))
    head = f"{'round,' if number else ''}lower,upper,position_{'mm' if unit == 'um' else 'in'},gap_{unit}"
    rows = [
        f"{f'{number},' if number else ''}{names['ABC'.index(a)]},{names['ABC'.index(b)]},"
        f"{x / (1 if unit == 'um' else 25.4):.6f},"
        f"{bow_um * (size[a] + size[b]) * (1 - (x / 100) ** 2) / scale:.6f}"
        for a, b in PAIRS
        for x in (-100, 0, 100)
    ]
    return "\n".join([head, *rows])


def test_three_sets_in_millimetres_and_inches_are_three_rounds():
    tables = [read_readings(bars(b, u).encode()) for b, u in ((40, "um"), (20, "thou"), (10, "um"))]
    both = joined(tables)
    assert both.names == ("A", "B", "C") and both.round.tolist() == [1] * 9 + [2] * 9 + [3] * 9
    assert np.allclose(both.gap_um[9:18], tables[0].gap_um / 2, atol=1e-4)
    assert both.row.tolist() == [*range(2, 11)] * 3


def test_bodies_named_in_another_order_stay_who_they_are():
    first = read_readings(b"lower,upper,position_mm,gap_um\nA,B,0,1\n")
    second = read_readings(b"lower,upper,position_mm,gap_um\nB,A,0,2\n")
    both = joined([first, second])
    assert [(both.names[a], both.names[b]) for a, b in zip(both.lower, both.upper)] == [
        ("A", "B"),
        ("B", "A"),
    ]


def test_a_round_written_down_again_counts_once_and_another_of_the_same_number_is_a_later_one():
    one = read_readings(bars(40, number=1).encode())
    both_rounds = read_readings((bars(40, number=1) + "\n" + bars(20, number=2).split("\n", 1)[1]).encode())
    assert np.unique(joined([one, both_rounds]).round).tolist() == [1, 2] and len(joined([one, both_rounds])) == 18
    assert np.unique(joined([one, read_readings(bars(20, number=1).encode())]).round).tolist() == [1, 2]
    assert np.unique(joined([both_rounds, read_readings(bars(10, number=7).encode())]).round).tolist() == [1, 2, 7]


def test_other_bodies_and_other_kinds_are_refused_by_name():
    first = read_readings(bars(40).encode(), "mine.csv")
    with pytest.raises(
        Refusal, match=r"yours\.csv: it holds bars of A, B, D; there must be bars of A, B, C as in mine\.csv\."
    ) as refused:
        joined([first, read_readings(bars(40, names="ABD").encode(), "yours.csv")])
    assert (refused.value.code, refused.value.where) == ("table", "yours.csv")
    with pytest.raises(
        Refusal, match=r"demo_wedge\.csv: it holds wedge of an eye; there must be bars of A, B, C as in mine\.csv\."
    ):
        joined([first, read_readings(demo_path("demo_wedge.csv"))])
    with pytest.raises(ValueError, match="one or more"):
        joined([])


@pytest.mark.parametrize("name", DEMOS)
def test_a_set_of_every_kind_joined_with_itself_is_itself(name):
    table = read_readings(demo_path(name))
    both = joined([table, table])
    for field, value in table.__dict__.items():
        if isinstance(value, np.ndarray):
            assert np.array_equal(getattr(both, field), value, equal_nan=value.dtype.kind == "f"), field
        else:
            assert getattr(both, field) == value, field


def test_progress_is_told_over_the_sets_of_the_logbook():
    before = [
        Entry(bars(40), "first.csv"),
        Entry(bars(16, "thou"), "second.csv"),
        Entry("not a table"),
        Entry(demo_path("demo_wedge.csv").read_text()),
    ]
    found = log_findings(read_readings(bars(6.4).encode()), before, target_um=8.0)
    assert found.progress.rounds.tolist() == [0, 1, 2]
    # bows of 40, 16 and 6.4 in the worst bar's three parts: each round leaves 0.4 by hand, so a share of 70 %
    assert np.allclose(found.progress.form_um, [120, 48, 19.2], rtol=1e-4)
    assert (
        abs(found.progress.factor - 0.4) < 1e-3 and abs(found.progress.share - 0.7) < 1e-3 and found.progress.to_go == 1
    )
    assert found.sentences[-1] == found.progress.sentences[-1]
    alone = log_findings(read_readings(bars(6.4).encode()), [edited(e, struck=True) for e in before])
    assert alone.progress is None, "what is struck out counts for nothing"


def test_axes_are_the_same_by_their_short_names():
    rows = "axis,plane,x_mm,turned,dial_um\n" + "".join(
        f"{{}},{plane},{x},{turned},5\n"
        for plane in ("upright", "level")
        for x in (50, 300)
        for turned in ("no", "yes")
    )
    short, long = (read_readings(rows.format(*[name] * 8).encode(), "bench") for name in ("head", "headstock"))
    assert same_bodies(short, long)
    both = joined([short, replace(long, round=long.round + 1)])
    assert both.names == ("head",) and np.unique(both.round).tolist() == [1, 2]


@pytest.mark.parametrize("name", DEMOS)
def test_names_that_differ_only_by_capitals_are_joined(name):
    table = replace(read_readings(demo_path(name)), source="one job")
    shouted = replace(
        table,
        names=tuple(one.upper() for one in table.names),
        line=tuple(one.upper() for one in table.line),
        round=table.round + 9,
    )
    assert same_names(table, shouted)
    both = joined([table, shouted])
    assert both.names == table.names and both.line == 2 * table.line
    assert np.array_equal(both.lower, np.concatenate([table.lower, table.lower]))
