"""The sheet of lesson 17 from a logbook: what was measured comes from there, once, and the rest stays as it was."""

import math
from dataclasses import replace

import pytest

from simulate.readings.logbook.budget_sheet import links_of
from simulate.readings.logbook.entry import Entry
from simulate.readings.logbook.log_findings import worked_out
from simulate.readings.logbook.logbook import save_logbook
from simulate.readings.logbook.measured_links import filled_sheet
from simulate.readings.logbook.standing import standings_of
from simulate.readings.table.demo import demo_path
from simulate.show.own.budget.own_budget import MOST, OwnChainPanel, filled_words, workshop_rows


def entry(name, **more):
    return Entry(demo_path(name).read_text(encoding="utf-8"), name, **more)


BOOK = [entry(f"demo_{kind}.csv") for kind in ("bars_light", "plates_rounds", "squares", "wedge")]


@pytest.fixture(scope="module")
def worked():
    return worked_out(BOOK)


def test_what_was_measured_takes_the_place_of_what_was_supposed(worked):
    filled = filled_sheet(workshop_rows(), worked)
    roles = [name.split(":")[0] for name in filled.measured]
    assert roles == ["straightedge", "plate", "square", "sight at the bars", "sight at the bed"]
    assert filled.supposed == ("sag", "heat", "dial")
    before = {row.link: row for row in workshop_rows()}
    for row in filled.rows:
        if row.link in filled.supposed:
            assert row == before[row.link]
        elif row.link.startswith(("sight", "square")):  # what one unit does to the bed is the workshop's own
            assert row.per_unit == before[row.link.split(":")[0]].per_unit


def test_a_row_says_how_far_the_best_body_may_be_out_with_95_of_100(worked):
    rows = {row.link.split(":")[0]: row for row in filled_sheet((), worked).rows}
    for role, quantity in (("straightedge", "straightness"), ("plate", "flatness"), ("square", "squareness")):
        out = [max(abs(one.high_95), abs(one.low_95 or 0)) for one in standings_of(worked) if one.quantity == quantity]
        assert float(rows[role].figure) == pytest.approx(min(out), rel=0.01) and rows[role].kind == "95 %"
    eye = worked[3].found.solution
    assert float(rows["sight at the bed"].figure) == pytest.approx(eye.often_95_um[1], rel=0.01)
    sds = {link.name.split(":")[0]: link.sd for link in links_of(filled_sheet((), worked).rows)}
    assert sds["sight at the bed"] == pytest.approx(eye.often_95_um[1] / math.sqrt(3), rel=0.01)


def test_filling_twice_changes_nothing_and_a_later_set_takes_the_place_of_an_earlier(worked):
    once = filled_sheet(workshop_rows(), worked)
    assert filled_sheet(once.rows, worked).rows == once.rows
    lands = replace(worked_out([entry("demo_lands.csv")])[0], number=5)
    later = filled_sheet(once.rows, (*worked, lands))
    assert later.measured[0].endswith(", set 5") and len(later.rows) == len(once.rows)
    fresh = filled_sheet(workshop_rows(), (*worked, lands))
    assert "bar between lands" in fresh.supposed, "lands say nothing of what lies between them"
    assert "bar between lands" not in filled_sheet(workshop_rows(), (lands, replace(worked[0], number=6))).supposed


def test_the_sheet_of_an_inch_workshop_says_the_same_in_thou(worked):
    mm, inch = filled_sheet((), worked), filled_sheet((), worked, "inch")
    for a, b in zip(links_of(mm.rows), links_of(inch.rows, "inch")):
        assert a.sd * a.um_per_unit == pytest.approx(b.sd * b.um_per_unit, rel=0.02)


def test_readings_that_tell_no_range_go_into_no_row_and_are_named():
    one_look = "lower,upper,position_mm,gap_um\n" + "".join(
        f"{pair},{x},{g}\n" for pair in ("A,B", "A,C", "B,C") for x, g in ((0, 0), (50, 4), (100, 0))
    )
    filled = filled_sheet(workshop_rows(), worked_out([Entry(one_look), BOOK[2]]))
    assert [one.body for one in filled.untold] == ["A", "B", "C"] and len(filled.measured) == 1
    assert "No range is known yet for A (set 1), B (set 1), C (set 1)" in filled_words(filled)
    struck = worked_out([Entry(BOOK[2].readings, struck=True)])
    assert filled_sheet(workshop_rows(), struck).rows == workshop_rows()


def test_the_panel_fills_its_sheet_from_a_logbook_and_takes_it_back(tmp_path):
    book = tmp_path / "book.json"
    panel = OwnChainPanel(sheet=str(tmp_path / "mine.csv"), logbook=str(book))
    before, whole = panel.rows(), float(panel.chain.combined_um)
    panel.from_logbook.click()
    assert "book.json cannot be opened" in panel.message.value and panel.rows() == before
    save_logbook(book, [entry("demo_bars.csv")])
    panel.from_logbook.click()
    assert "without a set that shows how far" in panel.message.value and panel.rows() == before
    save_logbook(book, BOOK[2:])
    panel.from_logbook.click()
    assert "From the logbook: square: " in panel.said.value and panel.message.value == ""
    assert (
        "Nobody measured lands, bar between lands, sag, heat, plate, dial: the figures there are yours to set."
        in panel.said.value
    )
    assert float(panel.chain.combined_um) != whole and len(panel.rows()) <= MOST
    panel.undo.click()
    assert panel.rows() == before and float(panel.chain.combined_um) == whole
