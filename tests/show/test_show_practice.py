"""The practice panel: every control answers, the truth is hidden until the stop, and nothing is lost."""

import io
import re
from dataclasses import replace

import ipywidgets as widgets
import numpy as np
import pytest
from ipywidgets.widgets.widget import _instances
from PIL import Image

from simulate.bench.bending.moving_steel import bow_shape
from simulate.bench.looking.light import BRIGHT, DARK, WORDS
from simulate.bench.looking.spotting import BLUE
from simulate.method.practice.acts import LEVELS, level_of, look, start_practice, stop
from simulate.method.practice.debrief import debrief
from simulate.method.practice.player import play_bars
from simulate.method.practice.score import Aim, best_of, next_challenge, score_sheet
from simulate.show.drawing.style import spell
from simulate.show.practice import slit as practice_slit
from simulate.show.practice.act_sentences import seen_words
from simulate.show.practice.debrief_sentences import debrief_words, metal_words, moved_words
from simulate.show.practice.practice_film import film_frames, practice_film
from simulate.show.practice.practice_panel import PracticePanel, bench_number
from simulate.show.practice.score_sheet import challenge_words, sheet_words
from simulate.show.practice.truth_picture import TruthPicture


@pytest.fixture
def panel(tmp_path):
    return PracticePanel(log=str(tmp_path / "go.json"))


def alt(panel):
    return re.search(r'alt="([^"]*)"', panel.picture.value).group(1)


def play(panel, strokes=60):
    """Two looks and two cuts on two of the bars."""
    panel.look.click()
    panel.controls["strokes"].value = strokes
    panel.file.click()
    panel.controls["upper"].value = 2
    panel.controls["turned"].value = True
    panel.controls["place"].value = 100
    panel.file.click()
    panel.controls["sight"].value = "feeler"
    panel.look.click()
    assert panel.message.value == ""


def test_the_debrief_sends_nobody_to_rest_bars_that_have_settled():
    told = debrief(stop(look(start_practice(seed=1))))
    for left, words, others in ((0.9, "less than 1.0 µm is still to come: they", "0.9"), (3.0, "3.0 µm is", "settled")):
        moved = moved_words(replace(told, bowed_um=np.full_like(told.bowed_um, 20.0), to_come_um=np.full(3, left)))
        assert words in moved and others not in moved


def in_sight(box):
    """The controls and buttons that the bench shows, those of its folds among them."""
    children = getattr(box._box if isinstance(box, PracticePanel) else box, "children", ())
    return set(children).union(*(in_sight(child) for child in children))


SLIDERS = (widgets.FloatSlider, widgets.IntSlider)


def metal_um(state):
    """Heights without the bow that cuts have freed."""
    bow = bow_shape(state.x_mm)
    return state.height_um - np.array(state.bowed_um).reshape((3,) + (1,) * (state.height_um.ndim - 1)) * bow


@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("level", LEVELS)
def test_every_slider_answers_at_both_ends_and_can_be_worked_with_there(tmp_path, level, units):
    panel, moved = PracticePanel(log=str(tmp_path / "go.json"), level=level, units=units), 0
    for widget in panel.controls.values():
        for value in (widget.min, widget.max) if isinstance(widget, SLIDERS) else ():
            widget.value = value
            assert panel.message.value == "" and len(panel.sentence) > 40
            before = panel.state
            (panel.look, panel.touch, panel.file)[(moved + moved // 2) % 3].click()
            assert panel.message.value == "" and len(panel.state.acts) == len(before.acts) + 1
            assert (metal_um(panel.state) <= metal_um(before) + 1e-9).all()
            moved += 1
    assert moved == {"lands": 4, "bars": 10, "plates": 14}[level]


@pytest.mark.parametrize("level", LEVELS)
def test_after_the_stop_every_act_has_its_picture_and_its_words(tmp_path, level):
    panel = PracticePanel(log=str(tmp_path / "go.json"), level=level)
    for button in (panel.look, panel.touch, panel.swap, panel.file, panel.turn, panel.look, panel.stop):
        button.click()
    shown = set()
    for value in range(panel.position.max + 1):
        panel.position.value = value
        assert panel.message.value == ""
        shown.add((panel.png, panel.sentence))
    assert len(shown) == len(panel.state.acts) + 1 == 8


@pytest.mark.parametrize("level", LEVELS)
def test_every_choice_answers(tmp_path, level):
    panel, chosen = PracticePanel(log=str(tmp_path / "go.json"), level=level), 0
    for name, widget in panel.controls.items():
        if isinstance(widget, widgets.Dropdown) and name not in ("lower", "upper"):
            for value in dict(widget._options_full).values():
                widget.value = value
                panel.look.click()
                assert panel.message.value == "" and "Nothing has been checked" not in panel.sentence
                chosen += 1
    assert chosen == {"lands": 3 + 4 + 5 + 4, "bars": 4 + 4 + 5 + 5 + 3 + 2 + 2, "plates": 4 + 4 + 2}[level]


@pytest.mark.parametrize("level", LEVELS)
def test_swap_and_turn_are_acts_of_their_own(tmp_path, level):
    panel = PracticePanel(log=str(tmp_path / "go.json"), level=level)
    panel.swap.click()
    assert (
        (panel.state.lower, panel.state.upper)
        == (1, 0)
        == (panel.controls["lower"].value, panel.controls["upper"].value)
    )
    turns = level_of(panel.state).turns
    for k in range(1, 5):
        panel.turn.click()
        assert panel.state.turned == turns[k % len(turns)] == panel.controls["turned"].value
    assert [act.kind for act in panel.state.acts] == ["lay"] * 5


@pytest.mark.parametrize("level", LEVELS)
def test_fresh_bodies_of_any_number_look_and_read_the_same(tmp_path, level):
    """Nothing true is drawn or said before a look: the picture does not depend on the bodies."""
    one, two = (PracticePanel(seed, log=str(tmp_path / "none.json"), level=level) for seed in (1, 2))
    assert (one.state.height_um != two.state.height_um).any()
    assert one.png == two.png
    assert one.sentence.replace("number 1", "") == two.sentence.replace("number 2", "")
    assert alt(one).replace("number 1", "") == alt(two).replace("number 2", "")


@pytest.mark.parametrize("level", LEVELS)
def test_other_bodies_that_give_the_same_answer_look_and_read_the_same(tmp_path, level):
    panel = PracticePanel(log=str(tmp_path / "go.json"), level=level)
    panel.touch.click()
    panel.look.click()
    before = panel.png, panel.sentence, panel.picture.value
    panel.goes[0] = replace(panel.state, height_um=panel.state.height_um[::-1] * 3)
    panel.refresh()
    assert (panel.png, panel.sentence, panel.picture.value) == before


def test_no_true_number_is_said_before_the_stop_and_all_are_after(panel):
    play(panel)
    told = debrief(stop(panel.state))
    true = {spell(v) for v in told.worst_um[-1]} - {spell(200)} | {metal_words(told.metal_mm3[-1].sum())}
    for words in (panel.sentence, alt(panel)):
        assert not [t for t in true if re.search(rf"(?<!\d){t}", words)]
    panel.stop.click()
    assert not [t for t in true if t not in panel.sentence + panel.sheet.value] and panel.sentence == alt(panel)
    assert Image.open(io.BytesIO(panel.png)).size == (1280, 500)


def test_a_kernel_that_dies_costs_nothing(panel):
    play(panel)
    again = PracticePanel(log=panel.log)
    assert (again.state.height_um == panel.state.height_um).all() and again.state.acts == panel.state.acts
    assert again.controls["upper"].value == 2 and again.controls["turned"].value is True
    assert again.sentence.split(" File here")[0] == panel.sentence.split(" File here")[0]
    panel.stop.click()
    assert PracticePanel(log=panel.log).sentence == panel.sentence


def test_metal_is_never_put_back_and_there_is_no_way_to_undo(panel):
    heights = [metal_um(panel.state)]
    for _ in range(5):
        panel.file.click()
        heights.append(metal_um(panel.state))
    assert (np.diff(heights, axis=0) <= 1e-9).all() and np.diff(heights, axis=0).min() < 0
    assert not [w for w in vars(panel).values() if isinstance(w, widgets.Button) and "ndo" in w.description]


def test_after_the_stop_nothing_more_is_done(panel):
    panel.stop.click()
    kept = panel.state
    assert panel.position in in_sight(panel) and not {panel.look, panel.stop} & in_sight(panel)
    for button in (panel.look, panel.file, panel.touch, panel.swap, panel.turn, panel.stop):
        button.click()
        assert (
            "this attempt is over: it ended at action 1; it must be unfinished. Start a new attempt to go on."
            in panel.message.value
        )
        assert panel.state is kept


def test_a_second_go_starts_from_the_same_bars_and_the_sheet_holds_both(panel):
    first = panel.state.height_um
    play(panel)
    panel.stop.click()
    goes, costs = panel.sheet.value.split("What each choice costs")
    assert goes.count('<th scope="row"') == 3 and "This was the first attempt at these bars." in goes
    assert costs.count('<th scope="row"') == 4 + 2 + 1 + 1 + 1 == len(panel.told.costs) and "instead of" in costs
    panel.again.click()
    assert (panel.state.height_um == first).all() and panel.sheet.value == "" and panel.told is None
    panel.look.click()
    panel.stop.click()
    assert panel.sheet.value.count('<th scope="row"') == 4 and "best of 2" in panel.sheet.value
    assert "Attempt 1" in panel.sheet.value and "Attempt 2" in panel.sheet.value and "Best plan" in panel.sheet.value
    assert len(PracticePanel(log=panel.log).goes) == 2


def test_other_bars_may_be_opened_and_a_go_under_way_is_taken_up_again(panel):
    play(panel)
    acts = panel.state.acts
    for number in (7, 8, 9):
        panel.number.value = number
        panel.again.click()
        assert panel.state.seed == number and not panel.state.acts
    panel.look.click()
    panel.number.value = 1
    panel.again.click()
    assert panel.state.acts == acts
    panel.look.click()
    assert panel.message.value == ""
    assert [go.seed for go in PracticePanel(log=panel.log).goes] == [1, 9]
    panel.number.value = -3
    panel.again.click()
    assert "seed is -3; it must be 0 to 1e+09." in panel.message.value and panel.state.seed == 1


def test_a_log_that_cannot_be_written_is_said_and_the_act_stands(panel, tmp_path):
    panel.log = str(tmp_path / "missing" / "go.json")
    panel.look.click()
    assert "was not saved" in panel.message.value and panel.state.answer is not None


def test_a_second_notebook_on_one_log_is_told(panel):
    other = PracticePanel(log=panel.log)
    play(panel)
    other.file.click()
    assert "holds actions from another notebook" in other.message.value
    assert PracticePanel(log=panel.log).state.acts == panel.state.acts


def test_a_bar_on_itself_is_refused_and_the_picture_stays(panel):
    before = panel.picture.value
    panel.controls["upper"].value = 0
    assert "bar 1 is laid on itself" in panel.message.value and panel.picture.value == before
    panel.look.click()
    assert not panel.state.acts
    panel.controls["lower"].value = 1
    assert panel.message.value == ""


@pytest.mark.parametrize(
    "more, words",
    [
        ({"error_um": 5}, "error_um is 5; it must be 20 to 1000."),
        ({"units": "furlong"}, "units is 'furlong'; it must be 'mm' or 'inch'."),
        ({"seed": -1}, "seed is -1; it must be 0 to 1e+09."),
    ],
)
def test_impossible_arguments_are_refused_in_one_sentence(tmp_path, more, words):
    with pytest.raises(ValueError, match=re.escape(words)):
        PracticePanel(log=str(tmp_path / "go.json"), **more)


def test_every_control_has_a_visible_label(panel):
    shown = [
        *panel.controls.values(),
        panel.swap,
        panel.turn,
        panel.look,
        panel.touch,
        panel.file,
        panel.rest,
        panel.stop,
        panel.number,
        panel.level,
        panel.rough,
        panel.again,
        panel.next,
        panel.position,
    ]
    assert all(w.description for w in shown) and len(panel.controls) == 16


def test_the_debrief_names_what_no_fit_could_show(panel):
    panel.look.click()
    panel.stop.click()
    assert "another pairing would" in debrief_words(debrief(panel.state))[-1]
    assert "2 on 1" in panel.sheet.value


@pytest.mark.parametrize("level", LEVELS)
def test_another_level_is_opened_and_what_was_begun_is_taken_up_again(panel, level):
    panel.look.click()
    kept = panel.state
    panel.level.value = level
    panel.again.click()
    assert panel.message.value == "" and panel.state.level == level
    panel.touch.click()
    panel.level.value, panel.rough.value = "bars", 200.0
    panel.again.click()
    assert panel.state.acts[:1] == kept.acts and panel.state.level == "bars"
    assert len({go.level for go in PracticePanel(log=panel.log).goes}) == (1 if level == "bars" else 2)


def test_what_to_try_next_is_taken_up_by_one_key(panel):
    panel.look.click()
    panel.stop.click()
    assert panel.next in in_sight(panel) and "What to try next: The same bars again" in panel.sheet.value
    panel.next.click()
    assert not panel.state.stopped and panel.state.seed == 1 and panel.next not in in_sight(panel)


def test_the_suggestions_rise_from_straight_to_sure_to_quick_to_harder_to_the_next_level():
    go = stop(start_practice(1))
    (score,) = score_sheet([go, start_practice(1), stop(start_practice(2))], go)
    assert score.worst_um == score.start_um == pytest.approx(200) and not score.proven
    words = []
    for change in (
        {},
        {"worst_um": 90.0},
        {"worst_um": 20.0},
        {"worst_um": 20.0, "proven": True, "hours": 50.0},
        {"worst_um": 20.0, "proven": True, "hours": 1.0},
    ):
        words.append(next_challenge([replace(score, **change)], go))
    assert [one.aim for one in words] == list(Aim)[:5]
    said = [challenge_words(one, go) for one in words]
    for part, one in zip(("half of their", "to within 30 µm", "every pair", "less work", "Rougher bars"), said):
        assert part in one, one
    assert "to within 30 µm (1.18 thou)" in challenge_words(words[1], go, "inch")
    assert words[-1].error_um == 500 and words[-1].seed == 2
    rough = stop(start_practice(2, 500))
    done = replace(score, worst_um=9.0, proven=True, hours=1.0)
    assert next_challenge([done], rough).level == "plates"


def test_the_sheet_says_which_go_was_best_and_what_changed():
    go = stop(start_practice(1))
    (score,) = score_sheet([go], go)
    three = [
        replace(score, number=k, worst_um=v, hours=h, metal_mm3=1000.0 * h)
        for k, v, h in ((1, 40, 2), (2, 20, 5), (3, 30, 4))
    ]
    ahead = next_challenge(three, go)
    assert best_of(three).number == 2
    words = sheet_words(three, go, ahead)
    assert words.startswith(
        "Attempt 2 is still your best of 3: 20 µm, against 30 µm now. Compared with the attempt before: 1.0 hours less "
        "and 1.0 cm³ less. What to try next:"
    )
    assert sheet_words(three[:2], go, ahead).startswith("Your best of 2 attempts: 20 µm; before, it was 40 µm.")


def test_the_glow_is_brighter_and_wider_for_a_wider_gap_and_never_told_by_colour_alone():
    state = look(start_practice(1))
    bright = []
    for kind in range(DARK, BRIGHT + 1):
        answer = replace(state.answer, glow=np.full(101, kind))
        pixels = practice_slit.light(answer, 250.0)[..., :3]
        bright.append(pixels.mean())
        assert practice_slit.names(answer)[0][1] == practice_slit.NAMES[kind]
    assert (np.diff(bright[3:]) > 0).all() and bright[0] == min(bright) and len(WORDS) == 6
    striped = practice_slit.light(replace(state.answer, glow=np.full(101, 2)), 250.0)[24, :, 0]
    assert len(np.unique(striped.round(3))) == 2, "red is striped"


def test_lands_show_light_only_where_a_land_is():
    answer = look(start_practice(1, level="lands")).answer
    alpha = practice_slit.light(answer, 50.0, 10.0)[0, :, 3]
    x = np.linspace(-55, 55, alpha.size)
    assert not alpha[(abs(x) > 6) & (abs(x) < 44)].any() and alpha[abs(x) < 4.9].all()


def test_words_name_every_kind_of_light_that_is_there():
    answer = look(start_practice(1)).answer
    shine = np.repeat([0, 1, 2, 3, 5], [20, 20, 20, 20, 21])
    words = seen_words(replace(answer, glow=shine))
    for part in (
        "bright from 150 mm to 250 mm",
        "white from 50 mm to 145 mm",
        "red from -50 mm",
        "blue from -150 mm",
        "dark elsewhere",
    ):
        assert part in words


def test_a_word_gives_everybody_bars_of_their_own(tmp_path):
    assert bench_number("bench 1") == bench_number("bench 1") != bench_number("bench 2")
    panel = PracticePanel("bench 1", log=str(tmp_path / "go.json"))
    assert panel.state.seed == bench_number("bench 1") == panel.number.value


def test_the_film_shows_what_was_seen_and_the_truth_and_ends_with_the_debrief(tmp_path):
    log = str(tmp_path / "go.json")
    panel = PracticePanel(log=log)
    play(panel)
    with pytest.raises(ValueError, match=r"go\.json is without an attempt that was stopped"):
        practice_film(log)
    panel.stop.click()
    frames, words = film_frames(panel.state)
    kinds = [act.kind for act in panel.state.acts]
    assert len(frames) == len(words) == 1 + len(kinds) - kinds.count("lay")
    assert {frame.shape for frame in frames} == {(500, 1280, 3)}
    assert sum("which nobody saw then" in w for w in words) == len(words) - kinds.count("look")
    assert "Out of straight at the stop" in words[-1] and "What to try next" in practice_film(log).data


@pytest.mark.parametrize("level", ["lands", "plates"])
def test_gauges_and_plates_have_their_film_too(level):
    frames, words = film_frames(stop(look(start_practice(1, level=level))), "inch")
    assert len(frames) == 3 and "thou" in words[-1] and "Action 1 of 2: checked by" in words[1]


def test_the_scale_of_the_truth_follows_the_shapes_and_holds_them():
    told = debrief(play_bars(start_practice(1, 100), 1))
    picture, tops = TruthPicture(100, "mm", told), []
    for place in range(len(told.states)):
        picture.show(place, "")
        top = picture._shapes._axes.get_ylim()[1]
        highest = np.abs(picture._shapes._heights[place]).max()
        assert highest < top < 4 * highest
        tops.append(top)
    assert tops[-1] < tops[0] / 2


@pytest.mark.parametrize("level", ["bars", "plates"])
def test_the_stop_says_that_it_works_and_takes_no_second_press(tmp_path, monkeypatch, level):
    from simulate.show.practice import practice_panel as practice

    panel, seen, real = PracticePanel(log=str(tmp_path / "go.json"), level=level), [], practice.debrief

    def watched(state):
        seen.append((panel.stop.disabled, panel.stop.description, panel.message.value))
        return real(state)

    monkeypatch.setattr(practice, "debrief", watched)
    panel.look.click()
    panel.stop.click()
    ((disabled, words, said),) = seen
    assert (
        disabled
        and words == "Working out the truth ..."
        and "role='status'" in said
        and "Working out the truth: your attempt" in said
    )
    assert (
        panel.told
        and panel.message.value == ""
        and panel.stop.description == "Stop and see the truth"
        and not panel.stop.disabled
    )


def test_a_stop_that_is_refused_gives_the_button_back(panel, monkeypatch):
    from simulate.core.refusal import Refusal
    from simulate.show.practice import practice_panel as practice

    def refusing(_state):
        raise Refusal(found="the truth is out.")

    monkeypatch.setattr(practice, "debrief", refusing)
    panel.stop.click()
    assert "the truth is out" in panel.message.value
    assert panel.stop.description == "Stop and see the truth" and not panel.stop.disabled


def test_a_print_that_is_alike_all_over_names_no_places(tmp_path):
    answer = look(start_practice(1, level="plates"), "marking compound").answer
    assert "most of it near left" in seen_words(answer)
    full = replace(answer, print=replace(answer.print, lower=np.full_like(answer.print.lower, BLUE), bearing=1.0))
    assert "100 % of the face printed" in seen_words(full) and "much the same all over" in seen_words(full)


def test_plates_say_by_which_reference_they_start_out_by_two_figures():
    told = debrief(stop(start_practice(1, level="plates")))
    assert told.worst_um[0].max() > 45 and told.states[0].error_um == 40
    assert "by the minimum zone each was 40 µm at the start." in " ".join(debrief_words(told))
    bars = " ".join(debrief_words(debrief(stop(start_practice(1)))))
    assert "minimum zone" not in bars and "the worst was 200 µm" in bars


def test_another_go_leaves_no_control_of_the_one_before_open():
    panel = PracticePanel()
    opened = len(_instances)
    for level in ("plates", "lands", "bars"):
        panel.level.value = level
        panel.again.click()
    assert panel.message.value == "" and len(_instances) == opened
    assert all(control.comm is not None for control in panel.controls.values())
