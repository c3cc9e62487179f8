"""One family of plate errors at a time: what the pictures say of it is what mirrors and turns of a square do."""

import io

import ipywidgets as widgets
import numpy as np
import pytest
from PIL import Image

from simulate.bench.seating.placement import face_plate
from simulate.method.plates.symmetry import LYING, family_parts, family_shape, moved, turned_into
from simulate.show import PlateTurnsPanel
from simulate.show.plates.plate_turns import PLACES, SHAPES

SQUARE = SHAPES["square"]
# Derived from the mirrors of the square: after a half turn, a quarter turn and in a mirror.
ANSWERS = {
    "dome": ("same", "same", "same"),
    "saddle": ("same", "sign changes", "same"),
    "twist": ("same", "sign changes", "sign changes"),
    "pinwheel": ("same", "same", "sign changes"),
    "lopsided, left to right": ("sign changes", "another shape", "sign changes"),
    "lopsided, near to far": ("sign changes", "another shape", "same"),
}
# Two that are alike cancel where one, mirrored and turned, is the other with its sign changed.
HIDDEN = {
    "face to face": {"twist", "pinwheel", "lopsided, left to right"},
    "half turn": {"twist", "pinwheel", "lopsided, near to far"},
    "quarter turn": {"saddle", "pinwheel"},
    "slid along": {"twist"},
}


@pytest.fixture(scope="module")
def panel():
    return PlateTurnsPanel()


def test_every_family_is_on_offer_as_itself():
    assert list(ANSWERS) == list(LYING)
    for family in LYING:
        height = family_shape(family, SQUARE)
        parts = {name: np.abs(part).max() for name, part in family_parts(height).items()}
        assert parts.pop(family.split(",")[0]) == pytest.approx(1), family
        assert max(parts.values()) < 1e-9, family


@pytest.mark.parametrize("family", LYING)
def test_what_a_family_does_is_said_under_its_pictures(panel, family):
    panel.controls["family"].value = family
    assert tuple(note.said for note in panel._notes[1:4]) == ANSWERS[family]


@pytest.mark.parametrize("place", PLACES)
def test_a_placement_hides_the_families_that_cancel(panel, place):
    panel.controls["place"].value = place
    hidden = set()
    for family in LYING:
        panel.controls["family"].value = family
        ends = "so this placement hides it." if panel._notes[-1].said == "cancels: hidden" else "placement shows it."
        assert panel.sentence.endswith(ends)
        hidden |= {family} if "hides" in ends else set()
    assert hidden == HIDDEN[place]


def test_a_move_that_is_no_turning_over_keeps_left_and_right():
    height = family_shape("lopsided, left to right", SQUARE) + np.linspace(0, 1, 41)[:, None]
    np.testing.assert_array_equal(moved(height, False), height)
    np.testing.assert_array_equal(moved(height, False, 90), np.rot90(height, -1))
    np.testing.assert_array_equal(moved(height, True, 90), face_plate(height, 90))
    assert turned_into(height, moved(height, False, 90)) == "another shape"


def test_plate_2_is_lifted_turned_over_turned_and_laid_down(panel):
    for name, value in (("family", "pinwheel"), ("place", "quarter turn")):
        panel.controls[name].value = value
    assert [one.layout.display for one in (panel.back, panel.forward, panel.next_stage)] == [None, None, "none"]
    panel.position.value = 0
    assert "Step 1 of 4: plate 2 is lifted, face up." in panel.sentence and not panel.way
    assert panel._notes[-1].said == "once plate 2 is laid down"
    ways = []
    for step, words in enumerate(("turned over", "turned by 90°", "lies on plate 1"), 2):
        panel.move(1)
        ways.append(len(panel.way))
        assert f"Step {step} of 4" in panel.sentence and words in panel.sentence
    assert ways == [3, 2, 0]
    panel.move(-1)
    assert panel.way == [], "a step back waits for nothing"
    panel.controls["place"].value = "face to face"
    assert panel.position.max == 2


def test_a_pinwheel_that_is_turned_never_changes_and_a_twist_does():
    """Not by its end, that is: on the way both are seen at an angle."""
    for family, alike in (("pinwheel", True), ("twist", False)):
        panel = PlateTurnsPanel(family, place="quarter turn")
        panel.move(-2)
        before = panel.canvas.pixels()
        panel.move(1)
        box = panel._pair[1].axes.bbox.extents.astype(int)
        part = slice(-box[3] + 30, -box[1] - 30), slice(box[0] + 30, box[2] - 30)
        far = np.abs(before[part].astype(int) - panel.canvas.pixels()[part]).mean()
        assert (far < 6) == alike, (family, far)
        assert all(Image.open(io.BytesIO(one)).size == (1280, 420) for one in panel.way)
        assert len({*panel.way, panel.png}) == 3, "on its way it is seen askew, at two angles"


def test_two_domes_touch_in_the_middle():
    dome = family_shape("dome", SQUARE)
    assert dome[20, 20] == dome.max() > 0 > dome[0, 0]


def test_every_control_answers_and_nothing_is_refused():
    panel, moved_on = PlateTurnsPanel("twist"), 0
    for name, control in panel.controls.items():
        assert isinstance(control, widgets.Dropdown)
        before, seen = control.value, set()
        for value in control._options_values:
            control.value = value
            assert panel.message.value == ""
            seen.add(panel.png)
        control.value = before
        assert len(seen) == len(control._options_values), name
        moved_on += 1
    assert moved_on == 3


def test_inches_are_said_where_they_are_asked_for():
    assert "thou" in PlateTurnsPanel("dome", units="inch").sentence


@pytest.mark.parametrize("wrong", [{"family": "bowl"}, {"shape": "round"}, {"place": "upside down"}])
def test_what_is_not_on_offer_is_refused(wrong):
    (name,) = wrong
    with pytest.raises(ValueError, match=rf"{name} is '{wrong[name]}'; it must be"):
        PlateTurnsPanel(**wrong)


@pytest.mark.parametrize("place", ["face to face", "half turn", "quarter turn"])
def test_corner_letters_turn_when_the_plate_turns_and_not_before(place):
    panel = PlateTurnsPanel(place=place)

    def corners():
        return [words._at for words in panel._pair[1]._letters]

    seen = []
    for step in range(panel.position.max + 1):
        panel.position.value = step
        seen.append(corners())
    over = PlateTurnsPanel()
    over.position.value = 1
    assert seen[1] == [words._at for words in over._pair[1]._letters]
    assert seen[0] != seen[1] and (seen[1] == seen[-1]) == (place == "face to face")
