"""Bodies that are known already: chains of results against one least squares of all readings, coverage, refusals."""

import numpy as np
import pytest

from simulate.core.refusal import Refusal
from simulate.readings.bars.solve_bars import solve_bars
from simulate.readings.findings import findings
from simulate.readings.known_from import known_from
from simulate.readings.plates.plate_stations import upper_point
from simulate.readings.plates.solve_plates import solve_plates
from simulate.readings.reference.certificate import from_certificate
from simulate.readings.reference.known import shared_covariance
from simulate.readings.squares.solve_squares import solve_squares
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import ReadingsError, read_readings
from simulate.surface.straightness import straightness


def line_out(x, height):
    line = np.stack([np.ones(x.size), x - x.mean()], axis=1)
    return height - line @ np.linalg.lstsq(line, height, rcond=None)[0]


def read_bars(rng, x, height, fits, sd, step=None):
    """Gaps of bars as (lower, upper, turned), to a line that holds them apart; by feelers where a step is given."""
    head = "gap_um" if step is None else "gap_at_least_um,gap_at_most_um"
    rows = [f"lower,upper,turned,position_mm,{head}"]
    for lower, upper, turned in fits:
        both = height[lower] + (height[upper][::-1] if turned else height[upper])
        gap = both.max() - both + rng.uniform(0, 20) + rng.normal(0, sd, x.size)
        for place, one in zip(x, np.maximum(gap, 0.0), strict=True):
            least = None if step is None else step * np.floor(one / step)
            cell = f"{one:.6f}" if step is None else f"{least:g},{least + step:g}"
            rows.append(f"{lower},{upper},{'yes' if turned else 'no'},{place:.9f},{cell}")
    return read_readings("\n".join(rows).encode(), "chain.csv")


def joint_bars(x, sets, names):
    """All readings of all sets in one least squares, each weighed by its own deviation."""
    points, rows, right, fits = x.size, [], [], []
    for number, (table, sd) in enumerate(sets):
        for i in range(len(table)):
            fit = (number, table.lower[i], table.upper[i], bool(table.turned[i]))
            if fit not in fits:
                fits.append(fit)
            at = int(np.argmin(np.abs(x - table.position_mm[i])))
            row = np.zeros(len(names) * points + 2 * 40)
            row[names.index(table.names[table.lower[i]]) * points + at] -= 1
            row[names.index(table.names[table.upper[i]]) * points + (points - 1 - at if fit[3] else at)] -= 1
            row[len(names) * points + 2 * fits.index(fit) :][:2] = 1, x[at] / x[-1]
            rows.append(row / sd)
            right.append(table.gap_um[i] / sd)
    design = np.array(rows)
    solved = np.linalg.lstsq(design, np.array(right), rcond=None)[0]
    cofactor = np.linalg.pinv(design.T @ design, rcond=1e-12, hermitian=True)
    free = line_out(x, np.eye(points))
    part = [slice(i * points, (i + 1) * points) for i in range(len(names))]
    return {n: free @ solved[s] for n, s in zip(names, part, strict=True)}, {
        (m, n): free @ cofactor[s, t] @ free.T
        for m, s in zip(names, part, strict=True)
        for n, t in zip(names, part, strict=True)
    }


@pytest.mark.parametrize("seed", range(8))
def test_a_chain_of_bars_is_one_least_squares_of_all_readings(seed):
    # three bars -> a straightedge -> a way -> a second way read against both: each set only knows the results before it
    rng = np.random.default_rng(seed)
    x = np.linspace(0, 400, int(rng.integers(5, 12)))
    height = {name: rng.normal(0, 20, x.size) for name in "ABCWV"}
    sds = rng.uniform(0.5, 4, 3)
    turned = bool(rng.integers(2))
    one = read_bars(rng, x, height, [("A", "B", 0), ("A", "C", 0), ("B", "C", 0), ("A", "B", 1)], sds[0])
    two = read_bars(rng, x, height, [("W", "A", 0), *([("W", "A", 1)] if turned else [])], sds[1])
    three = read_bars(rng, x, height, [("V", "W", 0), ("A", "V", 0), ("V", "W", 1)], sds[2])
    bars = solve_bars(one, sds[0])
    way = solve_bars(two, sds[1], known=[known_from(bars, "A")])
    last = solve_bars(three, sds[2], known=[known_from(way, "A"), known_from(way, "W")])
    names = list(height)
    value, covariance = joint_bars(x, [(one, sds[0]), (two, sds[1])], names)
    np.testing.assert_allclose(way.height_um[0], value["W"], atol=1e-6)
    np.testing.assert_allclose(way.covariance, covariance["W", "W"], atol=1e-6)
    edge = known_from(way, "A")  # as the way's readings left it
    np.testing.assert_allclose(edge.value, value["A"], atol=1e-6)
    np.testing.assert_allclose(edge.covariance, covariance["A", "A"], atol=1e-6)
    np.testing.assert_allclose(shared_covariance(known_from(way, "W"), edge), covariance["W", "A"], atol=1e-6)
    value, covariance = joint_bars(x, [(one, sds[0]), (two, sds[1]), (three, sds[2])], names)
    np.testing.assert_allclose(last.height_um[0], value["V"], atol=1e-6)
    np.testing.assert_allclose(last.covariance, covariance["V", "V"], atol=1e-6)
    assert (last.depends.sd > 0.1).any() and (last.depends.sd <= last.sd_um.ravel() + 1e-9).all()


def test_two_results_on_one_reference_keep_what_their_errors_share():
    # W and V are each read once against A, and A is not read again: what they share is A's covariance
    rng = np.random.default_rng(3)
    x = np.linspace(0, 300, 7)
    height = {name: rng.normal(0, 20, x.size) for name in "ABCWV"}
    one = read_bars(rng, x, height, [("A", "B", 0), ("A", "C", 0), ("B", "C", 0)], 2.0)
    edge = known_from(solve_bars(one, 2.0), "A")
    sets = [read_bars(rng, x, height, [(name, "A", 0)], 1.0) for name in "WV"]
    first, second = (
        known_from(solve_bars(part, 1.0, known=[edge]), name) for part, name in zip(sets, "WV", strict=True)
    )
    _, covariance = joint_bars(x, [(one, 2.0), *((part, 1.0) for part in sets)], list(height))
    np.testing.assert_allclose(shared_covariance(first, second), covariance["W", "V"], atol=1e-6)
    np.testing.assert_allclose(shared_covariance(first, second), edge.covariance, atol=1e-6)
    assert np.abs(edge.covariance).max() > 1
    other = known_from(
        solve_bars(read_bars(rng, x, height, [("A", "B", 0), ("A", "C", 0), ("B", "C", 0)], 2.0), 2.0), "A"
    )
    assert not shared_covariance(edge, other).any()  # other readings, other errors


@pytest.mark.parametrize("seed", range(5))
def test_a_chain_of_squares_is_one_least_squares_of_all_readings(seed):
    rng = np.random.default_rng(seed)
    lift = np.array([0.0, 40, 80, 120])
    angle = {name: rng.normal(0, 300) for name in "ABCD"}

    def read(pairs):
        rows = ["lower,upper,height_mm,gap_um"]
        for low, up in pairs:
            gap = (angle[low] + angle[up]) * lift / 1000
            rows += [
                f"{low},{up},{z:g},{g + 9 - gap.min():.6f}"
                for z, g in zip(lift, gap + rng.normal(0, 1, 4), strict=True)
            ]
        return rows

    one, two = read(["AB", "AC", "BC"]), read(["DA", "DB"])
    solved = solve_squares(read_readings("\n".join(one).encode()), 1.0)
    known = [known_from(solved, name) for name in "AB"]
    found = solve_squares(read_readings("\n".join(two).encode()), 1.0, known=known)
    design, right = np.zeros((20, 4 + 5)), []
    for i, row in enumerate([*one[1:], *two[1:]]):
        low, up, z, gap = row.split(",")
        design[i, ["ABCD".index(low), "ABCD".index(up)]] = float(z) / 1000
        design[i, 4 + i // 4] = 1
        right.append(float(gap))
    joint = np.linalg.lstsq(design, np.array(right), rcond=None)[0]
    cofactor = np.linalg.inv(design.T @ design)
    assert found.angle_urad[0] == pytest.approx(joint[3], abs=1e-6)
    assert found.sd_urad[0] == pytest.approx(np.sqrt(cofactor[3, 3]), abs=1e-6)


C = np.array([-100.0, -50, 0, 50, 100])
X, Y = (part.ravel() for part in np.meshgrid(C, C))


def plate_rows(rng, height, fits, sd):
    rows = []
    for low, up, turned, slide in fits:
        u, v = upper_point(X, Y, np.full(X.size, turned), slide, 0.0)
        met = (np.abs(u) <= 100) & (np.abs(v) <= 100)
        at = np.round((v[met] + 100) / 50).astype(int) * 5 + np.round((u[met] + 100) / 50).astype(int)
        both = height[low][met] + height[up][at]
        gap = both.max() - both + 5 + rng.normal(0, sd, both.size)
        rows += [
            f"{low},{up},{turned},{x:g},{y:g},{slide:g},{g:.6f}" for x, y, g in zip(X[met], Y[met], gap, strict=True)
        ]
    return rows


def plates(rows):
    return read_readings("\n".join(["lower,upper,turned,x_mm,y_mm,slide_x_mm,gap_um", *rows]).encode(), "plates.csv")


THREE_PLATES = [("A", "B", 0, 0), ("A", "C", 0, 0), ("B", "C", 0, 0), ("A", "B", 90, 0), ("B", "C", 90, 0)] + [
    ("A", "B", 0, 50),
    ("A", "C", 0, 50),
]


@pytest.mark.parametrize("seed", range(3))
def test_a_chain_of_plates_is_one_least_squares_of_all_readings(seed):
    rng = np.random.default_rng(seed)
    height = {name: rng.normal(0, 15, X.size) for name in "ABCD"}
    one = plate_rows(rng, height, THREE_PLATES, 1.0)
    two = plate_rows(rng, height, [("D", "A", 0, 0), ("D", "A", 90, 0)], 1.0)
    known = known_from(solve_plates(plates(one), 1.0), "A")
    found = solve_plates(plates(two), 1.0, known=[known])
    design, right, fits = np.zeros((len(one) + len(two), 100 + 3 * 9)), [], []
    for i, row in enumerate([*one, *two]):
        low, up, turned, x, y, slide, gap = row.split(",")
        u, v = upper_point(np.array([float(x)]), np.array([float(y)]), np.array([int(turned)]), float(slide), 0.0)
        for name, at in ((low, (float(x), float(y))), (up, (u[0], v[0]))):
            design[i, "ABCD".index(name) * 25 + round((at[1] + 100) / 50) * 5 + round((at[0] + 100) / 50)] -= 1
        if (low, up, turned, slide) not in fits:
            fits.append((low, up, turned, slide))
        design[i, 100 + 3 * fits.index((low, up, turned, slide)) :][:3] = 1, float(x) / 100, float(y) / 100
        right.append(float(gap))
    joint = np.linalg.lstsq(design, np.array(right), rcond=None)[0]
    cofactor = np.linalg.pinv(design.T @ design, rcond=1e-12, hermitian=True)[75:100, 75:100]
    plane = np.stack([np.ones(25), X, Y], axis=1)
    free = np.eye(25) - plane @ np.linalg.pinv(plane)
    np.testing.assert_allclose(found.height_um[0], free @ joint[75:100], atol=1e-6)
    np.testing.assert_allclose(found.covariance[0, :, 0], free @ cofactor @ free.T, atol=1e-6)


def chain_case(seed, step=None):
    """A smooth straightedge out of three, and a way against it; nothing is told of how good a reading is."""
    rng = np.random.default_rng(seed)
    x = np.linspace(0, 400, 9)
    along = (x - x.mean()) / 200
    height = {}
    for name in "ABCW":
        out = rng.normal(0, 1, 4) / np.arange(1, 5)
        height[name] = rng.uniform(10, 40) * np.polynomial.legendre.legval(along, [0, 0, *out]) + rng.normal(0, 1, 9)
    sd = 2.0
    one = read_bars(rng, x, height, [("A", "B", 0), ("A", "C", 0), ("B", "C", 0), ("A", "B", 1)], sd)
    two = read_bars(rng, x, height, [("W", "A", 0), ("W", "A", 1)], sd if step is None else 0.0, step)
    found = solve_bars(two, bounds=False, known=[known_from(solve_bars(one), "A")])
    return found, line_out(x, height["W"])


def test_95_percent_of_points_hold_along_a_chain():
    held = []
    for seed in range(400):
        found, truth = chain_case(seed)
        held.append((found.low_95_um[0] <= truth) & (truth <= found.high_95_um[0]))
    # bars of one case share their spread: binomial with one degree of freedom a case, 0.95 +- 3 * 0.22 / 20
    assert 0.925 <= np.mean(held) <= 0.975


def test_95_percent_of_feeler_readings_hold_along_a_chain():
    held = []
    for seed in range(120):
        found, truth = chain_case(seed, step=10.0)
        held.append((found.low_95_um[0] <= truth) & (truth <= found.high_95_um[0]))
    assert 0.93 <= np.mean(held) <= 1.0


def test_a_certificate_stands_for_every_shape_of_its_size():
    # the root mean square of the minimum zone is that of value and standard uncertainty together (JCGM 100:2008, 4.3.3)
    x = np.linspace(0, 500, 21)
    edge = from_certificate("K", "bars", 3.0, 2.0, k=2.0, x_mm=x)
    draws = np.random.default_rng(5).standard_normal((2000, edge.root.shape[1])) @ edge.root.T
    zone = np.asarray(straightness(x, draws).value_um)
    assert np.sqrt(np.mean(zone**2)) == pytest.approx(np.hypot(3.0, 1.0), rel=0.1)
    assert from_certificate("S", "squares", -20.0, 6.0, k=3.0).sd.tolist() == [2.0]
    face = from_certificate("P", "plates", 5.0, 0.0, x_mm=X, y_mm=Y)
    plane = np.stack([np.ones(25), X, Y], axis=1)
    np.testing.assert_allclose(plane.T @ face.root, 0, atol=1e-6)


def test_a_straightedge_with_a_certificate_settles_a_way():
    rng = np.random.default_rng(2)
    x = np.linspace(0, 400, 9)
    height = {"way": line_out(x, rng.normal(0, 20, 9)), "edge": np.zeros(9)}
    table = read_bars(rng, x, height, [("way", "edge", 0)], 1.0)
    with pytest.raises(ReadingsError, match="known already from an earlier set or a certificate"):
        solve_bars(table)
    found = findings(table, 1.0, known=[from_certificate("edge", "bars", 2.0, 1.0, x_mm=x)])
    solution = found.solution
    assert solution.names == ("way",) and [row[0] for row in found.rows] == ["way"]
    assert np.abs(solution.height_um[0] - height["way"]).max() < 4
    assert np.abs(solution.height_um[0] - height["way"]).max() <= np.abs(solution.sd_um).max() * 4
    assert "way depends on edge, known from its certificate" in found.sentences[0]
    assert "edge on way" in found.next.name
    assert found.consistency.unchecked_rows == tuple(
        range(2, 11)
    )  # nothing checks them, and no row of a reference is named


def test_readings_that_contradict_the_reference_are_told():
    rng = np.random.default_rng(4)
    x = np.linspace(0, 400, 9)
    height = {name: rng.normal(0, 10, 9) for name in "ABCW"}
    one = read_bars(rng, x, height, [("A", "B", 0), ("A", "C", 0), ("B", "C", 0), ("A", "B", 1)], 1.0)
    edge = known_from(solve_bars(one, 1.0), "A")
    height["A"] = height["A"] + 60 * (x / 400) ** 3  # bruised since then, which the turned fit shows
    two = read_bars(rng, x, height, [("W", "A", 0), ("W", "A", 1)], 1.0)
    agree = findings(two, 1.0, known=[edge]).consistency
    assert agree.probability < 1e-3
    assert any(one.name == "A, as known" and "too far" in one.sentence for one in agree.closures)


def test_stations_between_are_interpolated_and_said_and_none_lies_beyond():
    bars = solve_bars(read_readings(demo_path()))
    edge = known_from(bars, bars.names[0], name="edge")
    middle = (bars.x_mm[:-1] + bars.x_mm[1:]) / 2
    rows = [f"way,edge,{place:g},{gap}" for place, gap in zip(middle, np.arange(middle.size) ** 2, strict=True)]
    head = "lower,upper,position_mm,gap_um"
    found = solve_bars(read_readings("\n".join([head, *rows]).encode()), 1.0, known=[edge])
    mean = line_out(middle, (bars.height_um[0, :-1] + bars.height_um[0, 1:]) / 2)
    gap = line_out(middle, np.arange(middle.size) ** 2.0)
    np.testing.assert_allclose(found.height_um[0], -gap - mean, atol=1e-6)
    assert f"{middle.size} stations of the reference lie between places where it is known" in found.sentence
    with pytest.raises(ValueError, match="must be from"):
        solve_bars(read_readings("\n".join([head, *rows, "way,edge,9999,0"]).encode()), 1.0, known=[edge])


def test_an_assumed_spread_gives_no_range_further_on():
    x = np.linspace(0, 400, 9)
    rng = np.random.default_rng(6)
    height = {name: rng.normal(0, 10, 9) for name in "ABCW"}
    one = solve_bars(read_bars(rng, x, height, [("A", "B", 0), ("A", "C", 0), ("B", "C", 0)], 1.0))
    assert one.sd_from == "assumed"
    found = findings(read_bars(rng, x, height, [("W", "A", 0), ("W", "A", 1)], 1.0), 1.0, known=[known_from(one, "A")])
    assert found.solution.low_95_um is None and found.sd_from == "assumed"
    assert "only assumed, so no range is given" in found.sentences[0]


def test_bounds_take_the_guaranteed_ends_of_the_reference_or_are_left_out():
    rng = np.random.default_rng(7)
    x = np.linspace(0, 400, 7)
    height = {name: line_out(x, 30 * np.sin(x / 90 + k) + rng.normal(0, 2, 7)) for k, name in enumerate("ABCW")}
    fits = [("A", "B", 0), ("A", "C", 0), ("B", "C", 0), ("A", "B", 1)]
    felt = solve_bars(read_bars(rng, x, height, fits, 0.0, step=5.0))
    way = read_bars(rng, x, height, [("W", "A", 0), ("W", "A", 1)], 0.0, step=5.0)
    found = solve_bars(way, known=[known_from(felt, "A")])
    assert (found.low_um[0] <= height["W"] + 1e-6).all() and (height["W"] <= found.high_um[0] + 1e-6).all()
    assert np.isfinite(found.high_um).all()
    read = solve_bars(read_bars(rng, x, height, fits, 1.0))
    without = solve_bars(way, known=[known_from(read, "A")])
    assert without.low_um is None and "Guaranteed bounds are left out" in without.sentence


@pytest.mark.parametrize(
    ("known", "said"),
    [
        (lambda bars: [known_from(bars, "A"), known_from(bars, "A")], "given twice"),
        (lambda bars: [known_from(bars, "C", name="Z")], "one of the bodies of"),
        (lambda bars: [known_from(bars, "A"), known_from(bars, "B", name="W")], "known already"),
        (lambda bars: [from_certificate("A", "squares", 1.0, 1.0)], "known from bars"),
        (lambda bars: [bars], "what known_from or from_certificate give"),
    ],
)
def test_what_cannot_be_known_is_refused_with_a_sentence(known, said):
    rng = np.random.default_rng(1)
    x = np.linspace(0, 300, 6)
    height = {name: rng.normal(0, 10, 6) for name in "ABCW"}
    bars = solve_bars(read_bars(rng, x, height, [("A", "B", 0), ("A", "C", 0), ("B", "C", 0)], 1.0), 1.0)
    with pytest.raises(ValueError, match=said):
        solve_bars(read_bars(rng, x, height, [("W", "A", 0)], 1.0), 1.0, known=known(bars))


def test_a_plate_with_nothing_but_a_known_one_says_what_is_missing():
    rng = np.random.default_rng(1)
    height = {name: rng.normal(0, 15, X.size) for name in "AD"}
    table = plates(plate_rows(rng, height, [("D", "A", 0, 0)], 0.5))
    with pytest.raises(ValueError, match="known from an earlier set or a certificate"):
        solve_plates(table)
    found = findings(table, 0.5, known=[from_certificate("A", "plates", 4.0, 1.0, x_mm=X, y_mm=Y)])
    assert found.solution.names == ("D",) and found.next is not None


def test_places_of_a_certificate_may_be_a_list_and_are_enough_for_a_form():
    rng = np.random.default_rng(1)
    x = [0, 100, 200, 300]
    table = read_bars(rng, np.array(x, float), {"W": rng.normal(0, 9, 4), "K": np.zeros(4)}, [("W", "K", 0)], 1.0)
    one, two = (from_certificate("K", "bars", 2.0, 1.0, x_mm=places) for places in (x, np.array(x, float)))
    assert one.sources == two.sources
    np.testing.assert_array_equal(
        *(solve_bars(table, 1.0, known=[known]).height_um for known in (one, two)),
    )
    for kind, places, said in (
        ("bars", {"x_mm": [0, 100, 0, 100]}, "2 stations; it must hold 3 or more"),
        ("plates", {"x_mm": [0, 9, 0], "y_mm": [0, 0, 9]}, "3 stations; it must hold 4 or more"),
        ("plates", {"x_mm": [0, 9, 0, 9], "y_mm": [0, 0, 9]}, "4 and 3; they must be equally long"),
        ("plates", {"x_mm": [0, 1, 2, 3], "y_mm": [0, 1, 2, 3]}, "all on one line"),
    ):
        with pytest.raises(Refusal, match=said):
            from_certificate("K", kind, 2.0, 1.0, **places)
