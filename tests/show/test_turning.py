"""The switch turns panels and questions at once: same controls, same place in a run, same words after there and
back."""

import gc
import importlib
import inspect
import pkgutil
import re

import ipywidgets as widgets
import pytest

import simulate.show
from simulate.core.refusal import Refusal
from simulate.course.exercise.exercise import Exercise
from simulate.course.exercise.pre_question import Before
from simulate.show.bars.gap import GapPanel
from simulate.show.bars.three_bars import ThreeBarsPanel
from simulate.show.lands.land_gauges import LandGaugesPanel
from simulate.show.lands.land_stepping import LandsPanel
from simulate.show.panel.panel import Panel
from simulate.show.units import turning
from simulate.show.units.lengths import with_inches
from simulate.show.units.switch import UnitSwitch

STAY = {
    "OwnBarsPanel",
    "OwnLandsPanel",
    "OwnPlatesPanel",
    "OwnSquaresPanel",
    "OwnEyePanel",
    "OwnWorkshopPanel",
    "OwnChainPanel",
    "SurveyPanel",
    "PracticePanel",
    "OwnEdgePanel",
    "OwnBedPanel",
    "OwnHeadPanel",
    "OwnOneSquarePanel",
    "OwnFacesPanel",
    "PlanPanel",
}
BASES = {"StepPanel", "RunPanel", "ReadingsPanel", "PracticeDesk"}


def every_panel():
    """The panels that a lesson can show, by name."""
    found = {}
    for info in pkgutil.walk_packages(simulate.show.__path__, "simulate.show."):
        for name, thing in vars(importlib.import_module(info.name)).items():
            if (
                inspect.isclass(thing)
                and issubclass(thing, Panel)
                and thing is not Panel
                and thing.__module__ == info.name
            ):
                found[name] = thing
    return {name: thing for name, thing in found.items() if name not in BASES}


PANELS = every_panel()
TURN = sorted(set(PANELS) - STAY)


@pytest.fixture(autouse=True)
def _folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(turning, "_SHOWN", [])


def words(panel):
    """What a learner reads of a panel: its sentence and its labels."""
    return panel.sentence, *(control.description for control in panel.controls.values())


def test_every_panel_is_known_to_turn_or_to_stay():
    assert set(PANELS) >= STAY and len(TURN) >= 20
    for name, panel in PANELS.items():
        assert panel.at_once == (name not in STAY), name


@pytest.mark.parametrize("name", TURN)
def test_a_panel_turns_where_it_stands_and_back_to_the_same_words_and_picture(name):
    panel = PANELS[name](units=None)
    view, before, png, values = panel.view, words(panel), panel.png, panel.values()
    panel._repr_mimebundle_()
    switch = UnitSwitch()
    switch.buttons.value = "inch"
    assert panel.units == "inch" and panel.view is view and view.comm is not None
    assert not re.search(r"µm(?! \()", panel.sentence)
    assert panel.picture in every_widget(view) and all(c in every_widget(view) for c in panel.controls.values())
    assert panel.values() == values, "the same body at the same place, within what an end of a slider is rounded by"
    switch.buttons.value = "mm"
    assert (words(panel), panel.png, panel.view) == (before, png, view)


def every_widget(box):
    return [box, *(w for child in getattr(box, "children", ()) for w in every_widget(child))]


@pytest.mark.parametrize("end", ["min", "max"])
def test_sliders_keep_what_they_were_moved_to_at_both_ends_and_between(end):
    panel = GapPanel()
    panel.controls["widest_um"].value, panel.controls["light_um"].value = getattr(panel.controls["widest_um"], end), 7.5
    panel.controls["shape"].value = "open at one end"
    before = panel.values(), panel.sentence
    panel.turn_units("inch")
    slider = panel.controls["widest_um"]
    assert slider.value == getattr(slider, end) and panel.controls["light_um"].value == pytest.approx(
        7.5 / 25.4, rel=1e-12
    )
    assert panel.values()["light_um"] == 7.5 and panel.controls["shape"].value == "open at one end"
    panel.controls["film_um"].value = 0.2
    panel.turn_units("mm")
    assert panel.values() == {**before[0], "film_um": 5.08}
    panel.controls["film_um"].value = 3
    assert (panel.values(), panel.sentence) == before


def test_a_run_keeps_its_look_and_goes_on_from_there():
    panel = ThreeBarsPanel(rounds=2)
    panel.position.value = 9
    before = panel.sentence
    panel.turn_units("inch")
    assert panel.position.value == panel.player.value == 9 and panel.sentence != before
    panel.forward.click()
    assert panel.position.value == 10
    panel.turn_units("mm")
    panel.back.click()
    assert panel.sentence == before


def test_gauges_that_a_learner_laid_live_on():
    panel = LandsPanel("my own", 7)
    panel.lay()
    panel.controls["at"].value = 100
    panel.lay()
    panel.controls["way"].value = "chained"
    panel.controls["way"].value = "my own"
    laid, before = panel.fits, panel.sentence
    panel.turn_units("inch")
    assert panel.fits == laid and panel.length_mm == 600.0 and panel.values()["at"] == 100.0
    panel.take_off.click()
    assert len(panel.fits) == 1
    panel.lay()
    panel.turn_units("mm")
    assert panel.fits == laid and panel.sentence == before


def test_a_panel_that_was_asked_for_a_unit_keeps_it():
    metric, named = GapPanel(units="mm"), LandGaugesPanel(12, -20, 5, 0.5, 0.5, 1, "inch")
    before = metric.sentence, named.sentence
    for units in ("inch", "mm"):
        metric.turn_units(units)
        named.turn_units(units)
        assert (metric.sentence, named.sentence) == before


@pytest.mark.parametrize("name", sorted(STAY - {"PlanPanel", "OwnWorkshopPanel"}))
def test_what_holds_figures_of_the_learner_stays_until_the_next_run(name):
    panel = PANELS[name]()
    before, children = panel.sentence, panel.view.children
    panel.turn_units("inch")
    assert panel.units == "mm" and panel.sentence == before and panel.view.children == children


def test_old_controls_are_given_back_and_a_film_stops():
    panel = ThreeBarsPanel(rounds=1)
    panel.turn_units("inch")
    there = len(widgets.widget._instances)
    panel.play.value = True
    old = [*panel.controls.values(), panel.player, panel._link]
    panel.turn_units("mm")
    assert all(w.comm is None for w in old) and not old[-2].playing and not panel.player.playing
    for _ in range(3):
        panel.turn_units("inch")
        panel.turn_units("mm")
    gc.collect()
    visible = [w for w in widgets.widget._instances.values() if isinstance(w, widgets.DOMWidget)]
    assert len(visible) <= there


def test_a_refusal_keeps_the_picture_and_the_next_move_mends_it(monkeypatch):
    panel = GapPanel()
    png, draw = panel.png, GapPanel.draw

    def refuse(self, **_values):
        raise Refusal("state", where="the gap", found="shut", must_be="open")

    monkeypatch.setattr(GapPanel, "draw", refuse)
    panel.turn_units("inch")
    assert panel.png == png and "the gap is shut" in panel.message.value and "<img" in panel.picture.value
    monkeypatch.setattr(GapPanel, "draw", draw)
    panel.controls["widest_um"].value = 2
    assert "2.00 thou" in panel.sentence and panel.message.value == ""


def test_a_cell_that_ran_again_turns_only_what_it_shows_now(monkeypatch):
    class Shell:
        parent_header = {"metadata": {"cellId": "a"}, "header": {"msg_id": "1"}}

    class Thing:
        units = "mm"

        def turn_units(self, units):
            self.units = units

    monkeypatch.setattr(turning, "get_ipython", Shell)
    one, two, three, other = Thing(), Thing(), Thing(), Thing()
    turning.shown(one)
    turning.shown(two)
    Shell.parent_header = {"metadata": {"cellId": "b"}, "header": {"msg_id": "2"}}
    turning.shown(other)
    turning.turn_all("inch")
    assert [t.units for t in (one, two, other)] == ["inch"] * 3
    Shell.parent_header = {"metadata": {"cellId": "a"}, "header": {"msg_id": "3"}}
    turning.shown(three)
    turning.turn_all("mm")
    assert [t.units for t in (one, two, three, other)] == ["inch", "inch", "mm", "mm"]
    del three
    gc.collect()
    turning.shown(other)
    assert len(turning._SHOWN) == 1


@pytest.mark.parametrize(
    "made",
    [
        lambda: Exercise("two-double", "bench 1"),
        lambda: Exercise("gap-feeler", 1),
        lambda: Before("03", "bench 1"),
        lambda: Exercise("plan-stop", 1),
        lambda: Exercise("gap-dark", 1),
    ],
)
def test_a_question_turns_with_its_choices_and_what_came_back_and_keeps_the_answer(made):
    asked = made()
    asked._repr_mimebundle_()
    given = asked.question.options[1] if asked.question.options else "1"
    asked.field.value = given
    asked._check()
    before = repr(asked), asked._words.value, asked.feedback.value
    switch = UnitSwitch()
    switch.buttons.value = "inch"
    assert asked._words.value == with_inches(before[1]) and asked.feedback.value == with_inches(before[2])
    assert asked.field.value == given
    if asked.question.options:
        assert [said for said, _ in asked.field.options] == [with_inches(o) for o in asked.question.options]
    switch.buttons.value = "mm"
    assert (repr(asked), asked._words.value, asked.feedback.value) == before and asked.field.value == given


def test_a_question_reads_the_choice_once(monkeypatch):
    reads = []
    monkeypatch.setattr("simulate.course.exercise.exercise.chosen_units", lambda: reads.append(1) or "inch")
    asked = Exercise("two-double", "bench 1")
    asked._check()
    assert "thou" in repr(asked) and reads == [1]
