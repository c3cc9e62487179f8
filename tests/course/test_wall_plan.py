"""The instructor's plan: a record for every panel and film, every question before something that moves."""

import re
from functools import cache
from itertools import islice

import nbformat
import pytest

from simulate.course.asking.misconceptions import BELIEFS
from simulate.course.notebook.positions import _walk, moves, panels
from simulate.course.notebook.refresh import LESSONS
from simulate.course.notebook.wall_plan import MOST_LETTERS, Ask, Plan, in_parts, plan_of, stops, wall_plan
from simulate.course.wall.projector import projected, stored_films
from simulate.show.bars.bar_heat import HeatPanel
from simulate.show.bars.gap import GapPanel
from simulate.show.bars.three_bars import ThreeBarsPanel
from simulate.show.lands.land_stepping import LandsPanel

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


OF_PANELS = [(plan, ask) for plan in wall_plan() for ask in plan.asks if " " not in plan.shows]
PINNED = [(plan, ask) for plan, ask in OF_PANELS if ask.goes_to != ""]


@cache
def around(lesson, shows, control):
    """The pictures' sentences before and after a question, as the wall shows them, and the panel: each looked at
    once."""
    plan, ask = next((p, a) for p, a in PINNED if (p.lesson, p.shows, a.before) == (lesson, shows, control))
    path = next(p for p in TAUGHT if p.stem[:2] == plan.lesson)
    panel = next(p for _, p in panels(nbformat.read(path, as_version=4)) if type(p).__name__ == plan.shows)
    seen = []
    for _, words, name in _walk(panel, 2, 2, [ask]):
        seen.append(words)
        if name == ask.before:
            return seen[-2], seen[-1], panel
    raise AssertionError(f"nothing moves after the question before {ask.before}")


@pytest.mark.parametrize(
    ("plan", "ask"), PINNED, ids=[f"{plan.lesson}-{plan.shows}-{ask.before}" for plan, ask in PINNED]
)
def test_the_picture_after_a_question_answers_it_and_the_one_before_does_not(plan, ask):
    before, after, _ = around(plan.lesson, plan.shows, ask.before)
    assert ask.told and ask.told in after and ask.told not in before
    assert stops(Plan(plan.lesson, plan.shows, plan.minutes, (ask,)), ["", "", ask.before]) == {2: ask.question}


def test_every_question_of_a_panel_goes_to_the_place_that_it_speaks_of():
    assert PINNED == OF_PANELS and len(PINNED) > 50


@pytest.mark.parametrize(
    ("plan", "ask"), PINNED, ids=[f"{plan.lesson}-{plan.shows}-{ask.before}" for plan, ask in PINNED]
)
def test_figures_with_a_unit_in_a_question_are_those_of_the_pictures_around_it(plan, ask):
    """What a question or its answer states in a unit stands on the wall before or after it, or follows by hand."""
    before, after, panel = around(plan.lesson, plan.shows, ask.before)
    opening = type(panel)().sentence if plan.shows in ("GapPanel", "HeatPanel") else ""
    shown = set(re.findall(r"\d+(?:\.\d+)?", f"{before} {after} {opening}"))
    stated = set(re.findall(r"(\d+(?:\.\d+)?) (?:µm|arcsec|kelvin)\b", ask.question))
    by_hand = {("04", "2"), ("07", "22"), ("09", "12"), ("19", "9"), ("19", "0.2")}
    assert not {f for f in stated if f not in shown and (plan.lesson, f) not in by_hand and not _near(f, shown)}


def _near(figure, shown):
    """Whether a figure is one of those shown, rounded as a person rounds."""
    return any(abs(float(figure) - float(other)) <= 0.05 * float(figure) for other in shown)


def test_premises_hold_on_the_wall():
    """Bars 2 and 3 were fitted to bar 1; light shows between 2 and 3; wider gaps, a thicker film that prints more, a
    proud blade."""
    before, after, _ = around("04", "ThreeBarsPanel", "position")
    assert "fitting bar 3 to bar 1" in before and "bar 3 on bar 2" in after and "light over" in after
    before, after, panel = around("04", "ThreeBarsPanel", "share")
    assert "bar 3 on bar 2" in before and "light over" in before and panel.controls["share"].value == 0
    _, _, panel = around("04", "ThreeBarsPanel", "sight_um")
    assert panel.controls["sight_um"].value > 5 * type(panel)().controls["sight_um"].value
    before, after, _ = around("10", "PlatesPanel", "film_um")
    prints = [int(re.search(r"less than the last film over (\d+) %", words)[1]) for words in (before, after)]
    assert prints[1] > prints[0]
    before, after, _ = around("14", "SquaresPanel", "look")
    assert "square 3 is fitted to square 1" in before and "light" in after
    _, _, panel = around("14", "SquaresPanel", "bow_um")
    assert panel.controls["bow_um"].value > 0
    before, _, _ = around("14", "OwnSquaresPanel", "blade_mm")
    assert "26 µm at its top" in before


def test_a_place_to_go_to_is_the_same_in_inches():
    plan, ask = next((plan, ask) for plan, ask in PINNED if (plan.lesson, ask.before) == ("10", "film_um"))
    path = next(p for p in TAUGHT if p.stem[:2] == plan.lesson)
    panel = next(
        p for _, p in panels(nbformat.read(path, as_version=4), units="inch") if type(p).__name__ == plan.shows
    )
    values = [panel.values()["film_um"] for _, _, name in islice(_walk(panel, 2, 2, [ask]), 2) if name]
    assert values == [pytest.approx(50, rel=0.02)]


def test_a_run_comes_up_to_its_question_in_order_and_goes_on_from_there():
    panel = ThreeBarsPanel(rounds=1)
    ask = Ask("position", "And now?", "", "", "", goes_to="splitting the difference")
    _, sentences, moved = moves(panel, 2, 8, [ask])
    at = moved.index("position")
    assert "splitting" in sentences[at] and not any("splitting" in words for words in sentences[:at]) and at > 2
    places = [
        int(re.match(r"[^:]+: (\d+)\.", words)[1])
        for words, name in zip(sentences[1:], moved[1:])
        if name in ("", "position")
    ]
    assert places == sorted(places) and len(places) > 4
    with pytest.raises(ValueError, match="holds no place whose sentence holds 'dancing'"):
        moves(panel, 2, 2, [Ask("position", "And now?", "", "", "", goes_to="dancing")])


def test_a_question_is_asked_once_before_the_first_move_of_its_control():
    plan = Plan("02", "GapPanel", 5, (Ask("film_um", "Thicker?", "No.", "a b c", "Yes."),))
    assert stops(plan, ["", "widest_um", "widest_um", "film_um", "film_um"]) == {3: "Thicker?"}
    with pytest.raises(
        ValueError, match="the question in lesson 02, GapPanel is before 'film_um', which does not move"
    ):
        stops(plan, ["", "widest_um"])


def test_a_panel_without_a_record_has_none():
    assert plan_of("99", "GapPanel") is None
    assert plan_of("04", "ThreeBarsPanel").lesson == "04"


def test_the_practice_bench_is_looked_at_for_a_page_and_left_as_it_was(tmp_path):
    from simulate.show.practice.practice_panel import PracticePanel

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
    with pytest.raises(
        ValueError, match="the wall holds 1 pictures and 2 sentences; it must hold one sentence for each picture."
    ):
        in_parts([b""], ["", ""], {})


def test_the_instructors_notebook_shows_the_plan_of_every_lesson_and_its_commands():
    notebook = nbformat.read(LESSONS / "24_for_the_instructor.ipynb", as_version=4)
    code = "\n".join(c.source for c in notebook.cells if c.cell_type == "code")
    assert sorted(re.findall(r'"(\d\d)"', code)) == sorted({p.lesson for p in wall_plan()})
    shown = "".join(str(o.get("data", {}).get("text/plain", "")) for c in notebook.cells for o in c.get("outputs", ()))
    looked = 0
    for plan in wall_plan():
        assert f"python -m simulate projector wall {plan.lesson} --open" in shown
        for ask in plan.asks:
            assert ask.question in shown and ask.likely in shown and ask.say in shown, ask
            looked += 1
    assert looked > 50
    words = "\n".join(c.source for c in notebook.cells if c.cell_type == "markdown")
    for act in ("set", "key", "mark", "gain"):
        assert f"python -m simulate class {act} " in words


def test_a_menu_shows_its_first_and_its_last_choice():
    panel = LandsPanel("chained", 13)
    _, sentences, moved = moves(panel, 3)
    shown = [s for s, name in zip(sentences, moved, strict=True) if name == "points"]
    assert shown[0].startswith("Points wanted: 3.") and shown[-1].startswith("Points wanted: 25.")


def test_a_panel_without_a_run_is_walked_through_the_run_that_a_choice_brings():
    _, sentences, moved = moves(LandsPanel("my own", 7), 3, steps=20)
    laid = [s for s, name in zip(sentences, moved, strict=True) if name == "way" and s.startswith("Way: anchored. ")]
    assert [s.split(". ")[1] for s in laid] == [f"Gauges laid: {k}" for k in range(6)], "one gauge after the other"
    assert "Fixed so far: 0, 300, 600 mm" in laid[1] and "Fixed so far: 0, 100, 200, 300, 400, 500, 600 mm" in laid[-1]


def test_a_choice_that_empties_the_run_leaves_the_panel_as_it_opened():
    panel = LandsPanel("chained", 13)
    opening = panel.sentence
    _, sentences, moved = moves(panel, 4)
    assert any("my own. No gauge is laid yet" in s for s in sentences), "one choice has no gauges at all"
    spread = [s for s, name in zip(sentences, moved, strict=True) if name == "sd_um"]
    assert len(spread) == 4 and all("All 11 fits are made" in s for s in spread), (
        "the next control finds them laid again"
    )
    assert panel.sentence == opening


def test_what_is_asked_is_asked_of_the_panel_as_it_opened_and_in_the_order_of_the_plan():
    looked = 0
    for lesson, panel in (("04", ThreeBarsPanel()), ("09", LandsPanel("chained", 13)), ("19", HeatPanel())):
        plan = plan_of(lesson, type(panel).__name__)
        _, sentences, moved = moves(panel, 3, asks=plan.asks)
        places = list(stops(plan, moved))
        assert places == sorted(places) and len(places) == len(plan.asks)
        opening = sentences[0].removeprefix("As it opens. ")
        for place, ask in zip(places, plan.asks, strict=True):
            if not ask.asked_at and not isinstance(ask.goes_to, str) or ask.goes_to == "":
                assert sentences[place - 1].endswith(opening), "the picture before the question"
                looked += 1
    assert looked == 5


def test_a_question_before_a_control_that_the_panel_does_not_have_is_refused_in_words():
    plan = Plan("02", "GapPanel", 5, (Ask("nowhere", "Thicker?", "No.", "a b c", "Yes."),))
    with pytest.raises(
        ValueError, match="the question in lesson 02, GapPanel is before 'nowhere', which does not move"
    ):
        projected(GapPanel(), "A gap", plan)
