"""Readings that no machine could solve at once are refused in one sentence, before any room is taken for their
equations."""

from itertools import combinations, islice

import numpy as np
import pytest

from simulate.readings.findings import findings
from simulate.readings.table.read import read_readings
from simulate.readings.table.readings import ReadingsError


def pairs(bodies, count):
    return list(islice(combinations(range(bodies), 2), count))


BARS = "lower,upper,position_mm,gap_um\n"
LANDS = "gauge,left_mm,middle_mm,right_mm,proud_um\n"
FAR_TOO_MANY = {
    "a fit for each reading": (
        BARS + "".join(f"{a},{b},{i % 3},1\n" for i, (a, b) in enumerate(pairs(400, 20_000))),
        "400 bars",
    ),
    "thousands of bars": (BARS + "".join(f"{i},{i + 1},{x},1\n" for i in range(3000) for x in range(3)), "3001 bars"),
    "thousands of stations": (
        BARS + "".join(f"{a},{b},{x},1\n" for a, b in pairs(3, 3) for x in range(3000)),
        "3000 stations",
    ),
    "repeated without end": (
        BARS + "".join(f"{a},{b},{x},1\n" for a, b in pairs(3, 3) for x in range(399)) * 16,
        "19152 readings",
    ),
    "plates in a fine grid": (
        "lower,upper,turned,x_mm,y_mm,gap_um\n"
        + "".join(
            f"{a},{b},{t},{x},{y},1\n" for a, b in pairs(3, 3) for t in (0, 90) for x in range(80) for y in range(80)
        ),
        "6400 stations",
    ),
    "hundreds of plates": (
        "lower,upper,x_mm,y_mm,gap_um\n"
        + "".join(f"{a},{b},{i % 3},{i // 3 % 3},1\n" for i, (a, b) in enumerate(pairs(300, 40_000))),
        "300 plates",
    ),
    "a plate and a station in each row": (
        "lower,upper,x_mm,y_mm,gap_um\n" + "".join(f"a{i},b{i},{i},{i},1\n" for i in range(30_000)),
        "60000 plates",
    ),
    "hundreds of squares": (
        "lower,upper,height_mm,gap_um\n" + "".join(f"{a},{b},{h},1\n" for a, b in pairs(250, 30_000) for h in (0, 1)),
        "250 squares",
    ),
    "a gauge stepped for ever": (LANDS + "".join(f"a,{i},{i + 1},{i + 2},0\n" for i in range(30_000)), "30002 points"),
    "a survey without end": (
        "line,station,x_mm,y_mm,reading_arcsec\n"
        + "".join(f"{line},{k},{k},0,{'' if k == 0 else 1}\n" for line in range(8) for k in range(4000)),
        "8 lines",
    ),
}


@pytest.mark.parametrize("case", FAR_TOO_MANY)
def test_far_too_many_readings_are_refused_before_room_is_taken_for_them(case, monkeypatch):
    text, counted = FAR_TOO_MANY[case]
    table = read_readings(text.encode(), "mine.csv")
    really, largest = np.zeros, []

    def zeros(shape, *more, **named):
        largest.append(int(np.prod(shape)))
        assert largest[-1] < 30_000_000, f"{shape} was asked for"
        return really(shape, *more, **named)

    monkeypatch.setattr(np, "zeros", zeros)
    with pytest.raises(ReadingsError, match="too many to solve at once; there must be .* in one round") as refusal:
        findings(table)
    assert str(refusal.value).startswith("mine.csv: ") and counted in str(refusal.value)


def test_a_gauge_in_every_row_is_read_by_its_place_and_not_by_looking_through_all_names():
    text = LANDS + "".join(f"g{i},{i % 9},{i % 9 + 1},{i % 9 + 2},0\n" for i in range(3000))
    table = read_readings(text.encode())
    assert table.lower.tolist() == list(range(3000)) and table.names[2999] == "g2999"
