"""A straightedge along lines of a plate: gaps, blades and a dial give heights, what they hide and how sure they are."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lines_read import LINES, NET, bare, edge, face, table_of
from scipy.stats import binomtest

from simulate.core.refusal import Refusal
from simulate.method.plates.edge_survey import read_edge, survey_edge
from simulate.readings.edge.edge_findings import solve_edge
from simulate.readings.findings import findings
from simulate.readings.known_from import known_from
from simulate.readings.logbook.joining import joined
from simulate.readings.network.against_known import STRAIGHTEDGE
from simulate.readings.network.places import flat_rigid, line_or_face
from simulate.readings.reference.known import Known, Source
from simulate.readings.rounds.round_errors import ERRORS
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import read_readings
from simulate.surface.flatness import flatness
from simulate.surface.starting_plates import starting_plates

TRIES = [100, pytest.param(400, marks=pytest.mark.long)]
ROWS_AND_COLUMNS = {name: ends for name, ends in NET.items() if name not in ("up", "down")}


def feature(solved, name, of=""):
    return next(one for one in solved.features if one.name == name and of in one.of)


def test_heights_are_those_of_the_survey_on_a_square_grid_that_lesson_12_works_out():
    # an independent way: one unknown a line and a crossing, on an even grid, by its own normal equations
    x, y, (plate,) = starting_plates(400, 400, 200, points=5, plates=1, seed=2)
    gaps = read_edge(x, y, plate, ("along", "across", "corners"))
    rows = ["line,x_mm,y_mm,gap_um"]
    rows += [f"r{j},{x[i]},{y[j]},{gaps.along_um[j, i]!r}" for j in range(5) for i in range(5)]
    rows += [f"c{i},{x[i]},{y[j]},{gaps.across_um[j, i]!r}" for i in range(5) for j in range(5)]
    for name, ends, lines in (("d", x, y), ("e", x[::-1], y)):
        k = 0 if name == "d" else 1
        rows += [f"{name},{a},{b},{g!r}" for a, b, g in zip(ends, lines, gaps.corners_um[k], strict=True)]
    found = solve_edge(table_of([row.replace("np.float64(", "").replace(")", "") for row in rows]), 1.4).heights
    known = survey_edge(x, y, gaps, reading_sd_um=1.4)
    at = [
        (int(np.argmin(abs(y - b))), int(np.argmin(abs(x - a)))) for a, b in zip(found.network.x_mm, found.network.y_mm)
    ]
    there = np.array([known.height_um[place] for place in at])
    np.testing.assert_allclose(bare(found.network.x_mm, found.network.y_mm, there), found.height_um, atol=1e-6)
    truth = np.array([plate[place] for place in at])
    np.testing.assert_allclose(bare(found.network.x_mm, found.network.y_mm, truth), found.height_um, atol=1e-6)


def test_rows_and_columns_leave_twist_alone_unseen_and_a_diagonal_shows_it():
    rng = np.random.default_rng(1)
    found = findings(edge(rng, face(rng), 1.0, ROWS_AND_COLUMNS, 5), 1.0)
    assert len(found.solution.heights.hidden) == 1 and "Twist stays unseen" in found.hidden[0]
    assert found.map is None and found.next.shows == 1
    corner = found.next.name
    assert corner == "a line from x 0, y 0 to x 400, y 300 mm" or "to x" in corner


def test_twist_seen_corner_to_corner_is_twice_the_hollow_of_the_middle():
    # a corner-to-corner hollow of g puts those corners 2 g above the others (derived in lesson 12)
    twist = lambda x, y: 40.0 * (x / 200 - 1) * (y / 150 - 1)  # noqa: E731
    rng = np.random.default_rng(2)
    found = solve_edge(edge(rng, twist, 1e-6, NET, 5), 1.0)
    assert abs(feature(found, "twist").value - 2 * 2 * 40 / 0.3) < 1e-3  # both ends, both ways, over 300 mm
    assert abs(feature(found, "flatness").value - 80.0) < 1e-3


def test_a_dial_in_a_bridge_counts_where_the_plate_stands_higher():
    rng = np.random.default_rng(3)
    height = face(rng)
    gaps, dial = (solve_edge(edge(rng, height, 1e-6, NET, 5, dial=d), 1.0).heights for d in ((), tuple(NET)))
    np.testing.assert_allclose(gaps.height_um, dial.height_um, atol=1e-3)


def test_an_edge_that_is_proud_in_its_middle_is_copied_into_the_plate_and_said_so():
    # rows alone, an edge proud by 1 um: each row comes out hollow by 1 um, and no reading would reveal it
    rng = np.random.default_rng(4)
    found = findings(edge(rng, face(rng), 1.0, {"row": (0, 0, 400, 0)}, 9), 1.0)
    said = next(one for one in found.hidden if "proud by 1 um" in one)
    assert "and no reading would reveal it" in said and "never a bow" in said


def cases(how, sd, seed, tries, lines=NET, **more):
    rng, inside = np.random.default_rng(seed), {"height": 0, "flatness": 0, "twist": 0}
    for _ in range(tries):
        height = face(rng, more.get("high", 20.0))
        dial = ("row 1", "up", "down") if how == "dial" else ()
        table = edge(rng, height, 1.0, lines, 5, "points" if dial else how, feel=2.0, dial=dial)
        found = solve_edge(table, sd, bounds=False)
        h, net = found.heights, found.heights.network
        truth = bare(net.x_mm, net.y_mm, height(net.x_mm, net.y_mm))
        k = rng.integers(truth.size)
        inside["height"] += bool(h.low_95_um[k] <= truth[k] <= h.high_95_um[k])
        flat, twist = feature(found, "flatness"), feature(found, "twist")
        inside["flatness"] += bool(flat.low_95 <= flatness(net.x_mm, net.y_mm, truth).value_um <= flat.high_95)
        a, b = (np.polyfit(net.x_mm[at], truth[at], 1)[0] for at in (found.lines["row 0"], found.lines["row 4"]))
        inside["twist"] += bool(twist.low_95 <= (b - a) * 400 / 300 * 1000 <= twist.high_95)
    return inside


@pytest.mark.parametrize("how", ["points", "dial"])
@pytest.mark.parametrize("sd", [1.0, None])
@pytest.mark.parametrize("tries", TRIES)
def test_what_is_said_to_hold_95_in_100_does_where_gaps_are_figures(how, sd, tries):
    inside = cases(how, sd, 7, tries)
    for what, count in inside.items():
        assert binomtest(count, tries, 0.95 if what != "flatness" else 0.94, alternative="less").pvalue > 0.002, inside


@pytest.mark.parametrize("tries", [10, pytest.param(400, marks=pytest.mark.long)])
def test_what_blades_say_holds_93_in_100_though_the_faces_have_waves_that_the_prior_does_not_name(tries):
    # where all gaps lie under the thinnest blade the size of a face is the prior's alone: no such faces here
    inside = cases("blades", None, 8, tries, high=60.0)
    for what in ("height", "twist"):
        assert binomtest(inside[what], tries, 0.93, alternative="less").pvalue > 0.002, inside


def test_intervals_alone_are_certain_and_hold_the_truth():
    rng = np.random.default_rng(9)
    rows = ["line,x_mm,y_mm,gap_at_least_um,gap_at_most_um"]
    height = face(rng)
    for name, (x0, y0, x1, y1) in LINES.items():
        part = np.linspace(0, 1, 5)
        x, y = x0 + (x1 - x0) * part, y0 + (y1 - y0) * part
        gap = 300 - height(x, y)
        rows += [f"{name},{a},{b},{10 * np.floor(g / 10)},{10 * np.floor(g / 10) + 10}" for a, b, g in zip(x, y, gap)]
    found = solve_edge(table_of(rows)).heights
    truth = bare(found.network.x_mm, found.network.y_mm, height(found.network.x_mm, found.network.y_mm))
    assert (found.bounds.low_um <= truth + 1e-6).all() and (truth <= found.bounds.high_um + 1e-6).all()
    assert np.isfinite(found.bounds.low_um).all()


def test_blades_that_contradict_each_other_are_told_as_a_sentence_with_their_rows():
    rows = ["line,x_mm,y_mm,gap_at_least_um,gap_at_most_um"]
    rows += [f"a,{x},0,{g},{g + 10}" for x, g in ((0, 0), (100, 50), (200, 0))]
    rows += [f"a,{x},0,{g},{g + 10}" for x, g in ((0, 0), (100, 0), (200, 0))]
    said = " ".join(findings(table_of(rows)).sentences)
    assert "contradict each other" in said and "rows" in said


def by_blades(shift_um=0.0, open_at=()):
    """Gaps under an edge on blocks over a bowl, to 10 um: one of them shifted, some of them without an upper end."""
    rows = ["line,x_mm,y_mm,gap_at_least_um,gap_at_most_um"]
    for name, (x0, y0, x1, y1) in NET.items():
        for part in np.linspace(0, 1, 5):
            x, y = x0 + (x1 - x0) * part, y0 + (y1 - y0) * part
            gap = 300 - 60 * (x / 200 - 1) ** 2 - 40 * (y / 150 - 1) ** 2
            low = 10 * np.floor(gap / 10) + (shift_um if (name, part) == ("row 2", 0.25) else 0.0)
            rows.append(f"{name},{x:g},{y:g},{low:g},{'' if (name, part) in open_at else low + 10}")
    return table_of(rows)


def test_gaps_that_cannot_all_be_true_are_a_finding_and_leave_no_range():
    table, plain = by_blades(200.0), findings(by_blades())
    row = int(table.row[11])
    found = findings(table, target_um=1000.0)
    against = found.solution.heights.against
    assert against.rows and row in against.rows and row in against.alone and not against.explained
    sentence = next(one for one in found.sentences if "contradict each other" in one)
    assert "cannot all be true" in sentence and sentence == against.sentence
    assert found.consistency.sentences[0] == against.short
    assert found.solution.heights.low_95_um is None and not any(one.ranged for one in found.solution.features)
    assert not found.map.sure.any() and "Do not stop: the readings contradict each other" in found.stop.sentence
    # the same gaps without the slip
    assert plain.solution.heights.against is None and plain.solution.features[0].ranged
    assert not any("contradict" in one for one in plain.sentences)


def test_blades_that_feel_can_make_agree_keep_their_ranges_and_say_so():
    found = findings(by_blades(shift_um=100.0))
    against = found.solution.heights.against
    assert against is not None and against.explained and found.solution.features[0].ranged
    assert "standard deviations are enough" in against.sentence and against.sentence in found.sentences


def test_a_form_that_only_gaps_without_an_upper_end_tell_is_open_and_never_asks_to_stop():
    found = findings(by_blades(open_at=[("row 0", 0.0), ("column 0", 0.0), ("up", 0.0)]), target_um=1000.0)
    flat = feature(found.solution, "flatness")
    assert flat.told and flat.open and not feature(found.solution, "straightness", "line row 2").open
    assert not found.stop.stop and "without an upper limit do not settle the work" in found.stop.sentence
    assert findings(by_blades(), target_um=1000.0).stop.stop


@pytest.mark.parametrize("digits", [4, 1])
def test_places_that_are_rounded_tell_no_plane_and_move_nothing(digits):
    # thirds of 800 and 500 mm lie beside a slant line by as little as they are rounded
    rng, grid = np.random.default_rng(10), range(4)
    height = face(rng, 20.0, 800, 500)
    lines = {f"row {j}": [(i, j) for i in grid] for j in grid} | {f"column {i}": [(i, j) for j in grid] for i in grid}
    lines |= {"up": [(k, k) for k in grid], "down": [(k, 3 - k) for k in grid]}
    gaps = {name: [400 - height(800 * i / 3, 500 * j / 3) + rng.normal() for i, j in at] for name, at in lines.items()}
    exact, written = (
        solve_edge(
            table_of(
                ["line,x_mm,y_mm,gap_um"]
                + [
                    f"{name},{800 * i / 3:.{places}f},{500 * j / 3:.{places}f},{gap:.6f}"
                    for name, at in lines.items()
                    for (i, j), gap in zip(at, gaps[name], strict=True)
                ]
            ),
            1.0,
        ).heights
        for places in (9, digits)
    )
    assert written.freedom == exact.freedom
    np.testing.assert_allclose(written.height_um, exact.height_um, atol=0.02)
    np.testing.assert_allclose(written.sd_um, exact.sd_um, rtol=0.02)
    truth = bare(exact.network.x_mm, exact.network.y_mm, height(exact.network.x_mm, exact.network.y_mm))
    assert np.abs(exact.height_um - truth).max() < 5 * exact.sd_um.max()


# -- files -------------------------------------------------------------------------------------------------------------

GOOD = "line,x_mm,y_mm,gap_um,dial_um\na,0,0,3,\na,50,0,4,\na,100,0,,5\n"
SLIPS = {
    "no place": ("line,x_mm,gap_um\na,0,3\n", "a column y_mm or y_in"),
    "no reading column": ("line,x_mm,y_mm,set\na,0,0,1\n", "is no such column|a column gap_|says no unit|reading"),
    "a row without a reading": (GOOD + "a,150,0,,\n", "the row gives no gap at all"),
    "gap and dial in one row": (GOOD + "a,150,0,3,3\n", "a gap is given beside the other reading"),
    "a gap below nothing": (GOOD + "a,150,0,-3,\n", "a gap cannot be below 0"),
    "words for a dial": (GOOD + "a,150,0,,high\n", "where the work is higher"),
    "a column of another kind": (GOOD.replace("gap_um", "proud_um"), "has no meaning|no column|land|lands"),
    "no name of a line": (GOOD + ",150,0,3,\n", "a short name"),
    "one place": ("line,x_mm,y_mm,gap_um\na,0,0,3\na,0,0,3\n", "two or more, with a reading at each"),
    "beside the line": (GOOD + "a,60,40,3,\n", "on the straight line from one end"),
}


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_in_a_file_of_an_edge_is_refused_in_one_sentence_that_names_it(slip):
    text, words = SLIPS[slip]
    with pytest.raises(Refusal, match=words) as refused:
        findings(read_readings(text.encode(), "mine.csv"))
    assert str(refused.value).startswith("mine.csv") and "\n" not in str(refused.value)


def test_rounds_of_an_edge_join_and_cells_of_the_bench_are_understood():
    first = read_readings(b"line,x_mm,y_mm,gap_um\na,0,0,<30\na,50,0,40-50\na,100,0,dark\n")
    assert first.kind == "edge" and first.is_interval.all() and first.high_um.tolist() == [30, 50, 2.5]
    both = joined([first, read_readings(b"line,x_in,y_in,gap_thou\na,0,0,1\na,2,0,1\na,4,0,1\n")])
    assert both.round.tolist() == [1, 1, 1, 2, 2, 2] and both.is_interval.tolist() == [True] * 3 + [False] * 3


def test_the_invented_example_holds_the_face_that_it_was_made_from():
    found = findings(read_readings(demo_path("demo_edge.csv")))
    assert found.kind == "edge" and found.solution.heights.by_intervals and len(found.rows) == 14


DIAGONALS = {
    "s": (0, 0, 400, 0),
    "n": (0, 250, 400, 250),
    "w": (0, 0, 0, 250),
    "e": (400, 0, 400, 250),
    "d1": (0, 0, 400, 250),
    "d2": (400, 0, 0, 250),
}


def typed(places, digits, seed=1):
    """Readings at seven places of each line, their places typed to so many digits after the point."""
    rng, rows = np.random.default_rng(seed), ["line,x_mm,y_mm,gap_um"]
    for name, (a, b, c, d) in places.items():
        part = np.linspace(0, 1, 7)
        x, y = a + (c - a) * part, b + (d - b) * part
        gap = 90 + 30 * part - 30 * np.sin(x / 60) * np.cos(y / 45) + rng.normal(0, 0.5, 7)
        rows += [f"{name},{u:.{digits}f},{v:.{digits}f},{g:.2f}" for u, v, g in zip(x, y, gap, strict=True)]
    return read_readings("\n".join(rows).encode())


@pytest.mark.parametrize("digits", [1, 0])
def test_a_line_is_as_straight_as_it_is_however_its_places_are_rounded(digits):
    # a diagonal whose places were typed to 0.1 mm counted as a face, and came out 6.6 um in place of 27
    exact, rounded = (findings(typed(DIAGONALS, places), 0.5).solution.features for places in (9, digits))
    assert [one.of for one in exact] == [one.of for one in rounded]
    for one, other in zip(exact, rounded, strict=True):
        ends = [(f.value, f.low_95, f.high_95) for f in (one, other)]
        np.testing.assert_allclose(*ends, atol=0.25 if digits == 0 else 0.05)


@pytest.mark.parametrize("beside", [0.0, 0.1, -1.5])
def test_one_line_alone_whose_places_lie_a_little_beside_it_is_still_a_line(beside):
    # derived: gaps of 0, 7, 20, 11 and 0 um at even steps are 20 um out between two lines along it
    rows = [f"a,{100 * k},{beside * (k == 2)},{gap}" for k, gap in enumerate((0, 7, 20, 11, 0))]
    table = read_readings("\n".join(["line,x_mm,y_mm,gap_um", *rows]).encode())
    found = findings(table, 0.5)
    assert [(one.name, one.of) for one in found.solution.features] == [("straightness", "line a")]
    assert found.solution.features[0].value == pytest.approx(20.0, abs=0.01)
    one = ERRORS["edge"](table, 0.5, 1)
    assert [one.form_um, one.measure(one.value_um)] == pytest.approx([20.0, 20.0], abs=0.01)
    np.testing.assert_allclose(found.map.remove_um[0], [20, 13, 0, 9, 20], atol=0.01)
    known = known_from(found.solution, "line a")
    np.testing.assert_allclose(known.value, [6.8, 0.2, -12.4, -3.0, 8.4], atol=0.01)


@settings(deadline=None)
@given(st.integers(3, 9), st.floats(0, np.pi), st.floats(-0.25, 0.25), st.floats(0.1, 1e3))
def test_places_near_a_line_move_with_it_as_two_things_and_those_of_a_face_as_three(count, way, off, long):
    part, rng = np.linspace(0, 1, count), np.random.default_rng(count)
    beside = off * 0.01 * long * (-1.0) ** np.arange(count) * rng.uniform(0.5, 1, count)
    x, y = np.cos(way) * long * part - np.sin(way) * beside, np.sin(way) * long * part + np.cos(way) * beside
    along = line_or_face(x, y)
    assert flat_rigid(x, y).shape == (count, 2)
    assert np.ptp(along) == pytest.approx(long, rel=1e-3)
    y = y + 0.2 * long * np.cos(way) * (part - 0.5) ** 2
    x = x - 0.2 * long * np.sin(way) * (part - 0.5) ** 2
    assert line_or_face(x, y) is None and flat_rigid(x, y).shape == (count, 3)


def test_a_known_edge_that_is_stepped_along_a_line_counts_from_the_middle_of_each_laying():
    rng = np.random.default_rng(1)
    at, along = np.arange(0, 301, 50.0), np.arange(0, 501, 50.0)
    proud, hollow = 20 * (1 - ((at - 150) / 150) ** 2), 30 * ((along - 250) / 250) ** 2
    rows = ["line,x_mm,y_mm,set,gap_um"]
    for first in (0, 100, 200):
        under = np.flatnonzero((along >= first) & (along <= first + 300))
        gap = 60 - hollow[under] - proud + 0.02 * at + 0.3 * rng.normal(size=at.size)
        rows += [f"a,{x:g},0,from {first},{g:.1f}" for x, g in zip(along[under], gap, strict=True)]
    source = Source(identity="certificate", said="a certificate", columns=at.size)
    edge = Known(
        name=STRAIGHTEDGE,
        kind="bars",
        value=proud,
        root=0.2 * np.eye(at.size),
        sources=(source,),
        said="a certificate",
        x_mm=at,
    )
    form = solve_edge(table_of(rows), known=[edge]).features[0]
    assert form.low_95 <= 30 <= form.high_95 and form.half < 2
    assert not solve_edge(table_of(rows)).features[0].high_95 > 30
