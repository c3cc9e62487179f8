"""Three plates in turn: what each order of pairs and turns brings down, and what it leaves."""

import numpy as np
import pytest

from simulate.bench.cutting.scraping import Scraper
from simulate.core import parallel as cores
from simulate.method.plates import three_plate_loop as plates
from simulate.method.plates.plate_history import floor_reached
from simulate.method.plates.symmetry import beyond_plane, family_parts
from simulate.method.plates.three_plate_loop import FACE_TO_FACE, HALF_TURNS, QUARTER_TURNS, three_plates
from simulate.method.plates.unseen import ORDERS, unseen_part
from simulate.surface.starting_plates import starting_plates

POINTS = 15
X = np.linspace(-150, 150, POINTS)
U = X / 150


def start(*families, workshops=None, seed=3, out_um=200.0):
    """Plates that are out by `out_um`, made up of the named families in amounts of chance."""
    rng = np.random.default_rng(seed)
    u, v = np.meshgrid(U, U)
    shapes = {
        "dome": u**2 + v**2,
        "saddle": u**2 - v**2,
        "twist": u * v,
        "pinwheel": 4 * u * v * (u**2 - v**2),
        "lopsided": u**3,
    }
    plates = (3,) if workshops is None else (workshops, 3)
    h = sum(rng.uniform(0.3, 1, plates)[..., None, None] * shapes[f] for f in families)
    return beyond_plane(h) * out_um / np.ptp(beyond_plane(h), axis=(-2, -1), keepdims=True)


def run(h, schedule, passes=300, **more):
    return three_plates(X, X, h, removal_um=60, schedule=schedule, passes=passes, seed=1, **more)


def left(history, family):
    parts = family_parts(beyond_plane(history.height_um[-1]))
    return np.ptp(parts[family], axis=(-2, -1)).max()


ALL_BUT_PINWHEEL = ("dome", "saddle", "twist", "lopsided")


def test_quarter_turns_bring_200_um_down_to_what_the_film_shows():
    history = run(start(*ALL_BUT_PINWHEEL), QUARTER_TURNS)
    assert history.flatness_um[0] == pytest.approx(200)
    assert history.flatness_um[-1].max() < 4
    assert history.close[-1] > 0.9


@pytest.mark.parametrize("schedule", [FACE_TO_FACE, HALF_TURNS])
def test_without_quarter_turns_the_twist_persists_and_the_bearing_looks_perfect(schedule):
    history = run(start(*ALL_BUT_PINWHEEL), schedule)
    assert history.close[-1] > 0.9
    assert left(history, "twist") > 20
    assert left(history, "dome") < 4
    assert left(run(start(*ALL_BUT_PINWHEEL), QUARTER_TURNS), "twist") < 2


def test_face_to_face_leaves_lopsided_plates_and_half_turns_do_not():
    h = start("dome", "lopsided")
    assert left(run(h, FACE_TO_FACE), "lopsided") > 20
    assert left(run(h, HALF_TURNS), "lopsided") < 4


def test_the_same_twist_on_all_three_is_not_touched_without_quarter_turns():
    # Published in words: J. Rose, Modern Machine-Shop Practice, Figs 2443-2444.
    h = np.stack([100 * np.outer(U, U)] * 3)
    half = run(h, HALF_TURNS, 120)
    assert half.close[-1] > 0.98 and half.flatness_um[-1].min() > 190
    assert run(h, QUARTER_TURNS).flatness_um[-1].max() < 4


def test_the_pinwheel_survives_every_square_turn_and_a_slide_brings_it_down():
    u, v = np.meshgrid(U, U)
    h = np.stack([50 * 4 * u * v * (u**2 - v**2)] * 3)
    square = run(h, QUARTER_TURNS, 120)
    assert left(square, "pinwheel") > 0.9 * np.ptp(h[0])
    slid = [(a, b, t, *s) for s in ((0, 0), (4, 0), (0, -4)) for a, b, t in QUARTER_TURNS]
    assert left(run(h, slid, 900), "pinwheel") < 0.3 * np.ptp(h[0])


def test_metal_only_comes_off_and_is_accounted_for():
    history = run(start("dome", "twist"), QUARTER_TURNS, 20)
    assert (np.diff(history.height_um, axis=0) <= 1e-12).all()
    cell = (X[1] - X[0]) ** 2
    gone = (history.height_um[0] - history.height_um[-1]).sum(axis=(-2, -1)) * cell / 1000
    assert history.metal_mm3[-1] == pytest.approx(gone)
    assert history.passes.tolist() == [0, 6, 12, 18, 20]


@pytest.mark.parametrize("share, kept", [(0, 1), (1, 0)])
def test_the_share_says_which_plate_of_a_pair_gives_up_metal(share, kept):
    h = start("dome", "twist")
    history = run(h, [(0, 1, 0)], 3, share=share)
    assert history.height_um[-1, kept] == pytest.approx(h[kept])
    assert (history.height_um[-1, 1 - kept] < h[1 - kept]).any()
    assert history.height_um[-1, 2] == pytest.approx(h[2])


def test_each_step_tells_what_lay_on_what_and_what_was_taken():
    schedule = [(0, 1, 90), (2, 0, 0, 3, -1)]
    h = start("dome", "twist")
    history = run(h, schedule, 5)
    assert [(s.number, s.lower, s.upper, s.turned, s.slide) for s in history.steps] == [
        (k + 1, *f) for k, f in enumerate([(0, 1, 90, (0, 0)), (2, 0, 0, (3, -1))] * 2 + [(0, 1, 90, (0, 0))])
    ]
    now = h
    looped = 0
    for step in history.steps:
        assert step.height_um == pytest.approx(now)
        now = now - step.removed_um
        third = ({0, 1, 2} - {step.lower, step.upper}).pop()
        assert np.abs(step.removed_um[third]).max() == 0
        assert (step.removed_um[step.lower][~step.printed] == 0).all()
        assert np.nanmin(step.gap_um) == 0
        looped += 1
    assert looped == 5
    assert now == pytest.approx(history.height_um[-1])
    assert np.isnan(history.steps[1].gap_um).any()


def test_a_schedule_can_be_written_with_the_slide_as_a_pair_or_as_two_numbers():
    h = start("dome")
    one, two = (run(h, [f], 2).height_um for f in ((0, 1, 90, (2, 1)), (0, 1, 90, 2, 1)))
    assert one == pytest.approx(two)


def test_many_workshops_run_as_each_would_alone_but_for_the_chance_of_the_hand():
    h = start("dome", "twist", workshops=4)
    even = Scraper(scatter=0)
    many = run(h, QUARTER_TURNS, 12, scraper=even)
    assert many.height_um.shape == (4, 3, 3, POINTS, POINTS) and many.steps == ()
    looped = 0
    for k in range(4):
        alone = run(h[k], QUARTER_TURNS, 12, scraper=even)
        assert many.height_um[k] == pytest.approx(alone.height_um, abs=1e-6)
        assert many.flatness_um[k] == pytest.approx(alone.flatness_um, abs=1e-6)
        looped += 1
    assert looped == 4


def test_many_parts_of_many_workshops_give_the_same_on_one_core_and_on_more(monkeypatch):
    monkeypatch.setattr(plates, "STREAM_HEIGHTS", 2 * 3 * POINTS**2)  # seven workshops in four parts
    h, found = start("dome", "twist", workshops=7), []
    for count in (1, 3):
        monkeypatch.setattr(cores, "cores", lambda count=count: count)
        found.append(run(h, QUARTER_TURNS, 12).height_um)
    assert (found[0] == found[1]).all() and found[0].shape[0] == 7
    assert (found[0][2:, -1] != found[0][2:, 0]).any(axis=(-2, -1)).all()


@pytest.mark.parametrize("order", ORDERS)
def test_every_workshop_comes_down_from_200_um_to_what_its_order_hides_and_says_when_it_has(order):
    x, y, h = starting_plates(400, 400, 200, points=31, workshops=25, seed=7)
    history = three_plates(x, y, h, removal_um=80, schedule=ORDERS[order], passes=132, seed=1)
    hidden = np.ptp(unseen_part(history.height_um, order), axis=(-2, -1))
    worst = history.flatness_um.max(axis=-1)
    assert (worst[:, 0] >= 200).all() and hidden[:, 0] == pytest.approx(hidden[:, -1], rel=0.2)
    assert (worst[:, -1] - hidden[:, -1] < 2).all() and (worst[:, -1] > hidden[:, -1] - 0.1).all()
    assert floor_reached(history).all()
    short = three_plates(x, y, h, removal_um=80, schedule=ORDERS[order], passes=36, seed=1)
    assert not floor_reached(short).any() and not floor_reached(short, markings=48).any()


def test_the_same_seed_gives_the_same_run():
    h = start("dome")
    assert (run(h, QUARTER_TURNS, 9).height_um == run(h, QUARTER_TURNS, 9).height_um).all()


def test_an_oblong_plate_takes_half_turns_by_itself_and_quarter_turns_on_what_overlaps():
    y = X[:9]
    h = np.stack([np.outer(U[:9], U) * 40] * 3)
    by_itself = three_plates(X, X[:10], np.zeros((3, 10, POINTS)), removal_um=5, passes=1)
    assert [f[2] for f in by_itself.schedule] == [0, 0, 0, 180, 180, 180]
    turned = three_plates(X, y - y.mean(), h, removal_um=5, passes=2, schedule=[(0, 1, 90)])
    assert np.isnan(turned.steps[0].gap_um).sum() == 9 * (POINTS - 9)


@pytest.mark.parametrize(
    "change, words",
    [
        ({"schedule": []}, r"schedule holds nothing; it must hold at least one fit of two plates\."),
        ({"schedule": 5}, r"schedule is 5; it must be a list of \(lower, upper, turned\)\."),
        ({"schedule": [(0, 1, 45)]}, r"schedule\[0\] turned is 45; it must be 0, 90, 180 or 270"),
        ({"schedule": [(0, 3, 0)]}, r"schedule\[0\] upper is 3; it must be 0 to 2"),
        (
            {"schedule": [(0, 1, 0, 7, 0)]},
            (
                r"schedule\[0\] is slid by \(7, 0\) grid steps; it must be slid by less than half of the plate, or "
                r"it tips off\."
            ),
        ),
        ({"removal_um": 0}, "removal_um is 0; it must be more than 0"),
        ({"share": 2}, "share is 2; it must be 0 to 1"),
        (
            {"height_um": np.zeros((3, 4, 4))},
            r"height_um is 3 by 4 by 4 figures; it must be 15 by 15 heights for each of two plates or more\.",
        ),
        ({"x_mm": np.arange(15.0) ** 2}, r"x_mm has steps of 1 to 27 mm; it must be evenly spaced\."),
        ({"x_mm": 2 * X, "schedule": [(0, 1, 90)]}, "a quarter turn needs the same step along x and y"),
    ],
)
def test_bad_runs_are_refused_in_words(change, words):
    asked = {"x_mm": X, "y_mm": X, "height_um": np.zeros((3, POINTS, POINTS)), "removal_um": 10} | change
    with pytest.raises(ValueError, match=words):
        three_plates(asked.pop("x_mm"), asked.pop("y_mm"), asked.pop("height_um"), **asked)
