"""A head on its bed in both planes, against rigid bodies that are moved point by point."""

import re

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from simulate.method.machine.cross_slide import cross_slide, swing
from simulate.method.machine.headstock import Axis, bar_sag_um, rise_and_turn, shims, turned_bar
from simulate.show.machine.cross_panel import CrossSlidePanel
from simulate.surface.tolerances.lathe import ISO_1708, machine_sentence

FEET, NEAR, FAR = np.array([-180.0, -20.0]), 50.0, 300.0


class Head:
    """A rigid head: a spindle axis through it, two feet under it, all as points in mm; x along the bed, z up, y to the
    tool."""

    def __init__(self, rng, size_um):
        turn = Rotation.from_euler("zy", rng.normal(0, size_um / 160 * 1e-3, 2))
        self.origin = np.array([0.0, *rng.normal(0, size_um / 1000, 2)])
        self.along = turn.apply([1.0, 0.0, 0.0])
        self.feet = np.array([[x, 0.0, -100.0] for x in FEET])
        # a bar that was clamped askew: off the axis by its own line, which turns with the spindle
        self.off = rng.normal(0, 0.02, 2), rng.normal(0, 1e-4, 2)

    def read(self, x_mm, half_turns, sag_um=0.0):
        """Where the bar is at a distance, beside and above the bed's line, in um."""
        far = (x_mm - self.origin[0]) / self.along[0]
        own = (self.off[0] + self.off[1] * x_mm) * (-1) ** half_turns
        y, z = (self.origin + far * self.along)[1:] + own
        return 1000 * y, 1000 * z + sag_um

    def move(self, turn, about, shift=(0, 0, 0)):
        about = np.asarray(about, float)
        self.origin = turn.apply(self.origin - about) + about + shift
        self.along = turn.apply(self.along)
        self.feet = turn.apply(self.feet - about) + about + shift


def upright(head, sag=(0.0, 0.0)):
    got = [turned_bar(head.read(x, 0, s)[1], head.read(x, 1, s)[1]).axis_um - s for x, s in zip((NEAR, FAR), sag)]
    return rise_and_turn(*got, NEAR, FAR)


def level(head):
    return rise_and_turn(*[turned_bar(head.read(x, 0)[0], head.read(x, 1)[0]).axis_um for x in (NEAR, FAR)], NEAR, FAR)


@pytest.mark.parametrize("seed", range(12))
def test_shims_set_a_rigid_head_upright_and_the_turned_bar_says_so(seed):
    head = Head(np.random.default_rng(seed), 60.0)
    sag = bar_sag_um([NEAR, FAR], 32.0, 300.0)
    under = shims(upright(head, sag), FEET, target_um=5.0)
    assert (under.thickness_um >= 0).all()
    # the head is tilted about the back foot's sole until both feet stand on their shims
    back, front = under.thickness_um / 1000
    head.move(Rotation.from_euler("y", -np.arctan2(front - back, FEET[1] - FEET[0])), head.feet[0], (0, 0, back))
    assert head.feet[:, 2] == pytest.approx([-100 + back, -100 + front], abs=1e-6)
    after = upright(head, sag)
    assert after.turn_urad == pytest.approx(0, abs=0.05) and after.rise_um == pytest.approx(
        5.0 + under.left_um, abs=0.1
    )


@pytest.mark.parametrize("seed", range(12))
def test_a_rigid_head_is_swung_along_the_bed_and_the_turned_bar_says_so(seed):
    head = Head(np.random.default_rng(seed), 60.0)
    pivot, dial = (-180.0, -20.0) if seed % 2 else (-20.0, -180.0)
    found = swing(level(head), pivot, dial)
    turn = Rotation.from_euler("z", found.turn_urad * 1e-6)
    moved = turn.apply([dial - pivot, 0, 0])[1] * 1000
    assert moved == pytest.approx(found.move_um, abs=0.01)
    head.move(turn, [pivot, 0.0, 0.0])
    after = level(head)
    assert after.turn_urad == pytest.approx(0, abs=0.05) and after.rise_um == pytest.approx(found.left_um, abs=0.05)


def test_signs_in_words():
    # derived: a nose that hangs wants its shim under the foot at the nose, one that rises under the other
    low, high = shims(rise_and_turn(-10, -40, NEAR, FAR), FEET), shims(rise_and_turn(-10, 20, NEAR, FAR), FEET)
    assert low.thickness_um[1] > low.thickness_um[0] and high.thickness_um[0] > high.thickness_um[1]
    # a nose that points to the tool is swung away from it at the nose, and the other way behind the pivot
    to_tool = rise_and_turn(10, 40, NEAR, FAR)
    assert swing(to_tool, -180, -20).move_um < 0 < swing(to_tool, -20, -180).move_um


def test_many_heads_at_once_and_a_turned_bar_that_is_true():
    rng = np.random.default_rng(2)
    axis = Axis(rng.normal(0, 30, 50), np.zeros(50), rng.normal(0, 200, 50), np.zeros(50))
    assert swing(axis, -100, 0).move_um.shape == (50,) and shims(axis, FEET).thickness_um.shape == (50, 2)
    assert turned_bar(4.0, 4.0).bar_um == 0


@pytest.mark.parametrize(("slide", "square"), [(0, 0), (60, 0), (0, -85), (-40, 120), (33, 33)])
def test_a_cross_slide_is_told_from_the_square_by_turning_it_over(slide, square):
    # derived from points: the slide runs along a line, the blade stands on a base along the axis; the dial reads their
    # distance
    out = np.array([0.0, 150.0])
    path = -np.tan(slide * 1e-6) * out
    reads = []
    for side in (1, -1):
        blade = side * np.tan(square * 1e-6) * out
        gain = (blade - path) * 1000
        reads.append(gain[1] - gain[0])
    found = cross_slide(*reads, 150.0)
    assert found.slide_urad == pytest.approx(slide, abs=1e-4) and found.square_urad == pytest.approx(square, abs=1e-4)
    assert np.mean(reads) == pytest.approx(slide * 0.15, abs=1e-4)


def test_how_sure_a_cross_slide_is_and_what_a_face_becomes():
    rng = np.random.default_rng(3)
    drawn = (rng.normal(9, 1.5, 100_000) + rng.normal(3, 1.5, 100_000)) / 300 * 1000 + rng.normal(0, 6, 100_000)
    found = cross_slide(9, 3, 150, reading_sd_um=1.5, axis_sd_urad=6)
    assert drawn.std() == pytest.approx(found.sd_urad, rel=0.01)
    told = CrossSlidePanel(first_um=9, turned_um=3, travel_mm=150).sentence
    assert "6.0 µm hollow" in told and "20 µm over 300 mm of travel) that is inside" in told
    told = CrossSlidePanel(first_um=-9, turned_um=-3, travel_mm=150).sentence
    assert "6.0 µm proud" in told and "Against ISO 1708†" in told and "that is outside" in told
    assert "hollow" in ISO_1708[
        "cross slide square to the axis"
    ].sense and "over 150 mm, inside 0 to 10 µm" in machine_sentence("cross slide square to the axis", 8, 150)


@pytest.mark.parametrize(
    ("make", "sentence"),
    [
        (
            lambda: swing(rise_and_turn(1, 2, 0, 100), 10, 10),
            "dial_mm is 10, the pivot itself; it must be another place, because a dial at the pivot shows no move.",
        ),
        (lambda: cross_slide(1, 2, 0), "travel_mm is 0; it must be more than 0."),
        (lambda: cross_slide(1, 2, 100, reading_sd_um=-1), "reading_sd_um is -1; it must be 0 or more."),
    ],
)
def test_impossible_figures_are_refused(make, sentence):
    with pytest.raises(ValueError, match=re.escape(sentence)):
        make()
