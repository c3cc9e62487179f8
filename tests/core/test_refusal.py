"""The refusal holds facts, makes its one line from them, and is the only exception that is meant for the learner."""

import ast
import builtins
import copy
import pickle
from pathlib import Path

import numpy as np
import pytest
from test_turning import PANELS

import simulate as S
from simulate.bench.bending.uniform_bar import sag_on
from simulate.bench.looking.eye import fit_eye
from simulate.bench.seating.placement import fit_of
from simulate.core import checks
from simulate.core.atomic_files import LogbookError
from simulate.core.refusal import CATALOGUE, Refusal, either, sentence, shape_words
from simulate.course.classroom.class_list import class_set
from simulate.course.publish.browser_site import build
from simulate.method.bars import three_bar_loop as bars
from simulate.method.plates.placement_schedules import shortest_schedule
from simulate.method.plates.plate_null_space import noise_gain
from simulate.method.practice import bars_level as practice_bars
from simulate.method.practice import lands_level as practice_lands
from simulate.method.practice import plates_level as practice_plates
from simulate.method.practice.acts import look, replay, start_practice, stop, work
from simulate.method.practice.state import Act
from simulate.method.uncertainty_budget import combine_chain
from simulate.readings.adjustment import bounds
from simulate.readings.adjustment.observations import needs
from simulate.readings.logbook.entry import Entry
from simulate.readings.logbook.logbook import open_logbook, save_logbook
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import read_readings
from simulate.readings.table.readings import ReadingsError
from simulate.show.bars.gap import GapPanel
from simulate.show.drawing.fault import ASKS
from simulate.show.own.bars.own_bars import OwnBarsPanel

PACKAGE = Path(S.__file__).parent
HEAD = b"lower,upper,position_mm,gap_um\n"


def test_a_refusal_holds_its_facts_and_says_them_in_one_line():
    refusal = Refusal("range", where="gap_um", found="-3", must_be="0 or more", do="Read it\nagain.")
    assert (refusal.code, refusal.where, refusal.found, refusal.must_be) == ("range", "gap_um", "-3", "0 or more")
    assert str(refusal) == "gap_um is -3; it must be 0 or more. Read it again."
    assert isinstance(refusal, ValueError) and S.Refusal is Refusal


def test_any_fact_may_be_empty():
    assert sentence("range") == ""
    assert sentence("count", "the logbook") == "the logbook."
    assert sentence("count", found="nothing", do="Add a set") == "nothing. Add a set."
    assert sentence("shape", "x_mm", shape_words((2, 3))) == "x_mm is 2 by 3 figures."
    assert sentence("table", "mine.csv", must_be="a header") == "mine.csv; there must be a header."


def test_a_code_that_is_not_in_the_catalogue_is_a_bug_and_no_refusal():
    with pytest.raises(KeyError):
        Refusal("whatever", where="x")


@pytest.mark.parametrize(
    "refusal",
    [
        Refusal("range", where="a", found="1", must_be="2"),
        ReadingsError("mine.csv", "'thin'", "a number", 4, "gap_um", "thin", do="Type it again"),
        LogbookError("large", where="a", found="b"),
    ],
    ids=lambda r: type(r).__name__,
)
def test_a_refusal_is_the_same_after_a_copy_and_after_a_pickle(refusal):
    for other in (copy.deepcopy(refusal), pickle.loads(pickle.dumps(refusal))):
        assert type(other) is type(refusal) and str(other) == str(refusal) and vars(other) == vars(refusal)


def test_a_refused_file_says_where_in_the_file_and_stays_a_refusal():
    with pytest.raises(ReadingsError) as refused:
        read_readings(HEAD + b"A,B,0,thin\n", "mine.csv")
    found = refused.value
    assert isinstance(found, Refusal)
    assert (found.code, found.file, found.row, found.column, found.value) == ("cell", "mine.csv", 2, "gap_um", "thin")
    assert (
        found.where == "mine.csv, row 2, column gap_um"
        and found.found == "'thin'"
        and found.must_be.startswith("a number")
    )


def test_what_may_be_chosen_is_named_with_an_or():
    assert either(["mm"]) == "'mm'" and either(("a", "b")) == "'a' or 'b'"


def torn_logbook(folder):
    path = folder / "torn.json"
    path.write_bytes(b"{")
    open_logbook(path)


def without_tools(folder):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("importlib.util.find_spec", lambda name: None)
        build(folder / "site")


RAISED = {
    "range": lambda _: checks.number(-1, "share", 0, 1),
    "choice": lambda _: checks.choice("furlong", "units", ("mm", "inch")),
    "type": lambda _: checks.kind(3, "sight", S.Sight),
    "number": lambda _: checks.numbers([np.nan], "height_um"),
    "shape": lambda _: checks.profiles(np.zeros(3), 4),
    "shapes": lambda _: checks.together(a=np.zeros(2), b=np.zeros(3)),
    "count": lambda _: combine_chain([]),
    "order": lambda _: checks.positions([0, 2, 1]),
    "spacing": lambda _: checks.even_positions([0, 1, 5]),
    "same": lambda _: fit_of((1, 1, 0), "fits[0]", 3),
    "place": lambda _: sag_on(0, 500, 40, (-10, -5)),
    "places": lambda _: S.flatness([0, 1, 2], [0, 1, 2], [0, 1, 2]),
    "memory": lambda _: checks.room(10**12, "bars x points"),
    "goal": lambda _: shortest_schedule(3, 1e-9),
    "unsettled": lambda _: noise_gain(3, [], 2),
    "contradiction": lambda _: fit_eye([1, 2, 3, 4], [10, 7, 3, 0], 10),
    "state": lambda _: look(stop(start_practice())),
    "act": lambda _: work(start_practice(), deep=1),
    "missing": lambda _: class_set([], 1),
    "file": lambda folder: open_logbook(folder / "none.json"),
    "damaged": torn_logbook,
    "large": lambda _: OwnBarsPanel(units="mm").take(b"#" * 2_000_000, "large.csv"),
    "cell": lambda _: read_readings(HEAD + b"A,B,0,thin\n"),
    "table": lambda _: needs(read_readings(HEAD + b"A,B,0,1\n"), "plates"),
    "tools": without_tools,
}


@pytest.mark.parametrize("code", CATALOGUE)
def test_every_code_of_the_catalogue_is_raised_by_something(code, tmp_path):
    with pytest.raises(Refusal) as refused:
        RAISED[code](tmp_path)
    found = refused.value
    assert found.code == code and (found.where or found.found) and (found.must_be or found.do)
    assert "\n" not in str(found) and str(found).endswith(".") and "allowed" not in str(found)


def refusals():
    """Every place of the package that makes a refusal: file, line, and the code it gives (None: the default of its
    class)."""
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("Refusal", "LogbookError"):
                first = node.args[0] if node.args else None
                handed_on = isinstance(first, ast.Attribute) and first.attr == "code"  # a refusal made of another one
                yield path, node.lineno, "range" if handed_on else getattr(first, "value", None)


def test_every_refusal_of_the_package_has_a_code_of_the_catalogue():
    found = list(refusals())
    assert len(found) > 200
    bare = [f"{path.relative_to(PACKAGE)}:{line}" for path, line, code in found if code not in CATALOGUE]
    assert not bare


def test_nothing_in_the_package_raises_a_bare_value_error_or_catches_one_for_the_learner():
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call):
                assert getattr(node.exc.func, "id", "") != "ValueError", f"{path.name}:{node.lineno}"


# -- a bug is not a refusal --------------------------------------------------------------------------------------------
def buggy(*_args, **_given):
    np.zeros(3) + np.zeros(4)


@pytest.fixture
def in_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize("name", PANELS)
def test_a_bug_in_draw_shows_itself_in_every_panel_and_never_as_a_refusal(name, in_folder):
    panel = PANELS[name](units="mm")
    before = panel.png, panel.sentence, panel.picture.value
    panel.draw = buggy
    with pytest.raises(ValueError, match="could not be broadcast") as raised:
        panel.refresh()
    said = panel.message.value
    assert ASKS in said and "<details>" in said and "could not be broadcast" in said and "Not possible" not in said
    assert not isinstance(raised.value, Refusal) and ASKS in raised.value.__notes__
    assert (panel.png, panel.sentence, panel.picture.value) == before


@pytest.mark.parametrize("name", ["GapPanel", "OwnBarsPanel"])
def test_a_bug_in_the_first_drawing_goes_to_the_caller(name, in_folder, monkeypatch):
    monkeypatch.setattr(PANELS[name], "draw", buggy)
    with pytest.raises(ValueError, match="could not be broadcast"):
        PANELS[name](units="mm")


def test_what_a_bug_says_cannot_write_into_the_page(in_folder):
    panel = GapPanel(units="mm")

    def draw(**_values):
        raise RuntimeError("<script>alert(1)</script>")

    panel.draw = draw
    with pytest.raises(RuntimeError):
        panel.refresh()
    assert "<script>" not in panel.message.value and "&lt;script&gt;" in panel.message.value


def test_readings_met_by_a_bug_leave_those_that_were_there(in_folder):
    panel = OwnBarsPanel(units="mm")
    before = panel._text, panel._name, panel._table
    panel.draw = buggy
    with pytest.raises(ValueError, match="could not be broadcast"):
        panel.take(HEAD + b"A,B,0,1\n", "mine.csv")
    assert (panel._text, panel._name, panel._table) == before


def test_a_button_is_never_silent(in_folder, monkeypatch):
    panel = OwnBarsPanel(units="mm")
    monkeypatch.setattr(panel, "take", buggy)
    panel.read_typed.click()
    assert ASKS in panel.message.value


@pytest.mark.parametrize(
    "module, level, do",
    [
        (practice_bars, "bars", {"place_mm": 0, "length_mm": 100, "strokes": 3}),
        (practice_lands, "lands", {"lands": "both end lands", "strokes": 3}),
        (practice_plates, "plates", {"x_mm": 0, "y_mm": 0, "region_mm": 50, "passes": 1}),
    ],
    ids=lambda v: getattr(v, "__name__", ""),
)
@pytest.mark.parametrize(
    "bug", [TypeError("a bug"), ValueError("a bug"), KeyError("a bug")], ids=lambda b: type(b).__name__
)
def test_a_bug_in_the_physics_of_a_cut_raises_as_what_it_is(module, level, do, bug, monkeypatch):
    def broken(*_args, **_given):
        raise bug

    for name in ("Cut", "_scraped"):
        if hasattr(module, name):
            monkeypatch.setattr(module, name, broken)
    for act in (
        lambda: work(start_practice(level=level), **do),
        lambda: replay(start_practice(level=level), [Act("file", do)]),
    ):
        with pytest.raises(type(bug)) as raised:
            act()
        assert raised.value is bug


def test_a_cut_that_is_given_what_it_does_not_take_is_refused_before_the_physics():
    for given in ({"deep": 1}, {}, {"state": 1}, {"rng": 1, "place_mm": 0, "length_mm": 9, "strokes": 1}):
        with pytest.raises(Refusal) as refused:
            work(start_practice(), **given) if "state" not in given else replay(start_practice(), [Act("file", given)])
        assert refused.value.code == "act"


# -- what is worked out once -------------------------------------------------------------------------------------------
@pytest.mark.parametrize("name", sorted(n for n in PANELS if n.startswith("Own") or n == "SurveyPanel"))
def test_a_panel_of_own_readings_is_worked_out_once_when_it_opens(name, in_folder, monkeypatch):
    drawn, draw = [], PANELS[name].draw
    monkeypatch.setattr(PANELS[name], "draw", lambda self, **values: drawn.append(1) or draw(self, **values))
    panel = PANELS[name](units="mm")
    assert len(drawn) == 1 and panel.png and panel.sentence


def test_a_file_is_opened_once(in_folder, monkeypatch):
    Path("mine.csv").write_bytes(demo_path().read_bytes())
    opened, real = [], builtins.open
    monkeypatch.setattr(builtins, "open", lambda file, *a, **k: opened.append(str(file)) or real(file, *a, **k))
    monkeypatch.setattr(Path, "read_bytes", lambda self: opened.append(str(self)))
    panel = OwnBarsPanel("mine.csv", units="mm")
    assert sum(name.endswith("mine.csv") for name in opened) == 1 and panel._text.startswith("#")


def test_a_logged_standard_deviation_beyond_the_slider_is_not_clipped(in_folder):
    save_logbook("book.json", [Entry(demo_path().read_text(), "mine.csv", reading_sd_um=350.0)])
    panel = OwnBarsPanel(logbook="book.json", units="mm")
    panel.open.click()
    assert panel.values()["reading_sd_um"] == 350.0


# -- a program that failed is no answer --------------------------------------------------------------------------------
def test_a_bound_that_nothing_holds_is_open_and_a_program_that_failed_is_a_bug(monkeypatch):
    rows, low, high, wanted = np.eye(2), np.zeros(2), np.array([1.0, np.inf]), np.array([[1.0, 1.0], [1.0, 0.0]])
    found = bounds.interval_bounds(rows, low, high, wanted)
    assert found.high_um[0] == np.inf and found.high_um[1] == pytest.approx(1, abs=1e-4)
    assert found.low_um == pytest.approx([0, 0], abs=1e-4)
    made = bounds._program

    def without_steps(*given):
        program = made(*given)
        program.setOptionValue("simplex_iteration_limit", 0)
        program.setOptionValue("presolve", "off")
        return program

    monkeypatch.setattr(bounds, "_program", without_steps)
    with pytest.raises(RuntimeError, match="a linear program of .* ended"):
        bounds.interval_bounds(np.array([[1.0, 1.0], [1.0, -1.0]]), low, np.ones(2), wanted)


def test_where_the_dual_simplex_method_ends_without_an_answer_the_primal_one_is_asked(monkeypatch):
    made = bounds._program

    def without_dual(*given):
        program = made(*given)
        run = program.run
        program.run = lambda: run() if program.getOptionValue("simplex_strategy")[1] == 4 else None
        return program

    monkeypatch.setattr(bounds, "_program", without_dual)
    found = bounds.interval_bounds(np.eye(2), np.zeros(2), np.array([1.0, np.inf]), np.array([[1.0, 1.0], [1.0, 0.0]]))
    assert found.low_um == pytest.approx([0, 0], abs=1e-4) and found.high_um == pytest.approx([np.inf, 1], abs=1e-4)


# -- chance ------------------------------------------------------------------------------------------------------------
def test_what_a_seed_gives_the_first_workshops_does_not_hang_on_those_that_follow(monkeypatch):
    monkeypatch.setattr(bars, "STREAM_HEIGHTS", 3 * 41)
    x, h = S.starting_bars(500, 200, points=41, workshops=8, seed=2)
    whole, part = (bars.three_bars(x, h[:n], rounds=1, removal_um=20, seed=4) for n in (8, 3))
    assert (whole.height_um[:3] == part.height_um).all()
