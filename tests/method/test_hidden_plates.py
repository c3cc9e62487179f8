"""What fits between plates leave unseen: counted by symmetry, and shown to make no gap."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulate.bench.seating.placement import face_plate
from simulate.method.plates.plate_null_space import hidden_plate_errors, noise_gain
from simulate.method.plates.symmetry import family_parts, hidden_families

PAIRS = [(0, 1), (0, 2), (1, 2)]


def turned(*angles):
    return [(a, b, angle) for angle in angles for a, b in PAIRS]


PLAIN, HALF, QUARTER = turned(0), turned(0, 180), turned(0, 90, 180, 270)


def beyond_plane(z):
    """Heights beyond their least-squares plane, by numpy.linalg.lstsq, where there are any."""
    rows, columns = np.nonzero(np.isfinite(z))
    a = np.stack([np.ones(rows.size), columns, rows], axis=1)
    values = z[rows, columns]
    return values - a @ np.linalg.lstsq(a, values, rcond=None)[0]


def gaps(plates, fits):
    shown = [
        beyond_plane(plates[low] + face_plate(plates[up], angle, tuple(slide)))
        for low, up, angle, *slide in [f if len(f) == 5 else (*f, 0, 0) for f in fits]
    ]
    return np.concatenate([*shown, [0.0]])


def twist(points):
    x = np.linspace(-1, 1, points)
    return np.outer(x, x)


def test_a_plate_turned_over_about_y_meets_its_own_mirror_and_then_turns_counterclockwise():
    # The one proud place stands at +x on its own plate: face down it lies at -x; a quarter turn
    # counterclockwise seen from above carries -x to -y, which is the first row.
    own = np.zeros((3, 3))
    own[1, 2] = 1
    assert [np.argwhere(face_plate(own, t))[0].tolist() for t in (0, 90, 180, 270)] == [[1, 0], [0, 1], [1, 2], [2, 1]]


def test_a_slide_carries_the_turned_plate_along_the_bench_x_and_y():
    own = np.zeros((4, 5))
    own[1, 3] = 1
    met = face_plate(own, 0, (2, 1))
    assert np.argwhere(met == 1).tolist() == [[2, 3]]
    assert np.isnan(met[:1]).all() and np.isnan(met[:, :2]).all() and np.isfinite(met[1:, 2:]).all()


@pytest.mark.parametrize("n", [3, 4, 5, 8, 9])
def test_face_to_face_hides_what_is_odd_across_the_turning_axis(n):
    # a + Mb, a + Mc, b + Mc all 0 gives a = b = c with Ma = -a: n rows of floor(n/2) freedoms, less the tilt.
    hidden = hidden_plate_errors(n, PLAIN)
    assert len(hidden) == n * (n // 2) - 1
    assert hidden == pytest.approx(-hidden[..., ::-1], abs=1e-9)
    assert hidden[:, 0] == pytest.approx(hidden[:, 2], abs=1e-9)


@pytest.mark.parametrize("n", [3, 4, 5, 8, 9])
def test_half_turns_leave_what_is_odd_both_ways(n):
    # The half turn adds Na = -a for the mirror along y: floor(n/2) squared, and no plane among them.
    hidden = hidden_plate_errors(n, HALF)
    assert len(hidden) == (n // 2) ** 2
    assert hidden == pytest.approx(-hidden[..., ::-1, :], abs=1e-9)


@pytest.mark.parametrize("n", [3, 4, 5, 8, 9])
def test_quarter_turns_leave_the_pinwheels_only(n):
    # A quarter turn adds Ta = -a for swapping x and y: with m = floor(n/2), the m(m-1)/2 antisymmetric ones.
    m = n // 2
    hidden = hidden_plate_errors(n, QUARTER)
    assert len(hidden) == m * (m - 1) // 2
    parts = family_parts(hidden)
    assert parts["pinwheel"] == pytest.approx(hidden, abs=1e-9)


def test_the_same_twist_fits_at_0_and_180_and_shows_double_at_90():
    # Published in words: J. Rose, Modern Machine-Shop Practice, Figs 2443-2444.
    t = twist(7)
    for angle in (0, 180):
        assert t + face_plate(t, angle) == pytest.approx(0, abs=1e-12)
    for angle in (90, 270):
        assert t + face_plate(t, angle) == pytest.approx(2 * t, abs=1e-12)


@pytest.mark.parametrize("fits, share", [(PLAIN, 1), (HALF, 1), (PLAIN + [(0, 1, 90)], 0), (QUARTER, 0)])
def test_the_twist_hides_until_the_first_quarter_turn(fits, share):
    hidden = hidden_plate_errors(6, fits)
    stands = np.broadcast_to(twist(6), (3, 6, 6)) / np.linalg.norm(twist(6)) / np.sqrt(3)
    assert np.linalg.norm(np.tensordot(hidden, stands, axes=3)) == pytest.approx(share, abs=1e-9)


@pytest.mark.parametrize("n", [5, 8])
def test_a_slide_of_one_step_shows_the_pinwheel_but_only_weakly(n):
    slid = QUARTER + [(0, 1, 0, 1, 0)]
    assert len(hidden_plate_errors(n, QUARTER)) > 0
    assert len(hidden_plate_errors(n, slid)) == 0
    assert noise_gain(n, slid).gain[0] > 2 * noise_gain(n, QUARTER).gain[0]


def test_three_flats_without_turning_settle_one_diameter_only():
    # Published: Optical Engineering 53(9) 092004, 2014.
    hidden = hidden_plate_errors(9, PLAIN)
    freedom = np.sqrt((hidden[:, 0] ** 2).sum(axis=0))
    assert freedom[:, 4] == pytest.approx(0, abs=1e-9)
    assert (freedom[:, [0, 1, 2, 3, 5, 6, 7, 8]] > 0.1).all()


def test_families_are_named_with_what_is_left_of_them():
    found = {f.name: f for f in hidden_families(9, QUARTER)}
    assert {name: f.hidden for name, f in found.items()} == {
        "dome": 0,
        "saddle": 0,
        "twist": 0,
        "pinwheel": 6,
        "lopsided": 0,
    }
    assert found["pinwheel"].simplest == pytest.approx(1)


@given(st.integers(2, 7), st.integers(2, 7), st.integers(0, 2**32 - 1))
@settings(deadline=None, max_examples=30)
def test_the_families_add_up_to_the_plate(rows, columns, seed):
    h = np.random.default_rng(seed).normal(size=(rows, columns))
    parts = family_parts(h)
    assert sum(parts.values()) == pytest.approx(h, abs=1e-12)
    assert sum((p**2).sum() for p in parts.values()) == pytest.approx((h**2).sum())


def test_three_readings_of_noise_give_each_plate_the_root_of_three_over_two():
    # a = (ab + ac - bc) / 2 gives sqrt(3)/2 (derived). Shapes that are even across the turning axis behave so: their
    # three singular values are 1, 1 and 2, and the mean of 1/1, 1/1 and 1/4 is 3/4.
    gain = noise_gain(9, PLAIN)
    even = 9 * 5 - 2
    values = np.round(gain.singular_values, 9)
    assert (values == 2).sum() == even
    assert (1 + 1 + 1 / 4) / 3 == pytest.approx((np.sqrt(3) / 2) ** 2)


def test_noise_gain_agrees_with_the_pseudo_inverse():
    fits = PLAIN + [(0, 1, 90), (1, 2, 0, 1, -1)]
    columns = np.array([gaps(e, fits) for e in np.eye(48).reshape(-1, 3, 4, 4)]).T
    values = np.linalg.svd(columns, compute_uv=False)
    gain = noise_gain(4, fits)
    assert gain.singular_values[::-1] == pytest.approx(values[values > 1e-8])
    assert gain.average == pytest.approx(np.sqrt((np.linalg.pinv(columns, 1e-8) ** 2).sum() / 48))
    assert np.linalg.norm(gaps(gain.weakest, fits)) == pytest.approx(gain.singular_values[0])


@st.composite
def schedules(draw):
    rows, columns = draw(st.integers(2, 7)), draw(st.integers(2, 7))
    angles = (0, 90, 180, 270) if (rows - columns) % 2 == 0 else (0, 180)
    slide = st.integers(0, max(0, min(2, min(rows, columns) - 2)))
    fit = st.tuples(
        st.sampled_from([(a, b) for a in range(3) for b in range(3) if a != b]), st.sampled_from(angles), slide, slide
    )
    return (rows, columns), [(*p, t, sx, sy) for p, t, sx, sy in draw(st.lists(fit, max_size=6))]


@settings(deadline=None, max_examples=50)
@given(schedules())
def test_no_hidden_error_changes_any_gap_beyond_its_plane_and_none_is_missed(asked):
    shape, fits = asked
    size = 3 * shape[0] * shape[1]
    hidden = hidden_plate_errors(shape, fits)
    flat = hidden.reshape(len(hidden), size)
    assert flat @ flat.T == pytest.approx(np.eye(len(hidden)), abs=1e-9)
    for h in hidden:
        assert gaps(h, fits) == pytest.approx(0, abs=1e-8)
        for plate in h:
            assert beyond_plane(plate) == pytest.approx(plate.ravel(), abs=1e-8)
    # None is missed: what the fits show, and the nine planes, make up the rest of the space (rank by numpy.linalg).
    shown = np.array([gaps(e, fits) for e in np.eye(size).reshape(-1, 3, *shape)])
    assert len(hidden) == size - 9 - np.linalg.matrix_rank(shown, tol=1e-8)


@settings(deadline=None, max_examples=30)
@given(schedules(), st.integers(2, 4), st.randoms())
def test_the_same_placements_again_and_in_another_order_hide_the_same_and_halve_the_noise_as_repeats_do(
    asked, times, chance
):
    shape, fits = asked
    if not fits:
        return
    again = fits * times
    chance.shuffle(again)
    once, often = (hidden_plate_errors(shape, f).reshape(-1, 3 * shape[0] * shape[1]) for f in (fits, again))
    assert once.shape == often.shape
    assert once.T @ once == pytest.approx(often.T @ often, abs=1e-7)  # the same space, whatever its basis
    if 3 * shape[0] * shape[1] - 9 > len(once):
        one, many = noise_gain(shape, fits), noise_gain(shape, again)
        assert many.gain == pytest.approx(
            one.gain / np.sqrt(times), rel=1e-5
        )  # independent readings: root of their number


@settings(deadline=None, max_examples=30)
@given(st.integers(2, 7), st.integers(0, 2), st.sampled_from([0, 90, 180, 270]), st.integers(0, 2**32 - 1))
def test_a_on_b_and_b_on_a_show_the_same_gap_turned_the_same_way(rows, more, turned, seed):
    # Derived: turned over and round is its own undoing, for a mirror after a turn is that turn undone after the mirror.
    h = np.random.default_rng(seed).normal(size=(rows, rows + 2 * more))
    if turned in (90, 270):
        h = h[:, :rows]
    assert face_plate(face_plate(h, turned), turned) == pytest.approx(h, abs=1e-12)
    fits = [(0, 1, turned)], [(1, 0, turned)]
    first, second = (hidden_plate_errors(h.shape, f, plates=2) for f in fits)
    flat = [b.reshape(len(b), -1) for b in (first, second)]
    assert flat[0].T @ flat[0] == pytest.approx(flat[1].T @ flat[1], abs=1e-8)


@pytest.mark.parametrize("shape", [(5, 9), (4, 6), (6, 10)])
def test_on_oblong_plates_a_slide_along_finds_what_a_quarter_turn_cannot_reach(shape):
    ends = hidden_plate_errors(shape, turned(0, 180, 90, 270))
    assert (
        len(ends) > 0
        and len(hidden_plate_errors(shape, turned(0, 180, 90, 270) + [(0, 1, 0, 1, 0), (0, 1, 0, 0, 1)])) == 0
    )
    reached = (shape[1] - shape[0]) // 2
    pinwheels = hidden_plate_errors((shape[0], shape[0]), turned(0, 180, 90, 270))
    # In the middle square, which the quarter turn compares, only the pinwheels of a square stay, and what is level
    # there.
    middle = ends[..., reached : reached + shape[0]].reshape(len(ends), 3, -1)
    level = np.linalg.qr(np.stack([np.ones(shape[0] ** 2), *np.indices((shape[0],) * 2).reshape(2, -1)], axis=1))[0]
    beyond = (middle - (middle @ level) @ level.T).reshape(len(ends), -1)
    known = pinwheels.reshape(len(pinwheels), -1)
    assert beyond - (beyond @ known.T) @ known == pytest.approx(0, abs=1e-7)


def test_a_quarter_turn_of_an_oblong_plate_compares_only_the_square_in_the_middle():
    hidden = hidden_plate_errors((3, 7), turned(0, 180, 90))
    # Twists of the whole plate show in the middle square, where the quarter turn adds them up; beyond it they hide.
    assert hidden[..., 2:5] == pytest.approx(0, abs=1e-9)
    assert len(hidden) == 1 * 3 - 1


@pytest.mark.parametrize(
    "fits, words",
    [
        ([(1, 1, 0)], r"fits\[0\] is plate 1 on itself; it must be two different plates\."),
        ([(0, 1, 0), (0, 3, 0)], r"fits\[1\] upper is 3; it must be 0 to 2"),
        ([(0, -1, 0)], r"fits\[0\] upper is -1; it must be 0 to 2"),
        ([(0, 1, 45)], r"fits\[0\] turned is 45; it must be 0, 90, 180 or 270"),
        ([(0, 1, True)], r"fits\[0\] turned is True; it must be 0, 90, 180 or 270 degrees\."),
        ([(0, 1, 0, 5, 0)], r"slide is \(5, 0\) at 0 degrees, where 0 points of 5 by 5 meet"),
        ([(0, 1, 0, 4, 0)], r"slide is \(4, 0\) at 0 degrees, where 5 points of 5 by 5 meet"),
        ([(0, 1, 0, 0.5, 0)], r"fits\[0\] slide along x is 0.5; it must be a whole number"),
        ([(0, 1)], r"must be \(lower, upper, turned\)"),
        (7, r"fits is 7; it must be a list of \(lower, upper, turned\)\."),
    ],
)
def test_bad_fits_are_refused_in_words(fits, words):
    with pytest.raises(ValueError, match=words):
        hidden_plate_errors(5, fits)


def test_a_quarter_turn_where_no_points_meet_is_refused():
    with pytest.raises(ValueError, match="turned is 90 on a plate of 4 by 7 points"):
        hidden_plate_errors((4, 7), [(0, 1, 90)])
