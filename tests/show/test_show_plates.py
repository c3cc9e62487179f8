"""Panels of plates answer every setting, and what they call hidden is hidden."""

from datetime import datetime
from itertools import combinations

import ipywidgets as widgets
import numpy as np
import pytest

from simulate.bench.seating.placement import face_plate
from simulate.core.refusal import Refusal
from simulate.method.plates.placement_schedules import placements, shortest_schedule
from simulate.method.plates.plate_null_space import hidden_plate_errors, noise_gain
from simulate.method.plates.symmetry import beyond_plane
from simulate.method.plates.unseen import ORDERS, unseen_part
from simulate.readings.table.demo import demo_path
from simulate.show.drawing.flash_limit import CALM_MS
from simulate.show.drawing.plate_map import corner_place
from simulate.show.own.pictures.survey_picture import blind
from simulate.show.own.survey.own_survey import SurveyPanel
from simulate.show.plates.edge_survey_panel import EdgeSurveyPanel
from simulate.show.plates.hidden_plates import PLACEMENTS, HiddenPlatesPanel, smoothest_plates
from simulate.show.plates.three_plates import PlatesPanel, run


def sweep(panel, but=()):
    """Every slider to both ends and every list through its choices; how many controls moved."""
    moved, opened = 0, {one: one.value for one in panel.controls.values()}
    for widget in [*(one for name, one in panel.controls.items() if name not in but), getattr(panel, "position", None)]:
        if isinstance(widget, (widgets.FloatSlider, widgets.IntSlider)):
            values = (widget.min, widget.max)
        elif isinstance(widget, widgets.Dropdown):
            values = widget._options_values
        elif isinstance(widget, widgets.Checkbox):
            values = (not widget.value,)
        else:
            continue
        before, pictures = widget.value, {(panel.png, panel.sentence)}
        for value in (*values, before):
            widget.value = min(value, widget.max) if hasattr(widget, "max") else value
            assert panel.message.value == "", f"{widget.description} at {value} was refused: {panel.message.value}"
            assert len(panel.sentence) > 40 and widget.description
            pictures.add((panel.png, panel.sentence))
        assert len(pictures) > 1, f"{widget.description} changes nothing"
        for one, value in opened.items():  # moving a figure has ticked its box
            one.value = value
        moved += 1
    return moved


@pytest.fixture(scope="module")
def plates():
    return PlatesPanel(passes=8)


def test_every_control_of_the_plates_answers_at_both_ends(plates):
    assert sweep(plates) == 9


def test_moving_along_a_run_of_plates_neither_simulates_nor_redraws_the_axes(plates):
    plates.position.value = 0
    asked, drawn = run.cache_info(), plates.canvas.full_draws
    pictures = set()
    for place in range(1, 7):
        plates.position.value = place
        pictures.add(plates.png)
    assert len(pictures) == 6
    assert (run.cache_info(), plates.canvas.full_draws) == (asked, drawn)


def test_the_next_stage_of_quarter_turns_is_seven_markings_on(plates):
    plates.position.value = 0
    plates.jump()
    assert plates.position.value == 6
    assert plates.sentence.startswith("Spotting 7 of 8: plate 2 face down on plate 1, not turned")
    assert "DIN 876" in plates.sentence and "can never show" in plates.sentence


def test_plates_speak_in_inches_and_simulate_in_micrometres():
    thou = PlatesPanel(passes=6, units="inch")
    assert " thou out of flat" in thou.sentence and "µm" not in thou.sentence
    assert thou.values()["error_um"] == pytest.approx(200, rel=0.01)


@pytest.mark.parametrize(
    "wrong, words",
    [
        ({"error_um": 5}, "error_um is 5 µm; it must be 20 to 500 µm."),
        ({"order": "thirds"}, "order is 'thirds'; it must be 'face to face', 'half turns' or 'quarter turns'."),
        ({"passes": 2}, "passes is 2; it must be 6 to 200."),
    ],
)
def test_an_impossible_setting_of_plates_is_refused_in_one_sentence(wrong, words):
    with pytest.raises(ValueError) as refusal:
        PlatesPanel(**wrong)
    assert str(refusal.value) == words


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("points", [5, 6])
def test_the_part_called_unseen_is_the_whole_of_what_the_order_hides(order, points):
    # The basis of hidden errors is found by solving for all that makes no gap; the unseen part by symmetry alone.
    h = beyond_plane(np.random.default_rng(points).normal(size=(3, points, points)))
    basis = hidden_plate_errors(points, ORDERS[order])
    projected = np.tensordot(np.tensordot(basis, h, axes=3), basis, axes=1) if len(basis) else 0 * h
    np.testing.assert_allclose(projected, np.stack([unseen_part(h, order)] * 3), atol=1e-9)


def test_scraping_leaves_the_unseen_part_nearly_as_it_was():
    # Derived: both plates give up mirrored metal. Uneven scrape marks are all that moves it.
    history, unseen = run(1, 200.0, 80.0, 2.0, "quarter turns", 60)
    assert history.flatness_um[-1].max() < 0.3 * history.flatness_um[0].max()
    assert np.ptp(unseen) < 0.1 * unseen[0] + 0.5


@pytest.mark.parametrize("turned", [0, 90, 180, 270])
def test_letters_lie_where_the_corner_of_the_turned_plate_lies(turned):
    h = np.zeros((3, 3))
    h[0, 0] = 1
    row, column = np.argwhere(face_plate(h, turned) == 1)[0]
    assert corner_place((-1, -1), turned) == (column - 1, row - 1)


# -- what hides, and the shortest schedule -----------------------------------
@pytest.fixture(scope="module")
def hidden():
    return HiddenPlatesPanel()


def test_every_control_of_the_hidden_plates_answers(hidden):
    assert sweep(hidden) == len(PLACEMENTS) + 2


def test_the_shown_set_of_plates_passes_what_was_tried_and_a_slide_gives_the_pinwheel_away():
    panel = HiddenPlatesPanel(placements=tuple(PLACEMENTS)[:3] + ((0, 1, 90, 0, 0),))
    assert "6 independent errors are hidden (pinwheel 6)" in panel.sentence
    assert (
        "It would show with 2 on 1, slid along; 2 on 1, slid slanting. Of the errors that show, the weakest is "
        "amplified " in panel.sentence
    )
    gains = noise_gain(9, [*list(PLACEMENTS)[:3], (0, 1, 90)]).gain
    assert panel.sentence.endswith(
        f"is amplified {gains[0]:.1f} times: readings that scatter by 1 µm leave it uncertain by {gains[0]:.1f} µm."
    )
    curve = panel._gain.get_lines()[0]
    assert curve.get_ydata() == pytest.approx(gains) and (np.diff(gains) <= 1e-12).all()
    panel.controls["fit5"].value = True
    assert "No error of plates with these points stays hidden" in panel.sentence


def test_counts_of_hidden_errors_follow_from_the_mirrors_of_the_plate():
    # Derived: half of the points beside the middle line carry a shape odd along x, less the one that is a plane.
    n, k = 9, 4
    counts = {"fit3": k * k, "fit4": k * (k - 1) // 2}
    panel = HiddenPlatesPanel()
    assert f"{n * k - 1} independent errors are hidden" in panel.sentence
    for name, count in counts.items():
        panel.controls[name].value = True
        assert f"{count} independent errors are hidden" in panel.sentence


def test_the_slider_of_hidden_errors_ends_at_the_last_one_and_the_one_shown_is_named():
    panel = HiddenPlatesPanel(which=8)
    assert panel.controls["which"].max == 12 and "Number 8, smoothest first, is shown (twist)" in panel.sentence
    panel.controls["fit4"].value = True
    assert panel.controls["which"].value == panel.controls["which"].max == 6
    assert "Number 6, smoothest first, is shown (pinwheel)" in panel.sentence
    panel.controls["fit4"].value, panel.controls["fit5"].value = False, True
    assert panel.controls["which"].value == 1 and "Number 1, smoothest first, is shown (twist)" in panel.sentence


def test_a_placement_that_is_not_on_offer_is_refused():
    with pytest.raises(ValueError, match=r"placements is \(0, 1, 270, 0, 0\)"):
        HiddenPlatesPanel(placements=[(0, 1, 270, 0, 0)])


def test_smoothing_a_basis_of_plates_keeps_what_it_spans():
    basis = hidden_plate_errors(5, ORDERS["face to face"])
    smooth = smoothest_plates(basis)
    flat = [b.reshape(len(b), -1) for b in (basis, smooth)]
    np.testing.assert_allclose(flat[0].T @ flat[0], flat[1].T @ flat[1], atol=1e-9)


def test_the_shortest_schedule_hides_nothing_and_is_as_sure_as_its_noise_gain_says():
    found = shortest_schedule(5, wanted_um=20, reading_sd_um=2)
    gain = noise_gain(5, found.fits)
    assert gain.hidden == 0
    assert found.unsure_um == pytest.approx(2 * gain.gain.max())
    assert found.sentence.startswith(f"{len(found.fits)} placements are enough: ")


def test_no_shorter_list_would_do():
    found = shortest_schedule(4, wanted_um=10)
    looked = 0
    for few in combinations(placements(), len(found.fits) - 1):
        if len({p for fit in few for p in fit[:2]}) == 3:
            gain = noise_gain(4, few)
            assert gain.hidden or gain.gain.max() > 10
            looked += 1
    assert looked > 100


def test_square_turns_alone_leave_the_pinwheel_however_many_are_allowed():
    turns = [fit for fit in placements() if not any(fit[3:])]
    with pytest.raises(Refusal) as refusal:
        shortest_schedule(5, wanted_um=10, candidates=turns, most=5)
    assert (refusal.value.code, refusal.value.where) == ("unsettled", "candidates"), (
        "no wish, however modest, would be fulfilled"
    )
    assert refusal.value.found == "some error stays hidden from every list of at most 5 of the 9 placements"
    assert refusal.value.must_be == "more fits in the list, or other placements to choose from"


def test_the_film_of_a_run_holds_its_first_and_last_marking_and_goes_when_the_run_is_another(monkeypatch):
    panel = PlatesPanel(passes=30)
    panel.position.value = 4
    before = panel.png
    panel.film.click()
    (film,) = panel.reel.outputs
    told = film["data"]["text/html"]
    assert (
        told.count("data:image/png") == 1 + 30 and "if (true) { film.play(); }" in told and f"1000 / {CALM_MS};" in told
    )
    assert (
        "Spotting 1 of 30" in told and "Spotting 30 of 30" in told and panel.film.description == "Animation of this run"
    )
    panel.refresh()
    assert panel.png == before  # lines are soft again, and the marking is the one shown before
    panel.position.value = 9
    assert panel.reel.outputs
    panel.controls["film_um"].value = 5
    assert panel.reel.outputs == ()


def test_the_longest_film_fits_what_a_kernel_may_send_in_three_seconds():
    panel = PlatesPanel(passes=200)
    panel.film.click()
    assert 1000 / CALM_MS <= 3  # at three looks a second no film can flash too often
    assert len(panel.reel.outputs[0]["data"]["text/html"]) < 3_000_000


@pytest.mark.parametrize("shape", [(4, 6), (3, 5)])
def test_an_oblong_plate_has_a_shortest_schedule_of_its_own(shape):
    found = shortest_schedule(shape, wanted_um=1000)
    assert len(hidden_plate_errors(shape, found.fits)) == 0
    assert found.unsure_um == pytest.approx(noise_gain(shape, found.fits).gain[0], rel=1e-6)
    shorter = list(combinations(placements(), len(found.fits) - 1))
    assert len(shorter) == 455
    assert all(len(hidden_plate_errors(shape, chosen)) > 0 for chosen in shorter[::9])


def test_where_no_quarter_turn_is_possible_the_pure_twist_stays_whatever_else_is_tried():
    # Derived: x y changes its sign turned over, not by a half turn, and slid it is x y and a plane. 4 by 5 points never
    # meet after a quarter turn, so the search tries none.
    with pytest.raises(Refusal) as refusal:
        shortest_schedule((4, 5), wanted_um=1000)
    assert refusal.value.code == "unsettled"
    assert refusal.value.found == "some error stays hidden from every list of at most 5 of the 12 placements"
    (left,) = hidden_plate_errors((4, 5), [p for p in placements() if p[2] % 180 == 0])
    y, x = np.indices((4, 5)) - np.array([1.5, 2.0])[:, None, None]
    assert np.abs((left * (x * y)).sum(axis=(1, 2))) == pytest.approx(np.linalg.norm(x * y) / np.sqrt(3))
    with pytest.raises(
        ValueError, match="it must be 0 or 180, because a quarter turn needs two odd numbers of points or two even ones"
    ):
        shortest_schedule((4, 5), wanted_um=1000, candidates=[(0, 1, 90)])


# -- the survey ---------------------------------------------------------------
@pytest.fixture
def survey():
    return SurveyPanel()


def test_every_control_of_the_survey_answers_at_both_ends():
    assert sweep(SurveyPanel(demo_path("demo_surveys.csv"))) == 7


def test_the_demo_survey_is_invented_and_says_its_grade_and_closures(survey):
    assert "# Invented readings" in demo_path("demo_survey.csv").read_text()
    assert survey.sentence.startswith(
        "Demo file, invented readings. Flatness 23 µm at 55 stations, inside grade 2 for 640 × 480 mm"
    )
    assert "as the scatter of the readings allows" in survey.sentence


def test_a_blunder_shows_as_a_closure(survey):
    text = demo_path("demo_survey.csv").read_text()
    lines = text.splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("centre along,3,"))
    name = lines[at].rsplit(",", 1)
    lines[at] = f"{name[0]},{float(name[1]) + 20:.1f}"
    survey.take("\n".join(lines).encode(), "slipped.csv")
    assert "more than the scatter of the readings explains: read it again" in survey.sentence
    assert not survey.sentence.startswith("Demo")


def test_a_spoilt_upload_is_refused_and_what_was_there_stays(survey):
    before = survey.png, survey.sentence
    data = demo_path("demo_survey.csv").read_bytes().replace(b"front,3,", b"front,three,")
    survey.upload.value = (
        {
            "name": "bad.csv",
            "type": "text/csv",
            "size": len(data),
            "content": memoryview(data),
            "last_modified": datetime(2024, 1, 1),
        },
    )
    assert "bad.csv" in survey.message.value and "three" in survey.message.value
    assert (survey.png, survey.sentence) == before


def test_places_off_the_lines_are_those_inside_the_eight_triangles(survey):
    x, y = np.linspace(0, 640, 65), np.linspace(0, 480, 49)
    off = blind(x, y, survey.solution)
    assert (
        not off[:, 32].any()
        and not off[24].any()
        and not off[0].any()
        and not off[[0, 12, 24, 36, 48], [0, 16, 32, 48, 64]].any()
    )
    assert off[8, 24] and off[40, 40] and off[16, 8] and 0.1 < off.mean() < 0.5


# -- from an edge to a surface --------------------------------------------------
def test_every_control_of_the_edge_survey_answers_at_both_ends():
    panel = EdgeSurveyPanel(lines=("along", "across", "corners"), done=3)
    assert sweep(panel) == 10


def test_a_plate_scraped_by_lines_along_and_across_keeps_its_twist_and_corners_find_it():
    panel = EdgeSurveyPanel(done=60)
    assert "1 shape, twist, stays unseen" in panel.sentence and "outside grade 3" in panel.sentence
    panel.controls["corners"].value = True
    assert "nothing at the stations stays unseen" in panel.sentence and "inside grade 0" in panel.sentence
    panel.controls["read_by"].value = "feelers"  # no blade is thinner than 50 um, so the plate keeps more than that
    assert "take no blade: under 50 µm nothing is known" in panel.sentence and "outside grade 3" in panel.sentence


def test_a_survey_of_nothing_is_refused_and_the_picture_stays():
    panel = EdgeSurveyPanel(lines=("along",))
    before = panel.png
    panel.controls["along"].value = False
    assert "readings holds nothing; it must hold at least one kind of line." in panel.message.value
    assert panel.png == before


def test_the_panel_says_what_castings_that_were_planed_today_come_to_weeks_later():
    still, today = PlatesPanel(passes=60), PlatesPanel(passes=60, casting="planed today")
    assert "Weeks later" not in still.sentence and "Weeks later, once the castings have settled" in today.sentence
    assert today.history.settled_um.max() > today.history.flatness_um[-1].max() + 8
    assert still.history.settled_um == pytest.approx(still.history.flatness_um[-1])
