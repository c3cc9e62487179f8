"""A plate surveyed along eight lines: heights, closures, and how sure they are."""

import io

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st

from simulate.core.refusal import Refusal
from simulate.readings.findings import findings
from simulate.readings.survey.union_jack import union_jack
from simulate.readings.survey.union_jack_lines import rises_um
from simulate.readings.table.read import read_readings

ENDS = {
    "nw to se": (0, 1, 1, 0),
    "sw to ne": (0, 0, 1, 1),
    "south": (0, 0, 1, 0),
    "north": (1, 1, 0, 1),
    "west": (0, 0, 0, 1),
    "east": (1, 0, 1, 1),
    "across": (0, 0.5, 1, 0.5),
    "along": (0.5, 1, 0.5, 0),
}
STEPS = {"nw to se": 10, "sw to ne": 10, "south": 8, "north": 8, "west": 6, "east": 6, "across": 8, "along": 6}


def survey(
    surface,
    size=(800.0, 600.0),
    steps=STEPS,
    noise=0.0,
    seed=0,
    zero=300.0,
    leave_out=(),
    change=None,
    ends=ENDS,
    mix=False,
):
    """Readings on a surface, a function of x and y in mm that gives um; each line starts from a zero of its own."""
    rng = np.random.default_rng(seed)
    rows = ["line,station,x_mm,y_mm,reading_arcsec"]
    for line, (a, b, c, d) in ends.items():
        if line in leave_out:
            continue
        part = np.linspace(0, 1, steps[line] + 1)
        x, y = size[0] * (a + (c - a) * part), size[1] * (b + (d - b) * part)
        slope = np.diff(surface(x, y)) / np.hypot(np.diff(x), np.diff(y)) / 1000
        reading = (
            np.degrees(np.arctan(slope)) * 3600 + rng.uniform(-zero, zero) + noise * rng.normal(size=part.size - 1)
        )
        if change:
            x, y = change(line, x, y)
        rows += [f"{line},{k},{x[k]},{y[k]},{reading[k - 1] if k else ''}" for k in range(part.size)]
    if mix:
        rows[1:] = rng.permutation(rows[1:]).tolist()
    return read_readings(io.StringIO("\n".join(rows)), name="jack.csv")


def hilly(x, y):
    return 12 * np.sin(x / 170) * np.cos(y / 90 + x / 400) + x * y / 4e4 + 3 * np.cos(x * y / 1e4)


def level(x, y):
    return np.zeros_like(x)


def beyond_plane(x, y, height):
    plane = np.stack([np.ones(x.size), x, y], axis=1)
    return height - plane @ np.linalg.lstsq(plane, height, rcond=None)[0]


def test_a_surveyed_plate_comes_back_at_every_station():
    found = union_jack(survey(hilly))
    truth = hilly(found.x_mm, found.y_mm)
    assert found.x_mm.size == sum(STEPS.values()) + 8 - 3 - 4 * 2 - 4  # the centre, corners and middles count once
    for height in (found.height_um, found.least_squares_height_um):
        np.testing.assert_allclose(beyond_plane(found.x_mm, found.y_mm, height - truth), 0, atol=1e-4)
    np.testing.assert_allclose(found.closure_um, 0, atol=1e-5)


@settings(deadline=None, max_examples=25)
@given(
    seed=st.integers(0, 2**32 - 1),
    backwards=st.sets(st.sampled_from(sorted(ENDS))),
    names=st.permutations(["1", "Ω", "a b", "north-ish", "LINE B", "line", "7th", "x, y"]),
    size=st.sampled_from([(800.0, 600.0), (600.0, 800.0), (300.0, 900.0), (500.0, 500.0)]),
)
def test_names_order_direction_and_rows_in_any_order_make_no_difference(seed, backwards, names, size):
    called = dict(zip(ENDS, (f'"{n}"' if "," in n else n for n in names)))
    ends = {called[k]: (c, d, a, b) if k in backwards else (a, b, c, d) for k, (a, b, c, d) in ENDS.items()}
    order = np.random.default_rng(seed).permutation(list(ends)).tolist()
    other = union_jack(
        survey(
            hilly, size, {called[k]: v for k, v in STEPS.items()}, seed=seed, ends={k: ends[k] for k in order}, mix=True
        ),
        0.5,
    )
    plain = union_jack(survey(hilly, size), 0.5)
    at = [int(np.hypot(other.x_mm - x, other.y_mm - y).argmin()) for x, y in zip(plain.x_mm, plain.y_mm)]
    assert sorted(at) == list(range(plain.x_mm.size))
    for name in ("height_um", "sd_um", "least_squares_height_um", "least_squares_sd_um"):
        np.testing.assert_allclose(getattr(other, name)[at], getattr(plain, name), atol=1e-4)
    np.testing.assert_allclose(np.abs(other.closure_um), 0, atol=1e-4)
    np.testing.assert_allclose(other.closure_sd_um, plain.closure_sd_um, rtol=1e-6)
    assert set(other.lines) == set(names)


@settings(deadline=None, max_examples=25)
@given(st.sets(st.sampled_from(sorted(ENDS)), min_size=1, max_size=7))
def test_whatever_is_missing_is_named_in_one_sentence(missing):
    with pytest.raises(Refusal) as refused:
        union_jack(survey(hilly, leave_out=missing))
    told, said = refused.value, str(refused.value)
    assert told.where == "jack.csv" and told.found and told.must_be and "\n" not in said and "no the" not in said


def test_the_usual_datum_is_zero_at_the_centre_and_level_along_both_diagonals():
    found = union_jack(survey(hilly, noise=0.5))
    for height in (found.height_um, found.least_squares_height_um):
        at = {(x, y): h for x, y, h in zip(found.x_mm, found.y_mm, height)}
        assert at[400, 300] == pytest.approx(0, abs=1e-9)
        assert at[0, 0] == pytest.approx(at[800, 600]) and at[800, 0] == pytest.approx(at[0, 600])


@settings(deadline=None, max_examples=30)
@given(
    seed=st.integers(0, 2**32 - 1), cells=st.sampled_from([2, 4, 6]), high=st.floats(0.1, 100), zero=st.floats(0, 2000)
)
def test_closures_are_zero_on_any_surface(seed, cells, high, zero):
    # Derived: without noise every line gives true differences of height, so all ways to the centre agree. Steps of
    # equal number on all lines put every station on one grid, and each node may have any height.
    node = np.random.default_rng(seed).normal(0, high, (cells + 1, cells + 1))

    def surface(x, y):
        return node[np.rint(y / 600 * cells).astype(int), np.rint(x / 800 * cells).astype(int)]

    found = union_jack(survey(surface, steps=dict.fromkeys(ENDS, cells), zero=zero))
    np.testing.assert_allclose(found.closure_um, 0, atol=1e-4 * max(high, 1))


def test_a_second_of_arc_over_100_mm_is_0_4848_um():
    # Derived: tan(1 arcsec) * 100 mm = 0.484814 um; the workshop rounds it to 0.5.
    rise = rises_um(np.array([0, 100.0, 200.0]), np.array([131.0, 129.0]))
    assert rise[1] == pytest.approx(0.484814, abs=1e-6)


def test_published_line_of_readings_gives_3_um_between_its_ends():
    # University course slides on straightness and flatness measurement: base 100 mm, 0.5 um per arcsec (rounded),
    # readings 130, 130, 133, 137, 128, 130, 134 arcsec; end-point straightness 3 um. Exactly, 3 * 0.484814 / 0.5.
    rise = rises_um(np.arange(8) * 100.0, np.array([130.0, 130, 133, 137, 128, 130, 134]))
    steps = np.array([0, 0, 0, 1.5, 5, 4, 4, 6])
    book = steps - np.arange(8) / 7 * steps[-1]
    np.testing.assert_allclose(rise, book * 0.484814 / 0.5, atol=1e-5)


def test_two_readings_are_redundant():
    # Derived: heights are known up to a plane (three), and each line has a zero.
    table = survey(hilly, noise=0.5)
    found = union_jack(table)
    readings, heights, zeros = int(np.isfinite(table.reading_arcsec).sum()), found.x_mm.size, 8
    assert readings - (heights - 3 + zeros) == 2
    assert "with 2 redundant readings" in found.sentence


def test_least_squares_agrees_with_a_general_statistics_library():
    table = survey(hilly, noise=0.5, seed=4)
    found = union_jack(table, reading_sd_arcsec=0.5)
    points, rows, slopes = found.x_mm.size, [], []
    for row in np.flatnonzero(table.station > 0):
        here, back = (np.hypot(found.x_mm - table.x_mm[r], found.y_mm - table.y_mm[r]).argmin() for r in (row, row - 1))
        step = np.hypot(table.x_mm[row] - table.x_mm[row - 1], table.y_mm[row] - table.y_mm[row - 1])
        one = np.zeros(points + 8)
        one[here], one[back] = 1 / step, -1 / step
        one[points + table.names.index(table.line[row])] = 1
        rows.append(one)
        slopes.append(np.tan(np.radians(table.reading_arcsec[row] / 3600)) * 1000)
    design, middle = np.array(rows), int(np.hypot(found.x_mm - 400, found.y_mm - 300).argmin())
    corner = [int(np.hypot(found.x_mm - x, found.y_mm - y).argmin()) for x, y in ((0, 0), (800, 0), (0, 600))]
    design = np.delete(design, corner, axis=1)  # three heights held at zero stand for the plane
    outside = sm.OLS(np.array(slopes), design).fit()
    height = np.insert(outside.params[: points - 3], np.array(sorted(corner)) - np.arange(3), 0)
    assert len(rows) == 62
    np.testing.assert_allclose(
        beyond_plane(found.x_mm, found.y_mm, found.least_squares_height_um - height), 0, atol=1e-3
    )
    assert found.least_squares_height_um[middle] == pytest.approx(0, abs=1e-9)


def test_noise_grows_with_the_step_and_with_the_root_of_the_number_of_steps():
    # J. Drescher, Precision Engineering 27 (2003), abstract.
    few, many = dict.fromkeys(ENDS, 4), dict.fromkeys(ENDS, 16)
    small = union_jack(survey(level, (400.0, 300.0), few), 1.0)
    wide = union_jack(survey(level, (800.0, 600.0), few), 1.0)
    np.testing.assert_allclose(wide.sd_um, 2 * small.sd_um, rtol=1e-9)
    np.testing.assert_allclose(wide.least_squares_sd_um, 2 * small.least_squares_sd_um, rtol=1e-6, atol=1e-6)
    longer = union_jack(survey(level, (1600.0, 1200.0), many), 1.0)  # the same step, four times as many
    np.testing.assert_allclose(longer.closure_sd_um, 2 * small.closure_sd_um, rtol=1e-9)


def test_noise_is_worst_where_the_centre_lines_reach_the_centre():
    # J. Drescher, Precision Engineering 27 (2003), abstract: the greatest uncertainty is at the centre.
    for size, steps in (((800.0, 600.0), STEPS), ((800.0, 800.0), dict.fromkeys(ENDS, 8))):
        found = union_jack(survey(level, size, steps), 1.0)
        assert found.closure_sd_um.max() > found.sd_um.max()
        worst = int(np.argmax(found.sd_um))
        assert np.hypot(found.x_mm[worst] - size[0] / 2, found.y_mm[worst] - size[1] / 2) <= 100.0 + 1e-6


def test_closure_sd_of_a_square_plate_in_closed_form():
    # Derived, step d, n steps on each line, s per reading: the middle of a line is out by s d sqrt(n) / 2 against its
    # ends. The closure is the middle of a centre line, plus half of each of two edges, plus half of each diagonal.
    found = union_jack(survey(level, (800.0, 800.0), dict.fromkeys(ENDS, 8)), 1.0)
    s, d, diagonal = np.tan(np.radians(1 / 3600)) * 1000, 100.0, 100.0 * np.sqrt(2)
    expected = s * np.sqrt(8) / 2 * np.sqrt(d**2 + 2 * (d / 2) ** 2 + 2 * (diagonal / 2) ** 2)
    np.testing.assert_allclose(found.closure_sd_um, expected, rtol=1e-6)


def test_least_squares_is_nowhere_less_sure():
    # H. Haitjema, Metrology 6(2) 27 (2026), abstract: letting the centre lines take part lowers the uncertainty.
    found = union_jack(survey(hilly, noise=0.3), 0.3)
    assert (found.least_squares_sd_um <= found.sd_um + 1e-6).all()
    assert found.least_squares_sd_um.max() < 0.85 * found.sd_um.max()


def test_both_standard_deviations_hold_in_many_surveys():
    usual, least, closures = [], [], []
    for seed in range(80):
        found = union_jack(survey(level, steps=dict.fromkeys(ENDS, 4), noise=1.0, seed=seed), 1.0)
        usual.append(found.height_um)
        least.append(found.least_squares_height_um)
        closures.append(found.closure_um)
    assert len(usual) == 80
    for heights, sd in ((usual, found.sd_um), (least, found.least_squares_sd_um)):
        assert np.sqrt(np.mean(np.array(heights) ** 2) / np.mean(sd**2)) == pytest.approx(1, abs=0.1)
    np.testing.assert_allclose(np.std(closures, axis=0), found.closure_sd_um, rtol=0.25)


def test_a_hollow_between_the_lines_is_not_seen():
    def hollow(x, y):
        return np.where(np.hypot(x - 250, y - 75) < 40, -30.0, 0.0)

    found = union_jack(survey(hollow))
    assert hollow(np.array([250.0]), np.array([75.0]))[0] == -30
    assert found.flatness_um < 1e-4


@pytest.mark.parametrize(
    ("kwargs", "facts"),
    [
        (
            {"leave_out": ("across", "east")},
            (
                "missing",
                "jack.csv",
                "without the edge at the greatest x, the centre line along x",
                "two diagonals, four edges and two centre lines",
            ),
        ),
        (
            {"steps": {**STEPS, "across": 7}},
            ("line 'across'", "without a station halfway, at x 400, y 300 mm", "an even number of equal steps"),
        ),
        (
            {"change": lambda line, x, y: (x, y + 60 * (line == "across"))},
            (
                "line 'across'",
                "from x 0, y 360 to x 800, y 360 mm",
                "a diagonal, an edge or a centre line of the rectangle",
            ),
        ),
        (
            {"change": lambda line, x, y: (x, np.where((line == "south") & (x == 300), 50.0, y))},
            (
                "jack.csv, row 27",
                "station 3 of line 'south'",
                "x 300, y 50 mm, out of order",
                "on the straight line between its ends",
            ),
        ),
        (
            {"change": lambda line, x, y: (x, y) if line != "along" else (x * 0, 600 - y)},
            ("lines 'west' and 'along'", "the edge at the smallest x", "each of the eight lines is read once"),
        ),
    ],
)
def test_a_survey_that_does_not_hang_together_is_refused_by_line_and_station(kwargs, facts):
    with pytest.raises(Refusal) as refused:
        union_jack(survey(hilly, **kwargs))
    told = " | ".join([refused.value.code, refused.value.where, refused.value.found, refused.value.must_be])
    for fact in facts:
        assert fact in told


def test_a_flat_plate_is_told_to_stop_95_times_in_100_though_the_closures_alone_tell_the_spread():
    four = dict.fromkeys(STEPS, 4)
    told = [findings(survey(level, noise=1.0, seed=seed, steps=four)) for seed in range(100)]
    assert told[0].solution.factor_95 == pytest.approx(4.3, abs=0.01)  # Student's t with two degrees of freedom
    assert np.mean([not one.stop.stop for one in told]) < 0.12
