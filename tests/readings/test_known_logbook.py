"""Sets of the logbook that depend on earlier sets: chains, circles, struck and changed sets, the file."""

import json
from dataclasses import replace

import numpy as np
import pytest
from chains_read import RAIL, THREE, WAY

from simulate.core.refusal import Refusal
from simulate.readings.bars.solve_bars import solve_bars
from simulate.readings.known_from import known_from
from simulate.readings.logbook.entry import DependsOn, Entry, edited, gone_back, history
from simulate.readings.logbook.file_format import written
from simulate.readings.logbook.known_bodies import dependents, known_bodies
from simulate.readings.logbook.log_findings import log_findings
from simulate.readings.logbook.logbook import LogbookError, open_logbook, rescue_logbook, save_logbook
from simulate.readings.table.read import read_readings


def book():
    one = Entry(
        THREE, "three.csv", reading_sd_um=1.0, taken="3 May", identity="one", written="2026-05-03T10:00:00+00:00"
    )
    two = Entry(
        WAY,
        "way.csv",
        reading_sd_um=1.0,
        depends_on=(DependsOn(body="edge", set="one", earlier="A"),),
        identity="two",
        written="2026-05-04T10:00:00+00:00",
    )
    links = (DependsOn(body="way", set="two", earlier="way"), DependsOn(body="edge", set="two", earlier="edge"))
    three = Entry(RAIL, "rail.csv", reading_sd_um=1.0, depends_on=links, identity="three")
    return [one, two, three]


def found(entries, k):
    own = entries[k]
    table = read_readings(own.readings.encode(), own.name)
    return log_findings(table, entries[:k], own.reading_sd_um, depends_on=own.depends_on, book=entries, own=own)


def test_a_set_is_worked_out_with_what_the_logbook_knows_and_nothing_is_typed_twice():
    entries = book()
    three, way, rail = (read_readings(part.encode()) for part in (THREE, WAY, RAIL))
    edge = known_from(solve_bars(three, 1.0), "A", name="edge")
    second = solve_bars(way, 1.0, known=[edge])
    third = solve_bars(rail, 1.0, known=[known_from(second, "way"), known_from(second, "edge")])
    np.testing.assert_allclose(found(entries, 1).solution.height_um, second.height_um, atol=1e-9)
    last = found(entries, 2)
    np.testing.assert_allclose(last.solution.covariance, third.covariance, atol=1e-9)
    assert "rail depends on way, known from way in set 2" in last.sentences[0]
    assert "A in set 1 (3 May)" in found(entries, 1).sentences[0]
    assert dependents(entries, "one") == (2, 3) and dependents(entries, "three") == ()


def test_a_certificate_in_the_logbook():
    certificate = DependsOn(body="edge", value=2.0, expanded=1.0, said="the calibration of May")
    entries = [Entry(WAY, "way.csv", reading_sd_um=1.0, depends_on=(certificate,))]
    said = found(entries, 0).sentences[0]
    assert "way depends on edge, known from the calibration of May" in said


def test_an_earlier_set_that_is_changed_changes_what_depends_on_it_and_is_said():
    entries = book()
    before = found(entries, 1)
    assert not any("was changed" in sentence for sentence in before.sentences)
    entries[0] = edited(entries[0], reading_sd_um=4.0)
    after = found(entries, 1)
    assert (after.solution.sd_um > before.solution.sd_um).all()
    assert any("Set 1, which edge is known from, was changed on" in sentence for sentence in after.sentences)


def test_a_struck_set_is_said_and_nothing_is_worked_out_with_it():
    entries = book()
    entries[0] = edited(entries[0], struck=True)
    for k in (1, 2):
        with pytest.raises(Refusal, match="set 1, which edge is known from, is struck out") as refused:
            found(entries, k)
        assert "Restore it, or choose again" in refused.value.do
    entries[0] = edited(entries[0], struck=False)
    assert found(entries, 2).solution.names == ("rail",)


def test_a_circle_is_refused_with_a_sentence():
    entries = book()
    entries[0] = replace(entries[0], depends_on=(DependsOn(body="B", set="three", earlier="rail"),))
    for k in range(3):
        with pytest.raises(Refusal, match=r"known from itself, set \d from set \d"):
            found(entries, k)
    own = replace(entries[1], depends_on=(DependsOn(body="edge", set="two", earlier="way"),))
    with pytest.raises(Refusal, match="known from itself, set 2 from set 2"):
        found([entries[0], own], 1)


def test_a_set_that_the_logbook_does_not_hold_is_refused():
    with pytest.raises(Refusal, match="no set that .* is known from"):
        found(book()[1:2], 0)


def test_the_file_keeps_what_bodies_are_known_from_and_old_ones_still_open(tmp_path):
    path = tmp_path / "mine.json"
    entries = book()
    save_logbook(path, entries)
    assert json.loads(path.read_text())["version"] == 3
    opened = open_logbook(path)
    assert list(opened) == entries and [e.identity for e in opened] == ["one", "two", "three"]
    plain = [replace(entry, depends_on=()) for entry in entries]
    assert b'"version": 2' in written("x", plain) and b"depends_on" not in written("x", plain)  # older courses read it
    changed = edited(opened[1], depends_on=())
    save_logbook(path, [opened[0], changed, opened[2]])
    again = open_logbook(path)[1]
    assert again.depends_on == () and history(again)[0].depends_on == entries[1].depends_on
    assert gone_back(again, 0).depends_on == entries[1].depends_on
    path.write_bytes(path.read_bytes()[:-300])
    assert [e.identity for e in rescue_logbook(path).entries][:2] == ["one", "two"]


@pytest.mark.parametrize(
    "bad",
    [
        "edge",
        [1],
        [{"body": "edge"}],
        [{"body": 1, "set": "", "earlier": "", "value": 0, "expanded": 0, "k": 2, "said": ""}],
    ],
)
def test_a_spoilt_link_is_refused(tmp_path, bad):
    entry = Entry(WAY)
    object.__setattr__(entry, "depends_on", (DependsOn(body="edge"),))
    data = json.loads(written("x", [entry]))
    data["entries"][0]["entry"]["wordings"][0]["depends_on"] = bad
    from simulate.readings.logbook import file_format

    data["entries"][0]["stamp"] = file_format._stamp(file_format._text(data["entries"][0]["entry"]))
    path = tmp_path / "mine.json"
    path.write_text(json.dumps(data))
    with pytest.raises(LogbookError, match="depends_on is"):
        open_logbook(path)


def test_a_body_known_from_a_set_is_what_that_set_says_with_what_was_stated_for_it():
    rows = [f"{pair},{x},{g}-{g + 20}" for pair in ("A,B", "A,C", "B,C") for x, g in enumerate((40, 60, 40))]
    bars = Entry("\n".join(["lower,upper,position_mm,gap_um", *rows]))
    way = read_readings(b"lower,upper,position_mm,gap_um\nway,A,0,0\nway,A,1,6\nway,A,2,0\n")
    link = (DependsOn(body="A", set=bars.identity, earlier="A"),)
    sds = [known_bodies(way, link, [replace(bars, feel_um=feel)])[0].sd.max() for feel in (0.0, 15.0)]
    assert sds[0] < sds[1]
