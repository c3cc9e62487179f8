"""Tables laid out for a learner's own stations: filled in, each is a file that is read and answered."""

import pytest

from simulate import read_readings
from simulate.core.refusal import Refusal
from simulate.readings.entry.cell_grid import entry_grid
from simulate.readings.entry.cell_typing import with_cells
from simulate.readings.entry.laying_out import FIELDS, UNITS_ALLOWED, laid_out
from simulate.readings.entry.layout_words import stations_said
from simulate.readings.findings import findings
from simulate.readings.table.units import SLOPE, SMALL


def usual(kind, long="mm"):
    return {field.name: field.mm if long == "mm" else field.inch for field in FIELDS[kind]}


def filled(text, kind):
    grid = entry_grid(text)
    word = {"looks": "9", "seen": "4"}
    cells = {
        (r, c): word.get(grid.across[c]["value"], str((3 * r + 5 * c) % 7 + 1))
        for r in range(len(grid.down))
        for c in range(len(grid.across))
        if grid.places[r][c].line and not grid.places[r][c].closed
    }
    if kind == "wedge":  # seen more often the wider it is open
        cells |= {(r, 1): str(min(9, r + 1)) for r in range(len(grid.down))}
    return with_cells(text, grid, cells)


@pytest.mark.parametrize("long", ["mm", "in"])
@pytest.mark.parametrize("kind", FIELDS)
def test_a_table_as_it_is_laid_out_waits_and_filled_in_is_answered(kind, long):
    slope = UNITS_ALLOWED.get(kind) is SLOPE
    unit = ({"mm": "mm_m", "in": "thou_ft"} if slope else {"mm": "um", "in": "thou"})[long]
    text = laid_out(kind, unit, long, **usual(kind, long))
    grid = entry_grid(text)
    assert grid.kind == kind and not grid.outside and not any(w for row in grid.typed() for w in row)
    fixed = [line for line in text.splitlines()[1:] if not line.startswith("# ")]
    assert not fixed or kind in ("union jack", "level", "joint", "head"), "starts of lines, bolts and feet"
    table = read_readings(filled(text, kind).encode())
    assert table.kind == kind and findings(table).sentences


def test_a_plate_that_is_slid_is_laid_out_where_it_still_lies_on_the_other():
    text = laid_out("plates", "um", bodies="A, B", stations="0 50 100", y="0", pairs="B on A slid 50, B on A turned")
    assert [line.removeprefix("# not read: ") for line in text.splitlines()[1:]] == [
        "A,B,0,50,50,0,",
        "A,B,0,50,100,0,",
        "A,B,180,0,0,0,",
        "A,B,180,0,50,0,",
        "A,B,180,0,100,0,",
    ]


def test_remarks_stand_above_and_a_division_needs_its_value():
    text = laid_out("bars", "div", remarks=["division: 0.01 mm", ""], **usual("bars"))
    assert (
        text.startswith("# division: 0.01 mm\nlower,")
        and read_readings(filled(text, "bars").encode()).gap_um.max() == 70
    )
    with pytest.raises(Refusal, match=r"the value of one division .* such as 0\.02 mm/m"):
        laid_out("union jack", "div", remarks=["division: 0.01 mm"], **usual("union jack"))


@pytest.mark.parametrize("kind, units", [("bars", SMALL), ("union jack", SLOPE)])
def test_every_unit_of_the_trade_can_be_laid_out(kind, units):
    division = "division: 0.02 mm/m" if units is SLOPE else "division: 10 um"
    for unit in units:
        text = laid_out(kind, unit.name, remarks=[division], **usual(kind))
        assert entry_grid(text).unit("gap", "reading") == unit.name


@pytest.mark.parametrize(
    "kind, changed, words",
    [
        ("bars", {"bodies": "A"}, "two or more different names"),
        ("bars", {"bodies": "A, a"}, "two or more different names"),
        ("bars", {"stations": ""}, "stations is empty"),
        ("bars", {"stations": "0 to 500"}, "0 to 550 every 50"),
        ("bars", {"stations": "0 to 500 every 0"}, "0 to 550 every 50"),
        ("bars", {"stations": "0 to 500 every 0.1"}, "0 to 550 every 50"),
        ("bars", {"stations": "0, 50, 50"}, "none twice"),
        ("bars", {"stations": "0 to 300 every 1"}, "at most 900"),
        ("bars", {"pairs": "B on D"}, "two of the names"),
        ("bars", {"pairs": "B on B"}, "two of the names"),
        ("lands", {"stations": "short"}, "gauges"),
        ("lands", {"stations": "long 400"}, "at most half the bar"),
        ("union jack", {"stations": "0"}, "foot is '0'; it must be a figure above 0"),
        ("union jack", {"stations": "0.001"}, "long enough for"),
    ],
)
def test_what_cannot_be_laid_out_is_refused_with_what_it_must_be(kind, changed, words):
    with pytest.raises(Refusal, match=words):
        laid_out(kind, "arcsec" if kind == "union jack" else "um", **usual(kind) | changed)


def test_an_unknown_kind_or_unit_is_refused():
    with pytest.raises(Refusal, match="kind is 'bolts'"):
        laid_out("bolts", "um")
    with pytest.raises(Refusal, match="unit is 'arcsec'"):
        laid_out("bars", "arcsec", **usual("bars"))


def test_stations_may_be_figures_and_ranges_in_any_order():
    assert stations_said("100, 0 to 20 every 10; 7.5") == ["100", "0", "10", "20", "7.5"]
    assert stations_said("-100..100/100") == ["-100", "0", "100"]
