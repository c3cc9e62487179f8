"""Slopes along any lines: heights, what stays unseen, how sure they are, and what a file may not hold."""

import numpy as np
import pytest
from lines_read import ARCSEC, LINES, bare, face, level, table_of
from outside.form import MOODY_ARCSEC, moody
from scipy.stats import binomtest

from simulate.core.refusal import Refusal
from simulate.readings.findings import findings
from simulate.readings.level.level_findings import solve_level
from simulate.readings.logbook.joining import joined
from simulate.readings.network.against_known import STRAIGHTEDGE, with_known
from simulate.readings.network.heights import Network, instrument_of
from simulate.readings.network.solve_heights import solve_heights
from simulate.readings.reference.known import Known, Source
from simulate.readings.survey.union_jack import union_jack
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import read_readings
from simulate.surface.flatness import flatness
from simulate.surface.straightness import straightness

TRIES = [100, pytest.param(400, marks=pytest.mark.long)]


def feature(solved, name, of=None):
    return next(one for one in solved.features if one.name == name and (of is None or of in one.of))


# -- against figures and solvers from outside --------------------------------------------------------------------------

LEGS = [
    ("1a", "4", -1.225),
    ("4", "3", -0.848),
    ("3", "2", 1.342),
    ("2", "1a", 0.720),
    ("1a", "2", -0.724),
    ("2", "3", -1.335),
    ("3", "4", 0.842),
    ("4", "1a", 1.231),
]
"""Rises in metres, forward and reverse, of the sample levelling network at vrmapper.com ("Sample 1D vertical least
square adjustment", looked up): 1a at 1000 m; adjusted 4: 998.77513, 3: 997.93325, 2: 999.27487; standard deviation from
the residuals 5.42 mm a leg; with 5.00 mm given 3.1, 3.5 and 3.1 mm."""


def levelling(sd_mm=None):
    names = ["1a", "4", "3", "2"]
    design, rise = np.zeros((8, 4)), np.array([1e6 * leg[2] for leg in LEGS])
    for k, (a, b, _) in enumerate(LEGS):
        design[k, names.index(a)], design[k, names.index(b)] = -1, 1
    ones = np.ones((4, 1))
    return Network(
        source="legs",
        round=1,
        bodies=("net",),
        body=np.zeros(4, int),
        x_mm=np.arange(4.0),
        y_mm=np.zeros(4),
        rigid=ones,
        own=ones,
        shape_at=ones,
        design=design,
        low=rise,
        high=rise,
        instrument=np.zeros(8, int),
        instruments=(instrument_of("the level", "um", rise, None if sd_mm is None else 1000 * sd_mm, 1.0),),
        group=np.arange(8),
        groups=tuple(f"leg {k}" for k in range(8)),
        row=np.arange(8) + 2,
        along_mm=np.full(8, np.nan),
        laying=np.full(8, -1),
    )


def test_a_published_levelling_network_comes_out_as_published():
    found = solve_heights(levelling())
    over = found.height_um - found.height_um[0]
    np.testing.assert_allclose(1000 + over / 1e6, [1000, 998.77513, 997.93325, 999.27487], atol=6e-6)
    assert found.freedom == 5 and round(found.spreads.sd[0] / 1000, 2) == 5.42
    given = solve_heights(levelling(5.0))
    less = np.eye(4) - np.eye(4)[0]
    assert np.sqrt(np.diag(less @ given.covariance @ less.T))[1:].round(-2).tolist() == [3100, 3500, 3100]


def test_a_known_body_brings_its_mean_and_its_covariance_with_it():
    # a mark known to be 2 mm high, give or take 3, carried into leg 1 alone; weighed by hand as one more unknown
    net = levelling(5.0)
    mark = Known(
        name=STRAIGHTEDGE,
        kind="bars",
        x_mm=np.zeros(1),
        value=np.array([2000.0]),
        root=np.array([[3000.0]]),
        sources=(Source(identity="mark", said="a mark", columns=1),),
        said="a mark",
    )
    at = np.array([0.0] + 7 * [np.nan])
    found = solve_heights(with_known(net, [mark], at, np.ones(8)))
    weight = np.diag(1 / np.array([5000.0**2 + 3000.0**2] + 7 * [5000.0**2]))
    reading = net.low - np.array([2000.0] + 7 * [0.0])
    free = net.design[:, 1:]  # 1a held
    cofactor = np.linalg.inv(free.T @ weight @ free)
    np.testing.assert_allclose(
        (found.height_um - found.height_um[0])[1:], cofactor @ free.T @ weight @ reading, rtol=1e-9
    )
    less = (np.eye(4) - np.eye(4)[0])[1:]
    np.testing.assert_allclose(less @ found.covariance @ less.T, cofactor, rtol=1e-8)


def eight_lines_with_sets(jack):
    """The same readings, named so that they are no union jack but lines of a level."""
    rows = ["line,station,x_mm,y_mm,set,reading_arcsec"]
    for k in range(len(jack)):
        read = "" if jack.station[k] == 0 else repr(float(jack.reading_arcsec[k]))
        rows.append(
            f"{jack.line[k]},{jack.station[k]},{jack.x_mm[k]!r},{jack.y_mm[k]!r},{jack.line[k]},{read}".replace(
                "np.float64(", ""
            ).replace(")", "")
        )
    return table_of(rows)


def moody_table():
    from outside import form

    rows = ["line,station,x_mm,y_mm,reading_arcsec"]
    for line, readings in MOODY_ARCSEC.items():
        (x0, y0), (x1, y1) = map(form.place, line.split(" to "))
        reading = np.array(readings.split(), float)
        reading *= form.FOOT_IN / (np.hypot(x1 - x0, y1 - y0) / reading.size)
        for k, part in enumerate(np.linspace(0, 1, reading.size + 1)):
            slope = reading[k - 1] if k else ""
            rows.append(f"{line},{k},{25.4 * (x0 + (x1 - x0) * part)},{25.4 * (y0 + (y1 - y0) * part)},{slope}")
    return table_of(rows)


@pytest.mark.parametrize("source", ["moody 1955", "invented plate"])
@pytest.mark.parametrize("sd", [None, 0.4])
def test_eight_lines_as_a_network_have_the_least_squares_heights_of_a_union_jack(source, sd):
    jack = moody_table() if source == "moody 1955" else read_readings(demo_path("demo_survey.csv"))
    assert jack.kind == "union jack"
    table = eight_lines_with_sets(jack)
    assert table.kind == "level"
    eight, any_lines = union_jack(jack, sd), solve_level(table, sd).heights
    net = any_lines.network
    a, b = np.lexsort((eight.y_mm.round(3), eight.x_mm.round(3))), np.lexsort((net.y_mm.round(3), net.x_mm.round(3)))
    np.testing.assert_allclose(
        bare(eight.x_mm, eight.y_mm, eight.least_squares_height_um)[a], any_lines.height_um[b], atol=1e-5
    )
    assert any_lines.freedom == 2 and np.isclose(any_lines.spreads.sd[0], eight.reading_sd_arcsec, rtol=1e-6)
    plane = np.stack([np.ones(eight.x_mm.size), eight.x_mm, eight.y_mm], axis=1)
    out = np.eye(len(plane)) - plane @ np.linalg.pinv(plane)
    np.testing.assert_allclose(
        (out @ eight.covariance @ out)[np.ix_(a, a)], any_lines.covariance[np.ix_(b, b)], atol=1e-6
    )
    if source == "moody 1955":
        assert np.isclose(eight.flatness_um, moody().flatness_um)


# -- what stays unseen -------------------------------------------------------------------------------------------------


def test_lines_along_and_across_leave_twist_and_name_it():
    rng = np.random.default_rng(1)
    table = level(rng, face(rng), lines={k: v for k, v in LINES.items() if k != "slant"})
    found = findings(table, 0.5)
    heights = found.solution.heights
    assert len(heights.hidden) == 1
    u, v = heights.network.shape_at.T
    twist = bare(u, v, u * v)
    assert abs(abs(heights.hidden[0] @ twist) / np.linalg.norm(twist) - 1) < 1e-9
    assert "Twist stays unseen" in found.hidden[0] and found.map is None and "unseen" in found.cut[0]
    assert not feature(found.solution, "flatness").told and not feature(found.solution, "twist").told
    assert feature(found.solution, "straightness", "line a").told
    assert found.next.shows == 1 and "a line from" in found.next.name
    assert [row[1] for row in found.rows if row[0] in ("flatness",)] == ["not determined"]


def test_lines_that_do_not_meet_are_told_apart_and_each_keeps_its_form():
    rng = np.random.default_rng(2)
    height = face(rng)
    found = findings(level(rng, height, 1e-4, {"one": LINES["a"], "two": LINES["c"]}), 0.5)
    said = " ".join(found.hidden)
    assert "how steep along x line" in said and len(found.solution.heights.hidden) == 1
    x = np.arange(0.0, 401, 50)
    for name, y in (("one", 0.0), ("two", 300.0)):
        truth = straightness(x, height(x, y + 0 * x)).value_um
        assert abs(feature(found.solution, "straightness", name).value - truth) < 0.01


def test_a_shared_zero_turns_single_steps_across_into_twist():
    # two lines along with one zero; three steps across on a bridge, each a line of its own with one step
    rng = np.random.default_rng(3)
    lines = {
        "front": (0, 0, 400, 0),
        "back": (0, 200, 400, 200),
        **{f"x{k}": (200 * k, 0, 200 * k, 200) for k in range(3)},
    }
    steps = {f"x{k}": 1 for k in range(3)}

    def bed(x, y):
        return 30 * (x / 400) * (y / 200) + 5 * (x / 200 - 1) ** 2

    own = solve_level(level(rng, bed, 1e-5, lines, steps), 0.5)
    assert not feature(own, "twist").told
    together = solve_level(level(rng, bed, 1e-5, lines, steps, sets=True), 0.5)
    twist = feature(together, "twist")
    assert twist.told and abs(twist.value - 30 / 0.2) < 0.01 and "over 400 mm" in twist.of


def test_turning_the_level_end_for_end_takes_its_zero_out():
    rng = np.random.default_rng(4)
    height = face(rng)
    table = level(rng, height, 1e-6, {"one": LINES["a"]}, sets=True, turned=("one",))
    net = solve_level(table).heights.network
    unknown = np.linalg.lstsq(net.design, net.low, rcond=None)[0]
    slope = (height(400.0, 0.0) - height(0.0, 0.0)) / 400 / 1000 / ARCSEC
    assert abs((unknown[-2] - unknown[0]) / (400 * 1000 * ARCSEC) - slope) < 1e-3  # the work's own tilt is seen


# -- how sure ----------------------------------------------------------------------------------------------------------


THREE = {"one": LINES["a"], "two": (200, 0, 200, 300), "three": (0, 300, 400, 0)}


def cases(kind, sd, seed, tries):
    """Count in how many of many surveys the truth lies in what was said, for heights and for features."""
    rng, inside = np.random.default_rng(seed), {}
    for _ in range(tries):
        height = face(rng, 10.0)
        lines = dict(LINES) if kind == "plate" else THREE
        table = level(rng, height, 0.6, lines, turned=("a",) if kind == "plate" else ("one", "three"))
        found = solve_level(table, sd)
        h, net = found.heights, found.heights.network
        truth = height(net.x_mm, net.y_mm)
        assert not len(h.hidden)
        level_truth = bare(net.x_mm, net.y_mm, truth)
        k = rng.integers(truth.size)
        got = {"height": h.low_95_um[k] <= level_truth[k] <= h.high_95_um[k]}
        got["all"] = bool(((h.low_whole_um <= level_truth) & (level_truth <= h.high_whole_um)).all())
        flat = feature(found, "flatness")
        got["flatness"] = flat.low_95 <= flatness(net.x_mm, net.y_mm, truth).value_um <= flat.high_95
        name = list(lines)[rng.integers(len(lines))]
        one, at = feature(found, "straightness", f"line {name}"), found.lines[name]
        along = np.hypot(net.x_mm[at] - net.x_mm[at[0]], net.y_mm[at] - net.y_mm[at[0]])
        got["straightness"] = one.low_95 <= straightness(along, truth[at]).value_um <= one.high_95
        if kind == "plate":
            twist = feature(found, "twist")
            a, b = (np.polyfit(net.x_mm[found.lines[n]], truth[found.lines[n]], 1)[0] for n in "ac")
            got["twist"] = twist.low_95 <= (b - a) * 400 / 300 * 1000 <= twist.high_95
        for what, held in got.items():
            inside[what] = inside.get(what, 0) + bool(held)
    return inside


@pytest.mark.parametrize("kind", ["plate", "three lines"])
@pytest.mark.parametrize("sd", [0.6, None])
@pytest.mark.parametrize("tries", TRIES)
def test_what_is_said_to_hold_95_in_100_does(kind, sd, tries):
    inside = cases(kind, sd, 7, tries)
    for what in ("height", "all", "twist"):
        if what in inside:
            assert binomtest(inside[what], tries, 0.95).pvalue > 0.002, (what, inside[what])
    for what in ("flatness", "straightness"):  # of a figure that cannot be below 0 the range errs on the wide side
        assert binomtest(inside[what], tries, 0.94, alternative="less").pvalue > 0.002, (what, inside[what])


def test_nothing_is_called_sure_where_no_reading_is_to_spare():
    rng = np.random.default_rng(5)
    found = findings(level(rng, face(rng), 0.5, {"one": LINES["a"]}))
    assert found.sd_from == "assumed" and all(row[2] == "not known" for row in found.rows)
    assert "Do not stop yet" in found.stop.sentence and not found.map.sure.any()


# -- files -------------------------------------------------------------------------------------------------------------

HEAD = "line,station,x_mm,y_mm,set,turned,reading_arcsec\n"
GOOD = HEAD + "a,0,0,0,1,no,\na,1,50,0,1,no,3\na,2,100,0,1,no,4\n"
SLIPS = {
    "no station": (GOOD.replace("station", "step"), "step"),
    "no reading column": ("line,station,x_mm,y_mm\na,0,0,0\n", "a column reading_"),
    "gap in the stations": (GOOD + "a,4,200,0,1,no,1\n", "has no station 3"),
    "read twice alike": (GOOD + "a,2,100,0,1,no,4\n", "is in row 4 already"),
    "reading at the start": (GOOD + "b,0,0,50,1,no,7\nb,1,50,50,1,no,7\n", "empty at station 0"),
    "no reading at a step": (GOOD + "b,0,0,50,1,no,\nb,1,50,50,1,no,\n", "only station 0 has none"),
    "turned by words": (GOOD.replace("no,3", "left,3"), "yes or no"),
    "no name of the set": (GOOD.replace("1,no,3", ",no,3"), "a short name"),
    "words for a reading": (GOOD.replace("no,3", "no,level"), "a number of seconds of arc"),
    "words for a reading in thou": (
        GOOD.replace("arcsec", "thou_ft").replace("no,3", "no,level"),
        "reading_thou_ft is 'level'; it must be a number of thou/ft, up to 2094.39 either way",  # 10 degrees of arc
    ),
    "column of another kind": (GOOD.replace("set", "lower"), "it has no meaning in readings of a level along lines"),
}


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_in_a_file_of_a_level_is_refused_in_one_sentence_that_names_it(slip):
    text, words = SLIPS[slip]
    with pytest.raises(Refusal) as refused:
        findings(read_readings(text.encode(), "mine.csv"))
    said = str(refused.value)
    assert words in said and said.startswith("mine.csv") and "\n" not in said


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (GOOD + "a,1,60,0,2,no,3\n", "it is the same station"),
        (GOOD.replace("a,2,100,0", "a,2,100,40").replace("a,1,50,0", "a,1,70,0"), "on the straight line"),
        (GOOD.replace("a,2,100,0", "a,2,20,0"), "after the station before it"),
    ],
)
def test_a_line_that_does_not_run_straight_on_is_refused(text, words):
    with pytest.raises(Refusal, match=words):
        findings(read_readings(text.encode(), "mine.csv"))


def test_a_union_jack_with_a_line_missing_or_a_set_named_is_lines_of_a_level():
    lines = [line for line in demo_path("demo_survey.csv").read_text().splitlines() if not line.startswith("#")]
    seven = "\n".join(line for line in lines if not line.startswith("diagonal 2"))
    assert read_readings(seven.encode()).kind == "level"
    found = findings(read_readings(seven.encode()))
    assert found.kind == "level" and feature(found.solution, "flatness").told
    with pytest.raises(Refusal, match="without the other diagonal"):
        union_jack(read_readings(seven.encode()))


def test_rows_and_rounds_of_a_level_keep_what_is_its_own():
    first = read_readings(GOOD.encode())
    second = read_readings(GOOD.replace("no,4", "no,6").encode())
    both = joined([first, second])
    assert type(both) is type(first) and both.round.tolist() == [1] * 3 + [2] * 3
    assert both.set_up.tolist() == ["1"] * 6 and both.rows(both.round == 2).reading_arcsec[-1] == 6


def test_uneven_steps_are_spoken_of():
    text = "line,station,x_mm,y_mm,reading_arcsec\na,0,0,0,\na,1,50,0,1\na,2,150,0,1\na,3,200,0,2\n"
    assert any("not all the same length" in one for one in findings(read_readings(text.encode())).hidden)


def test_lines_that_nothing_ties_are_stopped_by_what_scatter_shows_of_a_line():
    # the floor was that of a face through both, which nothing tells, and could not even be worked out here
    ends, rng, rows = {"a": (0, 0, 100, 63), "b": (300, 0, 400, 70)}, np.random.default_rng(2), {}
    for name, (a, b, c, d) in ends.items():
        at = np.linspace([a, b], [c, d], 8).round(1)
        read = ["", *rng.normal(0, 5, 7).round(1)]
        rows[name] = [f"{name},{k},{x},{y},{read[k]}" for k, (x, y) in enumerate(at)]
    both, *alone = (
        findings(table_of(["line,station,x_mm,y_mm,reading_arcsec", *some]), 0.5)
        for some in (rows["a"] + rows["b"], rows["a"], rows["b"])
    )
    floors = [one.stop.floor_um[0] for one in alone]
    assert both.form_um == pytest.approx(max(one.form_um for one in alone), rel=1e-4)
    assert max(floors) <= both.stop.floor_um[0] < 1.5 * max(floors)


def test_a_line_read_flat_has_no_high_place_and_a_drift_that_changes_nothing_has_no_figure():
    head = "line,station,x_mm,y_mm,turned,set,reading_mm_m"
    flat = findings(table_of([head, *(f"a,{k},{100 * k},0,no,s,{'' if k == 0 else 0.02}" for k in range(4))]))
    assert flat.cut == ("the work: no place seems to be proud.",)
    both = [f"a,{k},{100 * k},0,{way},s,{'' if k == 0 else 0.02}" for way in ("no", "yes") for k in range(4)]
    assert any("changes no height" in said for said in findings(table_of([head, *both])).hidden)
