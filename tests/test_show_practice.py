"""The practice panel: every control answers, the truth is hidden until the stop, and nothing is lost."""

import io
import re
from dataclasses import replace

import ipywidgets as widgets
import numpy as np
import pytest
from PIL import Image

from simulate.method.practice_debrief import debrief
from simulate.show.practice import PracticePanel
from simulate.show.practice_words import debrief_words
from simulate.show.style import spell


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


def test_every_slider_answers_at_both_ends_before_and_after_the_stop(panel):
    moved = 0
    play(panel)
    for name in ("place", "length", "strokes"):
        widget, pictures = panel.controls[name], set()
        for value in (widget.min, widget.max):
            widget.value = value
            assert panel.message.value == "" and len(panel.sentence) > 40
            pictures.add(panel.png)
            moved += 1
        assert len(pictures) == 2, f"{name} changes nothing"
    panel.stop.click()
    pictures = set()
    for value in range(panel.position.max + 1):
        panel.position.value = value
        assert panel.message.value == ""
        pictures.add(panel.png)
    assert moved == 6 and len(pictures) == len(panel.state.acts) + 1


def test_cuts_at_both_ends_of_every_slider_are_taken_in_both_units(tmp_path):
    taken = 0
    for units in ("mm", "inch"):
        panel = PracticePanel(log=str(tmp_path / f"{units}.json"), units=units)
        for name in ("place", "length", "strokes"):
            for end in ("min", "max"):
                panel.controls[name].value = getattr(panel.controls[name], end)
                before = panel.state.height_um
                panel.file.click()
                assert panel.message.value == "" and (panel.state.height_um <= before).all()
                taken += (panel.state.height_um < before).any()
    assert taken == 12


def test_every_choice_answers(panel):
    looked = 0
    for sight in panel.controls["sight"].options:
        for press in dict(panel.controls["press"].options).values():
            panel.controls["sight"].value, panel.controls["press"].value = sight, press
            panel.look.click()
            assert panel.message.value == "" and "Nothing has been looked at" not in panel.sentence
            looked += 1
    assert looked == 12 and sum(a.kind == "look" for a in panel.state.acts) == 12
    for tool in panel.controls["tool"].options:
        panel.controls["tool"].value = tool
        assert f"of the {tool} at the orange line" in panel.sentence


def test_fresh_bars_of_any_number_look_and_read_the_same(tmp_path):
    """Nothing true is drawn or said before a look: the picture does not depend on the bars."""
    one, two = (PracticePanel(seed, log=str(tmp_path / "none.json")) for seed in (1, 2))
    assert (one.state.height_um != two.state.height_um).any()
    assert one.png == two.png
    assert one.sentence.replace("number 1", "") == two.sentence.replace("number 2", "")
    assert alt(one).replace("number 1", "") == alt(two).replace("number 2", "")


def test_other_bars_that_give_the_same_answer_look_and_read_the_same(panel):
    play(panel)
    before = panel.png, panel.sentence, panel.picture.value
    panel.goes[0] = replace(panel.state, height_um=panel.state.height_um[::-1] * 3)
    panel.refresh()
    assert (panel.png, panel.sentence, panel.picture.value) == before


def test_no_true_number_is_said_before_the_stop_and_all_are_after(panel):
    play(panel)
    from simulate.method.practice import stop

    told = debrief(stop(panel.state))
    true = {spell(v) for v in told.straightness_um[-1]} | {f"{told.metal_mm3[-1].sum() / 1000:.1f} cm³"}
    for words in (panel.sentence, alt(panel)):
        assert not [t for t in true if re.search(rf"(?<!\d){t}", words)]
    panel.stop.click()
    assert not [t for t in true if t not in panel.sentence] and panel.sentence == alt(panel)
    assert Image.open(io.BytesIO(panel.png)).size == (1280, 560)


def test_a_kernel_that_dies_costs_nothing(panel):
    play(panel)
    again = PracticePanel(log=panel.log)
    assert (again.state.height_um == panel.state.height_um).all() and again.state.acts == panel.state.acts
    assert again.controls["upper"].value == 2 and again.controls["turned"].value is True
    assert again.sentence.split(" File would")[0] == panel.sentence.split(" File would")[0]
    panel.stop.click()
    assert PracticePanel(log=panel.log).sentence == panel.sentence


def test_metal_is_never_put_back_and_there_is_no_way_to_undo(panel):
    heights = [panel.state.height_um]
    for _ in range(5):
        panel.file.click()
        heights.append(panel.state.height_um)
    assert (np.diff(heights, axis=0) <= 0).all() and np.diff(heights, axis=0).min() < 0
    assert not [w for w in vars(panel).values() if isinstance(w, widgets.Button) and "ndo" in w.description]


def test_after_the_stop_nothing_more_is_done(panel):
    panel.stop.click()
    kept = panel.state
    for button in (panel.look, panel.file, panel.stop):
        assert button.disabled
        button.click()
        assert "these bars were laid aside at act 1" in panel.message.value
        assert panel.state is kept


def test_a_second_go_starts_from_the_same_bars_and_remembers_the_first(panel):
    first = panel.state.height_um
    play(panel)
    panel.stop.click()
    ended = spell(debrief(panel.state).straightness_um[-1].max())
    panel.again.click()
    assert (panel.state.height_um == first).all() and not panel.look.disabled
    panel.look.click()
    panel.stop.click()
    assert f"Your earlier goes on these bars ended at {ended}." in panel.sentence
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
    assert "seed is -3; allowed is 0 to 1e+09." in panel.message.value and panel.state.seed == 1


def test_a_log_that_cannot_be_written_is_said_and_the_act_stands(panel, tmp_path):
    panel.log = str(tmp_path / "missing" / "go.json")
    panel.look.click()
    assert "was not saved" in panel.message.value and panel.state.answer is not None


def test_a_second_notebook_on_one_log_is_told(panel):
    other = PracticePanel(log=panel.log)
    play(panel)
    other.file.click()
    assert "holds acts from another notebook" in other.message.value
    assert PracticePanel(log=panel.log).state.acts == panel.state.acts


def test_a_bar_on_itself_is_refused_and_the_picture_stays(panel):
    before = panel.picture.value
    panel.controls["upper"].value = 0
    assert "bar 1 is to lie on itself" in panel.message.value and panel.picture.value == before
    panel.look.click()
    assert not panel.state.acts
    panel.controls["lower"].value = 1
    assert panel.message.value == ""


@pytest.mark.parametrize("more, words", [
    ({"error_um": 5}, "error_um is 5; allowed is 20 to 1000."),
    ({"units": "furlong"}, "units is 'furlong'; allowed are 'mm' and 'inch'."),
    ({"seed": -1}, "seed is -1; allowed is 0 to 1e+09."),
])
def test_impossible_arguments_are_refused_in_one_sentence(tmp_path, more, words):
    with pytest.raises(ValueError, match=re.escape(words)):
        PracticePanel(log=str(tmp_path / "go.json"), **more)


def test_every_control_has_a_visible_label(panel):
    assert all(w.description for w in panel.controls.values()) and len(panel.controls) == 10


def test_the_debrief_names_what_no_fit_could_show(panel):
    panel.look.click()
    panel.stop.click()
    assert "another pairing would" in debrief_words(debrief(panel.state))
    assert "2 on 1" in panel.sentence
