"""The invented job that comes with the course: every kind in one logbook, each result held against its truth and the
chain against one least squares of all readings."""

import csv

import numpy as np
import pytest
import whole_job as made

from simulate.readings.logbook.entry import edited
from simulate.readings.logbook.file_format import written
from simulate.readings.logbook.log_findings import entry_findings, worked_out
from simulate.readings.logbook.logbook import example_job, open_logbook
from simulate.readings.logbook.measured_links import filled_sheet
from simulate.readings.logbook.standing import Step, standings_of
from simulate.readings.table.read import read_readings
from simulate.readings.table.readings import KINDS
from simulate.show.own.budget.own_budget import workshop_rows
from simulate.show.own.workshop.logbook_box import EXAMPLE
from simulate.show.own.workshop.own_workshop import OwnWorkshopPanel


@pytest.fixture(scope="module")
def job():
    return made.whole_job()


@pytest.fixture(scope="module")
def worked(job):
    return {one.entry.name: one for one in worked_out(job.entries)}


def test_the_logbook_that_comes_with_the_course_is_the_one_that_is_made_here(job):
    assert example_job().read_bytes() == written("example_job.json", job.entries)
    assert all("Invented readings of an invented workshop" in entry.readings for entry in job.entries)


def test_it_goes_through_every_kind_and_nothing_is_refused(worked):
    assert all(one.refusal is None for one in worked.values())
    assert {one.table.kind for one in worked.values()} == set(KINDS)


def test_black_bars_end_in_a_cut_and_in_no_claim(worked):
    black = [one for one in standings_of([worked["black bars.csv"]])]
    assert {one.body for one in black} == set(made.BARS) and all(one.step is not Step.REACHED for one in black)


def rows_of(text):
    return csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))


def bare(x, height):
    return height - np.polynomial.Polynomial.fit(x, height, 1)(x)


def test_bars_are_within_their_ranges(job, worked):
    s = worked["bars.csv"].found.solution
    true = np.array([bare(made.X, bar) for bar in job.bars_um])
    inside = (s.low_95_um <= true) & (true <= s.high_95_um)
    assert inside.mean() >= 0.9 and np.abs(s.height_um - true).max() < 2.5


def test_squares_crossing_and_twist_are_within_their_ranges(job, worked):
    stands = standings_of(list(worked.values()))
    for name, true in zip(made.SQUARES, job.squares_urad, strict=True):
        one = next(one for one in stands if one.body == name)
        assert one.low_95 <= true <= one.high_95
    lone = next(one for one in stands if one.body == "the square")
    assert lone.low_95 <= job.squares_urad[0] <= lone.high_95
    front, back = (job.bed[way, "upright"] for way in ("front", "back"))
    twist = ((back(800) - front(800)) - (back(0) - front(0))) / 200 * 1000
    one = next(one for one in stands if one.body == "bed.csv" and one.quantity == "twist")
    assert one.low_95 <= twist <= one.high_95 and one.hangs_on == ("Heron in set 3 (day 3)",)


def test_what_hangs_on_the_bar_agrees_with_one_least_squares_of_all_readings(job):
    """Bars (set 3) and bed (set 12) by one lstsq with the stated spread, the bed with a level across left out."""
    bars_sd, bed_sd = 0.8, 1.0
    bars = job.entries[2]
    bed = job.entries[11]
    kept = "\n".join(line for line in bed.readings.splitlines() if not line.startswith("cross")) + "\n"
    book = [
        edited(bars, reading_sd_um=bars_sd),
        edited(bed, readings=kept, reading_sd_um=bed_sd),
    ]
    found = entry_findings(read_readings(kept.encode(), bed.name), book[1], book).solution

    x, unknown = made.X, {}

    def column(*key):
        return unknown.setdefault(key, len(unknown))

    rows, right, weight = [], [], []
    for number, row in enumerate(rows_of(bars.readings)):
        fit, at = ("bars", number // x.size), float(row["position_mm"])
        over = x[-1] - at if row["turned"] == "yes" else at
        rows.append({column(row["lower"], at): -1.0, column(row["upper"], over): -1.0, column(*fit, 0): 1.0})
        rows[-1][column(*fit, 1)] = at
        right.append(float(row["gap_um"]))
        weight.append(1 / bars_sd)
    for row in rows_of(kept):
        at = float(row["x_mm"])
        rows.append({column(row["way"], at): -1.0, column("Heron", at): -1.0, column("bed", row["set"], 0): 1.0})
        rows[-1][column("bed", row["set"], 1)] = at
        right.append(float(row["gap_um"]))
        weight.append(1 / bed_sd)
    a = np.zeros((len(rows), len(unknown)))
    for k, row in enumerate(rows):
        for at, value in row.items():
            a[k, at] += value
    w = np.array(weight)
    joint = np.linalg.lstsq(a * w[:, None], np.array(right) * w, rcond=1e-10)[0]

    at = [unknown[way, place] for way in ("front", "back") for place in x[::2]]
    line = np.stack([np.ones(x[::2].size), x[::2] - x.mean()])
    out = np.kron(np.eye(2), np.eye(line.shape[1]) - np.linalg.pinv(line) @ line)
    spread = np.linalg.pinv((a * w[:, None]).T @ (a * w[:, None]), rcond=1e-12, hermitian=True)
    np.testing.assert_allclose(out @ found.heights.height_um, out @ joint[at], atol=1e-6)
    np.testing.assert_allclose(out @ found.heights.covariance @ out, out @ spread[np.ix_(at, at)] @ out, atol=1e-6)


def test_one_page_stands_at_the_head_of_its_report_and_its_sheet_is_filled(job, worked, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    panel = OwnWorkshopPanel(logbook="mine.json", units="mm")
    panel.box.buttons["example"].click()
    assert panel.message.value == "" and "Your own logbook is untouched: put mine.json back" in panel.box.said.value
    assert len(panel.box.entries) == len(open_logbook(EXAMPLE)) == len(job.entries)
    panel.box.file.value = "mine.json"
    panel.box.buttons["example"].click()
    assert open_logbook(EXAMPLE) == job.entries, "what stands there is opened and never laid anew"
    filled = filled_sheet(workshop_rows(), list(worked.values()))
    roles = [name.split(":")[0] for name in filled.measured]
    assert roles == ["straightedge", "plate", "square", "sight at the bars", "sight at the bed"]
