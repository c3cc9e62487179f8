"""Panels answer every setting, refuse in words, and their pictures carry their sentences."""

import base64
import io
import json
import re
from html import unescape

import ipywidgets as widgets
import numpy as np
import pytest
from PIL import Image

from simulate.core.refusal import Refusal
from simulate.course.notebook.screen_reader_names import accessibility
from simulate.show.bars.gap import GapPanel
from simulate.show.bars.hidden_bars import FITS, HiddenPanel, smoothest_first
from simulate.show.bars.run_panel import stage_starts
from simulate.show.bars.straight import StraightPanel
from simulate.show.bars.three_bars import ThreeBarsPanel
from simulate.show.bars.two_bars import TwoBarsPanel
from simulate.show.drawing.canvas import Canvas, encode, html
from simulate.show.panel.film import player, three_bars_film

PANELS = [ThreeBarsPanel, TwoBarsPanel, GapPanel, StraightPanel, HiddenPanel]


@pytest.fixture(scope="module", params=PANELS, ids=lambda p: p.__name__)
def panel(request):
    """Each panel as it opens; the three bars start nearer to straight, so that their sweeps stay short."""
    return ThreeBarsPanel(error_um=120, removal_um=20, rounds=1) if request.param is ThreeBarsPanel else request.param()


def small_run(**more):
    return ThreeBarsPanel(error_um=60, removal_um=15, rounds=1, **more)


def picture(png):
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB"))


def test_every_slider_of_every_panel_answers_at_both_ends(panel):
    moved = 0
    for widget in list(panel.controls.values()) + [getattr(panel, "position", None)]:
        if not isinstance(widget, (widgets.FloatSlider, widgets.IntSlider)):
            continue
        before = widget.value
        pictures = set()
        for value in (widget.min, widget.max, before):
            widget.value = min(value, widget.max)
            assert panel.message.value == "", f"{widget.description} at {value} was refused"
            assert len(panel.sentence) > 40
            pictures.add(panel.png)
        assert len(pictures) > 1 or widget.description == "Which hidden error", f"{widget.description} changes nothing"
        moved += 1
    assert moved >= 1


def test_every_choice_of_every_list_answers(panel):
    lists = [w for w in panel.controls.values() if isinstance(w, (widgets.Dropdown, widgets.Checkbox))]
    for widget in lists:
        options = (True, False) if isinstance(widget, widgets.Checkbox) else widget._options_values
        for value in options:
            widget.value = value
            assert panel.message.value == "" and panel.sentence
    assert bool(lists) != isinstance(panel, StraightPanel)


def test_every_control_has_a_visible_label_and_shows_its_steps(panel):
    for widget in panel.controls.values():
        assert widget.description
        if isinstance(widget, widgets.FloatSlider):
            shown = int(re.match(r"\.(\d)f", widget.readout_format).group(1))
            assert round(widget.step, shown) == widget.step, f"{widget.description} hides its steps"


def test_the_picture_carries_its_sentence_as_alternative_text(panel):
    alt = re.search(r'alt="([^"]*)"', panel.picture.value).group(1)
    assert len(alt) > 40 and alt in panel.picture.value.split('class="workshop-words"')[1]


def test_a_stored_notebook_keeps_picture_and_words(panel):
    data, metadata = panel._repr_mimebundle_()
    assert data["application/vnd.jupyter.widget-view+json"]["model_id"] == panel.view.model_id
    assert picture(base64.b64decode(data["image/png"])).shape[1] == 1280
    assert data["text/plain"] == panel.sentence == metadata["image/png"]["alt"]


def test_a_refusal_is_shown_as_a_sentence_and_the_picture_stays():
    panel = GapPanel()
    before = panel.picture.value

    def refuse(**_values):
        raise Refusal("range", where="widest_um", found="<b>", must_be="0 to 200")

    panel.draw = refuse
    panel.controls["widest_um"].value = 77
    assert "widest_um is &lt;b&gt;; it must be 0 to 200." in panel.message.value
    assert 'role="alert"' in panel.message.value
    assert panel.picture.value == before


def test_a_fault_that_is_no_refusal_is_not_hidden():
    panel = GapPanel()
    panel.draw = lambda **_values: 1 / 0
    with pytest.raises(ZeroDivisionError):
        panel.controls["widest_um"].value = 78


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: ThreeBarsPanel(error_um=5), "error_um is 5 µm; it must be 20 to 1000 µm."),
        (lambda: ThreeBarsPanel(units="furlong"), "units is 'furlong'; it must be 'mm' or 'inch'."),
        (lambda: TwoBarsPanel(tool="spoon"), "tool is 'spoon'; it must be 'bastard file'"),
        (lambda: ThreeBarsPanel(rounds=0), "rounds is 0; it must be 1 to 8."),
        (lambda: HiddenPanel(fits=[(0, 0, False)]), "fits is (0, 0, False)"),
    ],
)
def test_impossible_arguments_are_refused_in_one_sentence(make, words):
    with pytest.raises(ValueError, match=re.escape(words)):
        make()


def test_alternative_text_is_escaped():
    out = html(b"", 'a "quoted" <script> & more')
    assert "<script>" not in out and '"quoted"' not in out
    assert out.count("a &quot;quoted&quot; &lt;script&gt; &amp; more") == 2


def test_a_canvas_redraws_only_what_moves_until_it_is_told():
    canvas = Canvas(300, 200)
    axes = canvas.figure.add_axes((0.2, 0.2, 0.7, 0.7))
    line = canvas.moving(axes.plot([0, 1], [0, 1])[0])
    first = canvas.paint()
    line.set_ydata([1, 0])
    assert canvas.paint() != first and canvas.full_draws == 1
    line.set_ydata([0, 1])
    assert canvas.paint() == first
    axes.set_xlim(0, 5)
    canvas.invalidate()
    assert canvas.paint() != first and canvas.full_draws == 2


def test_the_copied_background_gives_the_same_picture_as_a_full_draw():
    panel = small_run()
    panel.position.value = 3
    quick = panel.canvas.pixels()
    panel.canvas.invalidate()
    assert np.array_equal(quick, panel.canvas.pixels())


def test_moving_along_a_run_neither_simulates_nor_redraws_the_axes():
    panel = small_run()
    history, draws = panel.history, panel.canvas.full_draws
    seen = set()
    for place in range(panel.position.max + 1):
        panel.position.value = place
        seen.add(panel.png)
    assert panel.history is history and panel.canvas.full_draws == draws
    assert len(seen) > panel.position.max / 2 > 2


def test_buttons_step_back_and_forward_and_to_the_next_stage():
    panel = small_run()
    panel.forward.click()
    panel.forward.click()
    assert panel.position.value == 2
    panel.back.click()
    assert panel.position.value == 1
    starts = stage_starts(panel.history)
    panel.next_stage.click()
    assert panel.position.value == starts[1]
    for _ in starts:
        panel.next_stage.click()
    assert panel.position.value == panel.position.max
    panel.forward.click()
    assert panel.position.value == panel.position.max


def test_play_starts_and_stops_and_begins_again_from_the_end():
    panel = small_run()
    panel.position.value = panel.position.max
    panel.play.value = True
    assert panel.player.playing and panel.play.description == "Pause" and panel.position.value == 0
    panel.player.playing = False
    assert not panel.play.value and panel.play.description == "Play"


def test_while_it_plays_a_look_rises_out_of_the_older_one_and_by_hand_it_comes_at_once():
    panel = small_run()
    older = panel.png
    panel.forward.click()
    assert panel.picture.value.count("<img") == 1 and "workshop-rise" not in panel.picture.value
    older = panel.png
    panel.play.value = True
    panel.position.value = 2  # as the player sends it
    newer, below = re.findall(r'<img src="data:image/png;base64,([^"]*)" alt="([^"]*)"', panel.picture.value)
    assert base64.b64decode(newer[0]) == panel.png != older == base64.b64decode(below[0])
    assert unescape(newer[1]) == panel.sentence and below[1] == ""
    assert panel.player.interval >= 1000 / 3  # at three looks a second nothing can flash too often
    panel.play.value = False
    panel.back.click()
    assert panel.picture.value.count("<img") == 1


def test_play_goes_on_from_where_the_slider_stands_even_if_it_is_moved_meanwhile():
    panel = small_run()
    panel.position.value = 3
    panel.play.value = True
    assert panel.player.value == 3
    panel.position.value = 7
    assert panel.player.value == 7
    panel.play.value = False
    panel.position.value = 2
    assert panel.player.value == 7 and not panel.player.playing
    panel.play.value = True
    assert panel.player.value == 2


def test_the_last_position_is_kept_within_a_shorter_run():
    panel = ThreeBarsPanel(error_um=200, rounds=2)
    panel.position.value = panel.position.max
    long = panel.position.max
    panel.controls["rounds"].value = 1
    assert panel.position.value == panel.position.max == len(panel.history.steps) - 1 < long


def test_two_panels_hold_their_own_arguments():
    one, other = small_run(), small_run(share=0.8)
    one.controls["share"].value = 0.3
    assert other.controls["share"].value == 0.8 and "2 × 0.80" in other.sentence and "2 × 0.30" in one.sentence


def test_three_bars_say_what_a_round_leaves():
    # derived: both bars carry the gauge's error once over, so share s of 2e leaves |2s - 1| e
    assert "|2 × 0.60 − 1| = 20 % of the error" in small_run(share=0.6).sentence


def test_two_bars_end_in_agreement_and_stay_wrong():
    panel = TwoBarsPanel(error_um=300)
    panel.position.value = panel.position.max
    assert "agreeing proves only" in panel.sentence
    assert panel.history.steps[-1].straightness_um.min() > 50


def test_inches_are_shown_and_micrometres_are_simulated():
    metric, inch = ThreeBarsPanel(error_um=254, rounds=1), ThreeBarsPanel(error_um=254, rounds=1, units="inch")
    assert inch.controls["error_um"].value == 10.0 and "thou" in inch.sentence and "µm" not in inch.sentence
    assert inch.values()["error_um"] == pytest.approx(metric.values()["error_um"])


def test_tilting_a_bar_changes_no_straightness():
    panel = StraightPanel()
    before = panel.answers()
    panel.controls["tilt_um"].value = 175
    assert panel.answers() == before and min(before) > 0


def test_three_plain_fits_leave_nothing_and_three_turned_ones_leave_an_s():
    panel = HiddenPanel(fits=[f for f in FITS if not f[2]])
    assert "Nothing that a fit can show stays hidden" in panel.sentence
    panel = HiddenPanel(fits=[f for f in FITS if f[2]])
    assert "bar 1, bar 2, bar 3 out of straight" in panel.sentence


def test_smoothing_a_basis_keeps_what_it_spans():
    basis = np.linalg.qr(np.random.default_rng(1).normal(size=(24, 5)))[0].T.reshape(5, 3, 8)
    smooth = smoothest_first(basis)
    a, b = basis.reshape(5, -1), smooth.reshape(5, -1)
    assert np.allclose(a.T @ a, b.T @ b)
    bends = (np.diff(smooth, 2, axis=-1) ** 2).sum((1, 2))
    assert (np.diff(bends) >= -1e-12).all()


def test_a_player_holds_frames_words_and_controls_and_asks_nothing_of_the_net():
    frames = [encode(np.full((4, 4, 3), k, np.uint8), 64) for k in (0, 99, 200)]
    page = player(frames, ["one", "two </script><b>", "three"], "A film").data
    stored = re.search(r'-frames">(.*?)</script>', page, re.S).group(1)
    words = re.search(r'-words">(.*?)</script>', page, re.S).group(1)
    assert len(json.loads(stored)) == 3 and json.loads(words)[1] == "two </script><b>"
    for control in (">Previous<", ">Play<", ">Next<", 'type="range"', 'aria-label="A film: picture"'):
        assert control in page
    assert re.search(r'<input type="range"[^>]*data-lm-suppress-shortcuts="true"', page)
    assert "max-height:75vh" in page and "http" not in page
    assert re.search(r'id="([^"]+)"', page).group(1) != re.search(
        r'id="([^"]+)"', player(frames[:1], ["x"], "B").data
    ).group(1)


def test_a_player_wants_a_sentence_for_every_picture():
    with pytest.raises(
        ValueError,
        match=(
            r"a player holds 1 pictures and 0 sentences; it must hold at least one picture, and one sentence for "
            r"each\."
        ),
    ):
        player([b""], [], "Film")


def test_a_film_of_three_bars_ends_with_the_last_look():
    history = small_run().history
    page = three_bars_film(history, frames=5).data
    words = json.loads(re.search(r'-words">(.*?)</script>', page, re.S).group(1))
    assert len(words) == 5 and "fitting bar 2 to bar 1" in words[3]
    assert [one.split(": ")[1] for one in words[:3]] == ["lifted, face up.", "turned over.", "face down."]


def test_focus_is_drawn_three_pixels_wide_and_labels_reach_screen_readers():
    script = accessibility().data
    assert "outline: 3px" in script and "aria-label" in script and "data-lm-suppress-shortcuts" in script


@pytest.mark.parametrize("bow, ends, squares", [(60, 94, 109), (-60, 52, 49)])
def test_end_points_or_least_squares_is_the_smaller_as_lesson_01_says(bow, ends, squares):
    zone, by_squares, by_ends = StraightPanel(bow_um=bow, s_um=0, worn_um=60, rough_um=0).answers()
    assert (round(by_ends), round(by_squares)) == (ends, squares)
    assert zone <= min(by_ends, by_squares)


def test_bars_that_are_never_rested_bow_after_the_last_look_and_rested_ones_hardly():
    grown = {}
    for steel in ("do not move", "bright drawn, rested", "bright drawn, never rested"):
        panel = ThreeBarsPanel(error_um=300, removal_um=15, rounds=2, way="draw-filing", steel=steel)
        panel.position.value = panel.position.max
        grown[steel] = panel.history.straightness_um[-1].max() - panel.history.steps[-1].straightness_um.max()
        assert ("After the last check the bars settle" in panel.sentence) == (steel != "do not move")
    # What the last cut of all frees comes after the last look, whoever rests.
    assert abs(grown["do not move"]) < 1 and abs(grown["bright drawn, rested"]) < 4
    assert grown["bright drawn, never rested"] > 10
    with pytest.raises(TypeError, match="steel"):
        ThreeBarsPanel(stele="hot rolled")
