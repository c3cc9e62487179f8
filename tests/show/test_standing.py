"""Where a job stands: each body by its last readings, against what is wanted, and what comes next."""

import io
from datetime import UTC, datetime

import numpy as np
import pytest
from pypdf import PdfReader

from simulate.readings.findings import findings
from simulate.readings.logbook.entry import Entry
from simulate.readings.logbook.how_good import Lack, forms
from simulate.readings.logbook.log_findings import worked_out
from simulate.readings.logbook.standing import Step, job_standing, standings_of
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import read_readings
from simulate.show.own.workshop.report import report_html
from simulate.show.own.workshop.report_content import content
from simulate.show.own.workshop.report_pdf import pdf
from simulate.show.own.workshop.standing_sheet import HEADING, standing_rows, standing_words
from simulate.surface.straightness import straightness

X = np.linspace(-200.0, 200.0, 9)


def bars(height_um, sd_um, seed, names="ABC", digits=2):
    """Gaps of three bars, each pair read twice, with scatter; each seat lifts a little, so that no gap is below 0."""
    rng = np.random.default_rng(seed)
    rows = ["lower,upper,turned,position_mm,gap_um"]
    for a, b in ((0, 1), (0, 2), (1, 2)):
        for _ in range(2):
            gap = 900 - height_um[a] - height_um[b] + rng.normal(0, sd_um, X.size)
            rows += [f"{names[a]},{names[b]},no,{x:g},{g:.{digits}f}" for x, g in zip(X, gap)]
    return "\n".join(rows)


def shapes(size_um, seed):
    rng = np.random.default_rng(seed)
    waves = np.stack([(X / 200) ** 2, (X / 200) ** 3 - 0.6 * X / 200, np.cos(3 * X / 200)])
    return size_um * rng.normal(size=(3, 3)) @ waves


def test_each_body_stands_once_by_its_last_set_that_counts():
    entries = [
        Entry(bars(shapes(40, 1), 1.0, 1), "one.csv", taken="3 May"),
        Entry(bars(shapes(10, 2), 1.0, 2, "abC"), "two.csv", taken="4 May"),
        Entry(bars(shapes(90, 3), 1.0, 3), "three.csv", struck=True),
    ]
    found = job_standing(entries)
    assert [(one.number, one.sets, one.taken) for one in found] == [(2, 2, "4 May")] * 3
    alone = findings(read_readings(entries[1].readings.encode()))
    assert [one.value for one in found] == pytest.approx(alone.solution.straightness_um.tolist())


def test_the_form_is_at_most_what_is_said_in_about_95_of_100_jobs():
    inside = []
    for seed in range(120):
        truth = shapes(6, seed)
        found = findings(read_readings(bars(truth, 1.0, seed + 1000).encode()), 1.0)
        real = straightness(X, truth).value_um
        inside += [one.high_95 >= wide for one, wide in zip(forms(found, ""), real)]
    # errors of readings add to a form, so that an end which holds 95 of 100 shapes holds the true one more often
    assert 0.94 <= np.mean(inside) <= 1.0


def test_what_comes_next_follows_from_what_is_wanted_and_what_is_known():
    flat, rough = bars(shapes(1, 1), 0.5, 1), bars(shapes(60, 1), 0.5, 1)
    steps = {
        wanted: {one.step for one in job_standing([Entry(flat, "flat.csv", target_um=wanted, reading_sd_um=0.5)])}
        for wanted in (200.0, 0.01)
    }
    assert steps[200.0] == {Step.REACHED} and Step.REACHED not in steps[0.01]
    assert {one.step for one in job_standing([Entry(rough, "rough.csv", target_um=5.0)])} == {Step.CUT}
    once = "lower,upper,position_mm,gap_um\n" + "\n".join(
        f"{a},{b},{x},{g}" for a, b in ("AB", "AC", "BC") for x, g in ((0, 0), (50, 9), (100, 0))
    )
    (one, *_) = job_standing([Entry(once, "once.csv", target_um=500.0)])
    assert one.high_95 is None and one.step is Step.READ and one.next_reading


def test_a_set_that_is_refused_stands_by_itself_and_says_why():
    (one,) = job_standing([Entry("lower,upper,position_mm,gap_um\nA,B,0,thick\n", "bad.csv")])
    assert one.step is Step.REFUSED and one.body == "bad.csv" and "'thick'" in one.why
    assert any("'thick'" in words for words in standing_words([one]))
    assert standing_rows([one])[0][1] == "not known"


def test_an_empty_logbook_says_what_to_do():
    assert job_standing([]) == () and "add a first set" in standing_words([])[0]


BED = "how,way,x_mm,y_mm,set,gap_at_least_um,gap_at_most_um\n"


def bed_by_blades(sets):
    """One way under an edge at five places; each set gives the lower ends, and none for an open upper end."""
    rows = [
        f"edge,front,{200 * k},0,{name},{abs(low)},{'' if low < 0 else low + 10}"
        for name, lows in sets.items()
        for k, low in enumerate(lows)
    ]
    return BED + "\n".join(rows)


def test_a_bed_stands_by_its_features_and_is_never_called_flat():
    bed, joint = (
        Entry(demo_path(f"demo_{kind}.csv").read_text(), f"{kind}.csv", target_um=20.0) for kind in ("bed", "joint")
    )
    standings = job_standing([bed, joint])
    told = {(one.kind, one.quantity) for one in standings}
    assert {("bed", "straightness"), ("bed", "twist"), ("joint", "offset"), ("joint", "angle")} <= told
    assert all(one.quantity != "flatness" for one in standings)
    solution = {kind: findings(read_readings(demo_path(f"demo_{kind}.csv"))).solution for kind in ("bed", "joint")}
    for kind, name in (("bed", "twist"), ("joint", "offset"), ("joint", "angle")):
        feature = next(one for one in solution[kind].features if one.name == name)
        one = next(one for one in standings if one.kind == kind and one.quantity == name)
        assert (one.value, one.low_95, one.high_95) == pytest.approx((feature.value, feature.low_95, feature.high_95))
    page = " ".join([*standing_words(standings), *(cell for row in standing_rows(standings) for cell in row)])
    assert "flat" not in page and "twisted by" in page and "offset by" in page and "at an angle of" in page
    twist = next(one for one in standings if one.quantity == "twist")
    assert twist.limit is not None and twist.wanted_um is None
    assert (twist.step is Step.REACHED) == (twist.limit[0] <= twist.low_95 and twist.high_95 <= twist.limit[1])


def test_an_eye_is_known_and_never_called_good_enough():
    eye = Entry(demo_path("demo_wedge.csv").read_text(), "eye.csv")
    (one,) = job_standing([eye])
    assert one.step is Step.KNOWN and one.lack is None
    words = " ".join([*standing_words([one]), *standing_rows([one])[0]])
    assert "good enough" not in words and "Known: eye.csv." in words


@pytest.mark.parametrize(
    "sets, lack, words",
    [
        ({"a": (0, -100, 0, 20, 0)}, Lack.OPEN, "read again with an upper limit"),
        ({"a": (0, 20, 60, 20, 0), "b": (0, 0, 0, 0, 0)}, Lack.CONTRADICTION, "contradict"),
        ({"a": (0, 20, 30, 20, 0)}, None, "good enough: bed.csv (straightness of front)"),
    ],
)
def test_nothing_is_reached_by_readings_that_are_open_or_contradict_each_other(sets, lack, words):
    standings = job_standing([Entry(bed_by_blades(sets), "bed.csv", target_um=9000.0)])
    (straight,) = [one for one in standings if one.quantity == "straightness"]
    assert straight.lack is lack and (straight.step is Step.REACHED) == (lack is None)
    assert words in " ".join(standing_words(standings))
    assert lack is not Lack.CONTRADICTION or "how good one reading is" not in " ".join(standing_words(standings))


@pytest.mark.parametrize("cell", ["position_mm", "height_mm"])
def test_a_contradiction_of_bars_or_squares_is_a_lack_and_names_its_rows(cell):
    rows = [
        f"{pair},{at},{low},{low + 10}"
        for middle in (0, 400)
        for pair in ("A,B", "A,C", "B,C")
        for at, low in ((0, 0), (100, middle), (200, 0))
    ]
    text = "\n".join([f"lower,upper,{cell},gap_at_least_um,gap_at_most_um", *rows])
    standings = job_standing([Entry(text, "mine.csv", target_um=9000.0)])
    assert len(standings) == 3
    assert {(one.lack, one.step, one.next_reading) for one in standings} == {(Lack.CONTRADICTION, Step.READ, "")}
    said = standing_words(standings)
    assert sum("contradict each other, at rows" in one for one in said) == 1


def test_report_and_page_work_each_set_out_once(monkeypatch):
    from simulate.readings.logbook import log_findings

    counted = []
    plain = log_findings.entry_findings
    monkeypatch.setattr(log_findings, "entry_findings", lambda *more: counted.append(1) or plain(*more))
    entries = [
        Entry(bars(shapes(40, 1), 1.0, 1), "one.csv"),
        Entry(demo_path("demo_wedge.csv").read_text(), "eye.csv"),
        Entry("words", "bad.csv"),
        Entry("words", "struck.csv", struck=True),
    ]
    content(entries)
    assert len(counted) == 2
    worked = worked_out(entries)
    assert [one.number for one in worked] == [1, 2, 3] and worked[2].refusal and not worked[2].found
    assert standings_of(worked) == job_standing(entries)


@pytest.mark.parametrize("units, spelled", [("mm", "µm"), ("inch", "thou")])
def test_every_row_has_a_cell_under_each_head_in_the_learners_units(units, spelled):
    entries = [
        Entry(bars(shapes(40, 1), 1.0, 1), "one.csv", target_um=20.0),
        Entry(demo_path("demo_squares.csv").read_text(), "squares.csv", target_um=20.0),
        Entry(demo_path("demo_wedge.csv").read_text(), "eye.csv"),
    ]
    rows = standing_rows(job_standing(entries), units)
    assert len(rows) == 7 and all(len(row) == len(HEADING) and all(row) for row in rows)
    assert all(spelled in row[1] for row in rows)


def test_the_report_begins_with_the_job_and_five_sets_of_one_job_take_six_pages():
    entries = [
        Entry(bars(shapes(size, 7), 1.0, k), f"round {k}.csv", target_um=10.0, taken=f"{k} May")
        for k, size in enumerate((200, 80, 30), 1)
    ]
    entries += [
        Entry(demo_path("demo_squares.csv").read_text(), "squares.csv"),
        Entry(demo_path("demo_survey.csv").read_text(), "survey.csv"),
    ]
    told = content(entries, made="2026-05-09", appendix=False)
    page = report_html(told)
    assert page.index("Where the job stands") < page.index("3. round 3.csv")
    assert "1. round 1.csv" not in page and "Appendix" not in page
    paper = PdfReader(io.BytesIO(pdf(told, datetime(2026, 5, 9, tzinfo=UTC))))
    assert "Where the job stands" in paper.pages[0].extract_text()
    assert len(paper.pages) <= 6
    whole = report_html(content(entries, made="2026-05-09"))
    assert whole.index("Appendix") < whole.index("1. round 1.csv") and entries[0].readings.splitlines()[3] in whole


def test_what_shims_cure_is_shimmed_and_the_form_of_a_part_loses_metal():
    joint = Entry(demo_path("demo_joint.csv").read_text(encoding="utf-8"), "joint.csv")
    cuts = [one for one in job_standing([joint]) if one.step is Step.CUT]
    next_of = {one.quantity: row[-1] for one, row in zip(cuts, standing_rows(cuts), strict=True)}
    assert "shim" in next_of["offset"] and "shim" in next_of["angle"]
    assert "take metal off" in next_of["straightness"]
    said = " ".join(standing_words(job_standing([joint])))
    assert "Shim: joint.csv" in said and "Take metal off: joint.csv" in said
