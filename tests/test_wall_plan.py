"""The instructor's plan: a record for every panel and film, every question before something that moves."""

import re

import nbformat
import pytest

from simulate.show.beliefs import BELIEFS
from simulate.show.gap import GapPanel
from simulate.show.heat import HeatPanel
from simulate.show.lands import LandsPanel
from simulate.show.positions import moves, panels
from simulate.show.projected import projected, stored_films
from simulate.show.refresh import LESSONS
from simulate.show.three_bars import ThreeBarsPanel
from simulate.show.wall_plan import MOST_LETTERS, Ask, Plan, in_parts, plan_of, stops, wall_plan

TAUGHT = sorted(LESSONS.glob("[0-9][0-9]_*.ipynb"))


@pytest.fixture(scope="module")
def shown():
    """(lesson, class or title) of everything that moves, with a panel's controls or a film's sentences."""
    found = {}
    for path in TAUGHT:
        notebook = nbformat.read(path, as_version=4)
        for _, panel in panels(notebook):
            names = [*panel.controls, *(["position"] if hasattr(panel, "position") else [])]
            found[path.stem[:2], type(panel).__name__] = names
        for title, _, words in stored_films(notebook):
            found[path.stem[:2], title] = words
    return found


def test_no_panel_and_no_film_is_missing_and_none_is_named_that_is_not_there(shown):
    assert len(shown) > 20
    assert [(p.lesson, p.shows) for p in wall_plan()] == list(shown), "in the order of the lessons, panels before films"


def test_every_question_stands_before_something_that_moves(shown):
    looked = 0
    for plan in wall_plan():
        names = shown[plan.lesson, plan.shows]
        for ask in plan.asks:
            if plan.shows[0].isupper() and " " not in plan.shows:
                assert ask.before in names, (plan.lesson, ask.before)
            else:
                assert any(ask.before in words for words in names[1:]), (plan.lesson, ask.before)
            looked += 1
    assert looked >= 2 * len(TAUGHT) - 6


def test_every_record_is_whole_and_short_enough_for_a_wall():
    looked = 0
    for plan in wall_plan():
        assert 2 <= plan.minutes <= 15 and plan.asks
        assert len({ask.before for ask in plan.asks}) == len(plan.asks)
        for ask in plan.asks:
            assert ask.question.endswith("?") and 20 < len(ask.question) <= 150, ask.question
            assert ask.likely.endswith(".") and ask.say.endswith(".") and not ask.thinking.endswith(".")
            assert ask.likely != ask.say and len(ask.thinking.split()) >= 3
            looked += 1
    assert looked > 40


def test_all_fifteen_beliefs_of_learners_are_met_in_front_of_the_class():
    told = [ask.belief for plan in wall_plan() for ask in plan.asks if ask.belief]
    assert sorted(told) == sorted(b.asked for b in BELIEFS) and len(told) == 15


def test_a_question_is_asked_once_before_the_first_move_of_its_control():
    plan = Plan("02", "GapPanel", 5, (Ask("film_um", "Thicker?", "No.", "a b c", "Yes."),))
    assert stops(plan, ["", "widest_um", "widest_um", "film_um", "film_um"]) == {3: "Thicker?"}
    with pytest.raises(ValueError, match="the question in lesson 02, GapPanel is before 'film_um', which does not move"):
        stops(plan, ["", "widest_um"])


def test_a_panel_without_a_record_has_none():
    assert plan_of("99", "GapPanel") is None
    assert plan_of("04", "ThreeBarsPanel").lesson == "04"


def test_the_practice_bench_is_looked_at_for_a_page_and_left_as_it_was(tmp_path):
    from simulate.show.practice import PracticePanel

    panel = PracticePanel(log=str(tmp_path / "go.json"))
    before = panel.state, panel.sentence
    _, sentences, _ = moves(panel, 2)
    assert all("Nothing has been looked at" not in s for s in sentences) and len(set(sentences)) > 5
    assert (panel.state, panel.sentence) == before and not (tmp_path / "go.json").exists()


def test_words_too_many_for_a_wall_come_in_parts_and_none_is_lost():
    text = " ".join(f"Sentence {k} says what stands at place {k} of the bar." for k in range(40))
    pictures, words, asks = in_parts([b"a", b"b", b"c"], ["short.", text, "end."], {1: "One?", 2: "Two?"})
    cut = words[1:-1]
    assert pictures == [b"a", *[b"b"] * len(cut), b"c"] and len(cut) >= 4
    assert asks == {1: "One?", len(words) - 1: "Two?"}
    assert " ".join(part.rsplit(" (part ", 1)[0] for part in cut) == text
    assert all(len(part) <= MOST_LETTERS + len(" (part 10 of 10)") for part in words)
    lengths = [len(part) for part in cut]
    assert min(lengths) > 0.5 * max(lengths), "no part is a mere tail"
    with pytest.raises(ValueError, match="each picture needs its sentence; got 1 pictures and 2 sentences"):
        in_parts([b""], ["", ""], {})


def test_the_instructors_notebook_shows_the_plan_of_every_lesson_and_its_commands():
    notebook = nbformat.read(LESSONS / "23_for_the_instructor.ipynb", as_version=4)
    code = "\n".join(c.source for c in notebook.cells if c.cell_type == "code")
    assert sorted(re.findall(r'"(\d\d)"', code)) == sorted({p.lesson for p in wall_plan()})
    shown = "".join(str(o.get("data", {}).get("text/plain", "")) for c in notebook.cells for o in c.get("outputs", ()))
    looked = 0
    for plan in wall_plan():
        assert f"simulate.show.projected wall {plan.lesson} --open" in shown
        for ask in plan.asks:
            assert ask.question in shown and ask.likely in shown and ask.say in shown, ask
            looked += 1
    assert looked > 50
    words = "\n".join(c.source for c in notebook.cells if c.cell_type == "markdown")
    for act in ("set", "key", "mark", "gain"):
        assert f"simulate.show.classroom {act} " in words


def test_a_menu_shows_its_first_and_its_last_choice():
    panel = LandsPanel("chained", 13)
    _, sentences, moved = moves(panel, 3)
    shown = [s for s, name in zip(sentences, moved, strict=True) if name == "points"]
    assert shown[0].startswith("Points wanted: 3.") and shown[-1].startswith("Points wanted: 25.")


def test_a_panel_without_a_run_is_walked_through_the_run_that_a_choice_brings():
    _, sentences, moved = moves(LandsPanel("my own", 7), 3, steps=20)
    laid = [s for s, name in zip(sentences, moved, strict=True) if name == "way" and s.startswith("Way: anchored. ")]
    assert [s.split(". ")[1] for s in laid] == [f"Gauges laid: {k}" for k in range(6)], "one gauge after the other"
    assert "Straight are 0, 300, 600 mm" in laid[1] and "Straight are 0, 100, 200, 300, 400, 500, 600 mm" in laid[-1]


def test_a_choice_that_empties_the_run_leaves_the_panel_as_it_opened():
    panel = LandsPanel("chained", 13)
    opening = panel.sentence
    _, sentences, moved = moves(panel, 4)
    assert any("my own. No gauge is laid yet" in s for s in sentences), "one choice has no gauges at all"
    spread = [s for s, name in zip(sentences, moved, strict=True) if name == "sd_um"]
    assert len(spread) == 4 and all("All 11 fits are made" in s for s in spread), "the next control finds them laid again"
    assert panel.sentence == opening


def test_what_is_asked_is_asked_of_the_panel_as_it_opened_and_in_the_order_of_the_plan():
    looked = 0
    for lesson, panel in (("04", ThreeBarsPanel()), ("08", LandsPanel("chained", 13)), ("18", HeatPanel())):
        plan = plan_of(lesson, type(panel).__name__)
        _, sentences, moved = moves(panel, 3, first=[ask.before for ask in plan.asks])
        places = list(stops(plan, moved))
        assert places == sorted(places) and len(places) == len(plan.asks)
        opening = sentences[0].removeprefix("As it opens. ")
        for place in places:
            assert sentences[place - 1].endswith(opening), "the picture before the question"
            looked += 1
    assert looked == 7


def test_a_question_before_a_control_that_the_panel_does_not_have_is_refused_in_words():
    plan = Plan("02", "GapPanel", 5, (Ask("nowhere", "Thicker?", "No.", "a b c", "Yes."),))
    with pytest.raises(ValueError, match="the question in lesson 02, GapPanel is before 'nowhere', which does not move"):
        projected(GapPanel(), "A gap", plan)
