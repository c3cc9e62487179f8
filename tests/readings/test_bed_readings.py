"""A bed and a joint of two bed parts: what every gauge says of ways, twist and offset, how sure, and what it hides."""

import numpy as np
import pytest
from beds_read import (
    APART,
    BOLTS,
    HEAD,
    X,
    bed,
    cross_rows,
    diagonal_rows,
    dial_rows,
    edge_rows,
    joint,
    level_rows,
    row,
    strip_rows,
    ways,
    whole_bed,
)
from lines_read import table_of
from scipy.stats import binomtest

from simulate.core.refusal import Refusal
from simulate.method.machine.bed import winding_strips_um
from simulate.readings.bed.bed_findings import solve_bed
from simulate.readings.findings import findings
from simulate.readings.logbook.joining import joined
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import read_readings
from simulate.surface.straightness import straightness
from simulate.surface.tolerances.lathe import ISO_1708

TRIES = [60, pytest.param(300, marks=pytest.mark.long)]


def feature(solved, name, of=""):
    return next(one for one in solved.features if one.name == name and of in one.of)


def true_twist(truth, x=X):
    front, back = (np.polyfit(x, truth[way, "upright"](x), 1)[0] for way in ("front", "back"))
    return (back - front) * np.ptp(x) / APART * 1000


def both_edges(rng, truth, sd=1e-6):
    return edge_rows(rng, truth, "front", sd=sd) + edge_rows(rng, truth, "back", sd=sd)


# -- closed forms ------------------------------------------------------------------------------------------------------


def test_changing_winding_strips_over_takes_their_own_error_out_and_half_the_difference_is_that_error():
    # two straight ways: step = strip / apart * twist + unlike, then - unlike; the mean is free of it (derived)
    rng = np.random.default_rng(1)
    truth = ways(rng, 0.0, 80.0)
    found = solve_bed(bed(both_edges(rng, truth) + strip_rows(rng, truth, 1e-6, unlike=90.0)), 1.0)
    assert abs(feature(found, "twist").value - true_twist(truth)) < 0.01
    one_way = bed(both_edges(rng, truth) + strip_rows(rng, truth, 1e-6, unlike=90.0, rounds=(False,)))
    hidden = findings(one_way, 1.0)
    assert not feature(hidden.solution, "twist").told and "Twist stays unseen" in hidden.hidden[0]
    assert any("read one way only" in said for said in hidden.hidden)
    assert "the winding strips changed over" in [one.name for one in hidden.next.options if one.shows]


def test_strips_show_what_the_bed_of_lesson_16_says_that_they_do():
    # 120 um over ways 200 mm apart is a step of 240 um on strips of 400 mm
    rng = np.random.default_rng(2)
    flat = lambda x: 0.0 * x  # noqa: E731
    truth = {("front", "upright"): flat, ("back", "upright"): lambda x: 120.0 * x / 800}
    step = float(strip_rows(rng, truth, 1e-9, 0.0, (False,))[0].split(",")[-2])
    assert abs(step - 240) < 1e-3
    seen = winding_strips_um([0.0, 800.0], [[0.0, 0.0], [0.0, 120.0]], APART, (0.0, 800.0), 400.0)
    assert abs(float(np.ravel(np.abs(seen)).max()) - 240) < 1e-6


def test_two_diagonals_over_one_block_differ_by_half_the_twist_and_the_bend_drops_out():
    rng = np.random.default_rng(3)
    truth = ways(rng, 0.0, 80.0)
    rows = diagonal_rows(rng, truth, 1e-6, bend=25.0)
    found = solve_bed(bed(both_edges(rng, truth) + rows), 1.0)
    assert abs(feature(found, "twist").value - true_twist(truth)) < 0.01


@pytest.mark.parametrize("crossing", [cross_rows, dial_rows])
def test_a_level_across_and_a_dial_from_way_to_way_tell_the_same_twist(crossing):
    rng = np.random.default_rng(4)
    truth = ways(rng, 20.0, 60.0)
    found = solve_bed(bed(both_edges(rng, truth) + crossing(rng, truth, sd=1e-6)), 1.0)
    assert abs(feature(found, "twist").value - true_twist(truth)) < 0.05
    for way in ("front", "back"):
        form = straightness(X, truth[way, "upright"](X)).value_um
        assert abs(feature(found, "straightness", way).value - form) < 0.01


def test_a_level_along_each_way_gives_the_shape_that_the_edge_gives():
    rng = np.random.default_rng(5)
    truth = ways(rng)
    by_level = solve_bed(bed(level_rows(rng, truth, "front", 1e-6) + level_rows(rng, truth, "back", 1e-6)), 1.0)
    by_edge = solve_bed(bed(both_edges(rng, truth)), 1.0)
    for way in ("front", "back"):
        assert abs(feature(by_level, "straightness", way).value - feature(by_edge, "straightness", way).value) < 0.01


def test_an_edge_laid_on_each_way_under_one_name_is_laid_anew_on_each():
    rng = np.random.default_rng(3)
    truth = ways(rng, 20.0, 60.0)
    laid = [edge_rows(rng, truth, way) for way in ("front", "back") for _ in range(2)]
    told = []
    for names in (("1", "2", "1", "2"), ("f1", "f2", "b1", "b2")):
        cells = [one.split(",") for rows in laid for one in rows]
        for k, one in enumerate(cells):
            one[HEAD.split(",").index("set")] = names[k // X.size]
        told.append(findings(bed([",".join(one) for one in cells])))
    assert told[0].rows == told[1].rows
    assert ("twist over 800 mm", "not determined", "-") in [one[:3] for one in told[0].rows]


def test_a_level_on_a_bed_is_no_better_than_its_own_last_digit():
    rng = np.random.default_rng(4)
    rows = edge_rows(rng, ways(rng, 20.0, 0.0), "front")
    level = [row("cross", x=x, reading=read) for x, read in zip(X, ["0.02", "0.04"] * 5, strict=False)]
    both = [
        HEAD.replace("reading_arcsec", "reading_mm_m"),
        *rows,
        *edge_rows(rng, ways(rng, 20.0, 0.0), "back"),
        *level,
    ]
    tools = solve_bed(table_of(both)).heights.network.instruments
    assert next(one for one in tools if one.name == "the level across").resolution.step > 4


def test_the_limits_beside_the_figures_are_those_of_the_tolerances():
    rng = np.random.default_rng(6)
    found = solve_bed(whole_bed(rng, ways(rng)))
    twist, crown = feature(found, "twist"), feature(found, "crown", "front")
    limit = ISO_1708["twist of the bed"]
    assert (twist.limit.low, twist.limit.high, limit.over_mm) == (limit.low_um, limit.high_um, 1000.0)
    assert (crown.limit.low, crown.limit.high) == (
        0.0,
        20.0,
    ) and "ISO 1708" in crown.limit.source  # 800 mm, from memory


def test_metal_comes_off_to_one_plane_where_twist_is_told_and_each_way_to_its_own_line_where_it_is_not():
    rng = np.random.default_rng(7)
    truth = ways(rng)
    alone = findings(bed(both_edges(rng, truth)), 1.0)
    assert alone.map.names == ("front", "back")
    tied = findings(bed(both_edges(rng, truth) + cross_rows(rng, truth, 1e-6)), 1.0)
    assert tied.map.names == ("the bed",)
    # what is left after the cut lies in one plane
    net = tied.solution.heights.network
    left = tied.solution.heights.height_um - tied.map.remove_um[0]
    plane = np.stack([np.ones(net.points), net.x_mm, net.y_mm], axis=1)
    assert np.abs(left - plane @ np.linalg.lstsq(plane, left, rcond=None)[0]).max() < 1e-6
    assert tied.map.remove_um[0].min() >= 0


# -- how sure ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sd", [1.0, None])
@pytest.mark.parametrize("tries", TRIES)
def test_ranges_of_a_bed_hold_95_in_100(sd, tries):
    rng, inside = np.random.default_rng(8), {}
    for _ in range(tries):
        truth = ways(rng)
        found = solve_bed(whole_bed(rng, truth), sd)
        k = rng.integers(len(found.bodies.keys))
        (_, way, plane), places = found.bodies.keys[k], found.bodies.places[k]
        form = feature(found, "straightness", found.bodies.named(k))
        true = straightness(X, truth[way, plane](X)).value_um
        twist, sides = feature(found, "twist"), feature(found, "parallelism of the sides")
        slope = np.polyfit(X, truth["back", "level"](X) - truth["front", "level"](X), 1)[0] * 800
        got = {
            "twist": twist.low_95 <= true_twist(truth) <= twist.high_95,
            "sides": sides.low_95 <= slope <= sides.high_95,
            "form": form.low_95 <= true <= form.high_95,
        }
        assert places.size == X.size
        for what, held in got.items():
            inside[what] = inside.get(what, 0) + bool(held)
    for count in inside.values():
        assert binomtest(count, tries, 0.94, alternative="less").pvalue > 0.002, inside


@pytest.mark.parametrize("tries", TRIES)
def test_ranges_of_a_joint_hold_95_in_100(tries):
    rng, inside = np.random.default_rng(9), {"offset": 0, "angle": 0, "shim": 0}
    for _ in range(tries):
        offset, angle = rng.normal(size=2) * 40, rng.normal(size=2) * 80
        seed = int(rng.integers(10**6))
        found = solve_bed(joint(np.random.default_rng(seed), tuple(offset), tuple(angle)))
        truth = ways(np.random.default_rng(seed), 3.0, 0.0)  # the same faces, for they are drawn first
        height = truth["front", "upright"](X) + np.where(X > 400, offset[0] + angle[0] * (X - 400) / 1000, 0)
        a, b = (np.polyfit(X[part], height[part], 1) for part in (X <= 400, X > 400))
        step, lean = feature(found, "offset", "front"), feature(found, "angle", "front")
        inside["offset"] += bool(step.low_95 <= np.polyval(b, 450) - np.polyval(a, 450) <= step.high_95)
        inside["angle"] += bool(lean.low_95 <= (b[0] - a[0]) * 1000 <= lean.high_95)
        one = found.shims.thickness[2]  # the bolt at x 750 on the front way
        true = np.polyval(a, 750) - np.polyval(b, 750) + found.shims.left_um
        inside["shim"] += bool(one.low_95 <= true <= one.high_95)
    for count in inside.values():
        assert binomtest(count, tries, 0.95, alternative="less").pvalue > 0.002, inside


# -- a joint -----------------------------------------------------------------------------------------------------------


def test_shims_under_the_bolts_bring_the_second_part_into_line():
    # a part that is low and leans is lifted into line; moved by the shims, offset and angle are nothing (derived)
    found = solve_bed(joint(np.random.default_rng(10), (-60.0, 0.0), (-80.0, 0.0), 1e-6, planes=("upright",)), 1.0)
    assert found.shims.left_um == 0.0 and found.shims.bolts == BOLTS
    bodies, height = found.bodies, found.heights.height_um.copy()
    lift = {(x, y): one.value for (x, y), one in zip(BOLTS, found.shims.thickness, strict=True)}
    for k, (part, way, _) in enumerate(bodies.keys):
        if part == "tail part":
            y = 0.0 if way == "front" else APART
            slope = (lift[750.0, y] - lift[450.0, y]) / 300
            height[bodies.places[k]] += lift[450.0, y] + slope * (bodies.x_mm[bodies.places[k]] - 450)
    for way in ("front", "back"):
        a, b = (bodies.places[bodies.keys.index((part, way, "upright"))] for part in ("head part", "tail part"))
        first, second = (np.polyfit(bodies.x_mm[at], height[at], 1) for at in (a, b))
        np.testing.assert_allclose(first, second, atol=1e-6)


def test_a_part_that_stands_too_high_is_not_shimmed_down():
    found = findings(joint(np.random.default_rng(11), (60.0, 0.0), (0.0, 0.0), 1.0), 1.0)
    assert min(one.value for one in found.solution.shims.thickness) == 0 and found.solution.shims.left_um > 50
    assert any("No shim can be thinner than zero" in said for said in found.cut)
    without = findings(joint(np.random.default_rng(11), bolts=()), 1.0)
    assert without.solution.shims is None and "Give the bolts" in without.cut[0]


def test_parts_that_no_edge_bridges_are_not_told_against_each_other_and_it_is_said():
    rng = np.random.default_rng(12)
    truth = ways(rng, 3.0, 0.0)
    rows = []
    for part, x in (("head", X[:5]), ("tail", X[5:])):
        for way in ("front", "back"):
            rows += edge_rows(rng, truth, way, x=x, part=part, set_up=f"{part} {way}")
        rows += cross_rows(rng, truth, x=x, part=part, set_up=part)
    from beds_read import HEAD
    from lines_read import table_of

    found = findings(table_of([f"{HEAD},part", *rows]), 1.0)
    assert not feature(found.solution, "offset").told and not feature(found.solution, "angle").told
    said = " ".join(found.hidden)
    assert "how high tail lies relative to head" in said and "how steep tail lies relative to head" in said
    assert feature(found.solution, "twist", "head").told


# -- files -------------------------------------------------------------------------------------------------------------

GOOD = "how,way,x_mm,to_x_mm,y_mm,strip_mm,gap_um,dial_um,step_um,reading_arcsec,plane\n"
FRONT = "".join(f"edge,front,{x},,0,,5,,,,\n" for x in (0, 100, 200))
BACK = "".join(f"edge,back,{x},,150,,5,,,,\n" for x in (0, 100, 200))
SLIPS = {
    "a way of reading that is none": (FRONT.replace("edge", "rule"), "edge, dial, level, cross, strips or diagonal"),
    "no way": (FRONT + "edge,,300,,0,,5,,,,\n", "a short name of 1 to 24 characters"),
    "no end of a level": (FRONT + "level,front,0,,0,,,,,3,\n", "where it ends"),
    "ends where it begins": (FRONT + "level,front,0,0,0,,,,,3,\n", "a place other than 0 mm"),
    "no length of strips": (FRONT + BACK + "strips,,0,200,,,,,40,,\n", "how long the strips are"),
    "no step at the strips": (FRONT + BACK + "strips,,0,200,,300,,,,,\n", "where the far strip rises"),
    "a gap at a level": (FRONT + "level,front,0,100,0,,7,,,3,\n", "is given beside the other reading"),
    "a slope at an edge": (FRONT + "edge,front,300,,0,,5,,,3,\n", "empty: it has no meaning for 'edge'"),
    "no gap at an edge": (FRONT + "edge,front,300,,0,,,,,,\n", "the row gives no gap at all"),
    "no figure at a dial": (FRONT + BACK + "dial,back,0,,150,,,,,,\n", "gives no gap at all|figure in dial_um"),
    "a level in the level plane": (
        FRONT + "level,front,0,100,0,,,,,3,level\n",
        "shows nothing of the horizontal plane",
    ),
    "a plane that is none": (FRONT.replace(",,,,\n", ",,,,side\n"), r"level \(horizontal plane\)"),
    "a bolt in a bed of one piece": (FRONT + "bolt,,0,,0,,,,,,\n", "edge, dial, level, cross, strips or diagonal"),
    "three ways": (FRONT + BACK + "edge,third,0,,300,,5,,,,\n", "one way or two"),
    "not where a way lies": (FRONT + BACK.replace(",150,", ",,"), "where it lies across the bed"),
    "a way in two places": (FRONT + BACK + "edge,back,300,,170,,5,,,,\n", "one place across for each way"),
    "both ways in one place": (FRONT + BACK.replace(",150,", ",0,"), "two places across"),
    "across one way": (FRONT + "cross,,0,,,,,,,3,\n", "two ways, each with its place across"),
    "beyond the ways": (FRONT + BACK + "cross,,900,,,,,,,3,\n", "between those places"),
}


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_in_a_file_of_a_bed_is_refused_in_one_sentence_that_names_it(slip):
    text, words = SLIPS[slip]
    with pytest.raises(Refusal, match=words) as refused:
        findings(read_readings((GOOD + text).encode(), "mine.csv"))
    assert str(refused.value).startswith("mine.csv") and "\n" not in str(refused.value)


def test_a_bed_whose_gaps_cannot_all_be_true_has_no_range_and_names_the_rows():
    head = "how,way,x_mm,y_mm,set,gap_at_least_um,gap_at_most_um"
    rows = [
        f"edge,front,{x},0,{name},{g},{g + 10}"
        for name, middle in (("one", 50), ("two", 0))
        for x, g in ((0, 0), (400, middle), (800, 0))
    ]
    found = findings(table_of([head, *rows]), target_um=1000.0)
    assert set(found.solution.heights.against.rows) == {2, 3, 4, 5, 6, 7}
    assert not any(one.ranged for one in found.solution.features if one.told)
    assert found.stop.sentence.startswith("Do not stop: the readings contradict each other.")
    assert "cannot all be true" in " ".join(found.sentences)


def test_a_bed_whose_way_is_told_by_a_gap_without_an_upper_end_does_not_stop():
    head = "how,way,x_mm,y_mm,gap_at_least_um,gap_at_most_um"
    ends = [(0, 10), (100, ""), (0, 10), (20, 30), (0, 10)]
    rows = [f"edge,front,{200 * k},0,{low},{high}" for k, (low, high) in enumerate(ends)]
    found = findings(table_of([head, *rows]), target_um=5000.0)
    assert [one.open for one in found.solution.features] == [True, True]
    assert not found.stop.stop and "do not settle front" in found.stop.sentence


def test_a_bed_of_one_way_needs_no_place_across_and_blades_are_understood():
    text = "how,way,x_mm,gap_um\n" + "".join(
        f"edge,front,{x},{g}\n" for x, g in ((0, "<30"), (100, "40-50"), (200, "<30"))
    )
    table = read_readings(text.encode())
    assert table.kind == "bed" and table.is_interval.all()
    found = findings(table)
    assert found.solution.heights.by_intervals and feature(found.solution, "straightness").told
    both = joined([table, read_readings(text.replace("40-50", "30-40").encode())])
    assert type(both) is type(table) and both.round.tolist() == [1, 1, 1, 2, 2, 2]


def test_the_invented_bed_and_joint_say_what_they_are_and_tell_twist_and_offset():
    one = findings(read_readings(demo_path("demo_bed.csv")))
    two = findings(read_readings(demo_path("demo_joint.csv")))
    assert (one.kind, two.kind) == ("bed", "joint")
    assert feature(one.solution, "twist").ranged and feature(two.solution, "offset").ranged and two.solution.shims
    assert row("cross", x=0).startswith("cross,")


def test_a_joint_of_readings_that_do_not_check_each_other_says_that_its_shims_have_no_range():
    rows = [
        f"edge,{way},upright,{x},{y},{abs(x - 400) / 10},{'head part' if x <= 400 else 'tail part'}"
        for way, y in (("front", 0), ("back", 200))
        for x in range(0, 801, 200)
    ]
    text = "\n".join(
        ["how,way,plane,x_mm,y_mm,gap_um,part", *rows, "bolt,,,450,0,,tail part", "bolt,,,750,0,,tail part"]
    )
    found = findings(read_readings(text.encode()))
    assert found.sd_from == "assumed" and not found.stop.stop
    shims = [one for one in found.cut if ": shim " in one]
    assert len(shims) == 2 and all("(its range is not known: take more readings first)" in one for one in shims)
