"""The practice bench: metal is never put back, the truth is hidden until the stop, a log gives the same bars again."""

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulate.bench.cut import TOOLS
from simulate.bench.seat import rest
from simulate.method.planning import PACES
from simulate.method.practice import Act, file_place, lay, look, replay, start_practice, stop
from simulate.method.practice_debrief import debrief, fits_that_hold
from simulate.method.practice_state import SIGHTS
from simulate.readings.logbook import LogbookError
from simulate.readings.practice_log import open_practice, save_practice
from simulate.surface.form import straightness

cuts = st.tuples(st.sampled_from([(0, 1), (1, 0), (2, 1), (0, 2)]), st.booleans(), st.floats(-250, 250),
                 st.floats(20, 500), st.integers(1, 300), st.sampled_from(sorted(TOOLS)))


def some_go(seed=5):
    state = look(lay(start_practice(seed), 0, 2, True), "feeler")
    state = file_place(state, -100, 120, 60, "bastard file")
    state = look(lay(state, 0, 2, False, 200.0))
    return look(lay(file_place(state, 30, 300, 25, "scraper"), 1, 2))


@settings(deadline=None, max_examples=50)
@given(st.lists(cuts, min_size=1, max_size=4))
def test_metal_only_comes_off_and_only_of_the_bar_in_the_vice_at_the_chosen_stretch(list_of_cuts):
    state, looped = start_practice(2), 0
    for (lower, upper), turned, place, length, strokes, tool in list_of_cuts:
        before = lay(state, lower, upper, turned)
        state = file_place(before, place, length, strokes, tool)
        taken = before.height_um - state.height_um
        assert (taken >= 0).all() and taken[upper].max() > 0
        assert not np.delete(taken, upper, axis=0).any()
        own = -place if turned else place
        outside = np.abs(state.x_mm - own) > length / 2 + 20
        assert not taken[upper][outside].any()
        looped += 1
    assert looped == len(list_of_cuts)


@pytest.mark.parametrize("tool", sorted(TOOLS))
def test_a_stroke_takes_no_more_metal_than_its_pace(tool):
    """Derived: strokes times the metal of one stroke; hands spread it by a few tens of percent."""
    state = start_practice(1)
    filed = file_place(state, 0, 200, 100, tool)
    metal = 10e-3 * np.trapezoid(state.height_um - filed.height_um, state.x_mm, axis=-1).sum()
    assert 0.3 < metal / (100 * PACES[tool].stroke_mm3) < 1.4


def test_what_is_seen_is_the_gap_of_the_two_bars_and_nothing_finer():
    state = look(start_practice(4), "light")
    gap = rest(state.x_mm, state.height_um[0] + state.height_um[1]).gap_um
    assert (state.answer.seen.open == (gap > 2.5)).all()
    assert set(np.unique(state.answer.seen.at_least_um)) <= {0, 2.5}


def test_a_look_takes_the_turn_and_the_finger_into_account():
    answers = [look(lay(start_practice(4), 0, 2, turned, press)).answer.seen.open
               for turned, press in ((False, None), (True, None), (False, 240.0))]
    assert len({a.tobytes() for a in answers}) == 3


def test_an_answer_is_gone_once_a_bar_is_moved_or_filed():
    looked = look(start_practice(1))
    assert looked.answer is not None
    assert file_place(looked, 0, 50, 1).answer is None and lay(looked, 1, 2).answer is None
    assert lay(looked, 0, 1) is looked


def test_the_same_seed_and_acts_give_the_same_bars():
    done = some_go()
    again = replay(start_practice(5), done.acts)
    assert len(again) == len(done.acts) + 1
    assert (again[-1].height_um == done.height_um).all() and again[-1].acts == done.acts
    assert (again[-1].answer.seen.open == done.answer.seen.open).all()
    assert (start_practice(6).height_um != done.height_um).any()


def test_a_log_brings_everything_back_after_the_kernel_has_died(tmp_path):
    path, goes = tmp_path / "go.json", [stop(some_go(5)), some_go(8)]
    save_practice(path, goes)
    back = open_practice(path)
    assert [s.stopped for s in back] == [True, False]
    for now, then in zip(back, goes, strict=True):
        assert (now.height_um == then.height_um).all() and now.acts == then.acts
    assert "height" not in path.read_text()


def test_a_log_that_another_notebook_carried_on_is_not_written_over(tmp_path):
    path, start = tmp_path / "go.json", some_go()
    save_practice(path, [start])
    save_practice(path, [look(start, "feeler")])
    kept = path.read_bytes()
    for goes in ([start], [look(start, "marking compound")], [start_practice(1)], []):
        with pytest.raises(LogbookError, match="go.json was not saved: it holds acts from another notebook"):
            save_practice(path, goes)
        assert path.read_bytes() == kept


def test_a_disk_that_refuses_leaves_the_old_log(tmp_path, monkeypatch):
    path, start = tmp_path / "go.json", some_go()
    save_practice(path, [start])
    kept = path.read_bytes()
    monkeypatch.setattr("os.fsync", lambda _d: (_ for _ in ()).throw(OSError(28, "No space left on device")))
    with pytest.raises(LogbookError, match="no space left on device"):
        save_practice(path, [look(start)])
    assert path.read_bytes() == kept and [p.name for p in tmp_path.iterdir()] == ["go.json"]


def spoilt(change):
    book = {"format": "three-bar practice", "version": 1,
            "goes": [{"seed": 1, "error_um": 200, "length_mm": 500, "acts": [{"do": "look"}]}]}
    change(book)
    return json.dumps(book)


@pytest.mark.parametrize("text, words", [
    ("{", "is damaged and cannot be read"),
    ("[]", "is no practice log"),
    (spoilt(lambda b: b.update(version=2)), "has version 2; this course opens versions up to 1"),
    (spoilt(lambda b: b.update(goes=3)), "it has no version or no goes"),
    (spoilt(lambda b: b["goes"][0].update(acts=3)), "go 1 is damaged"),
    (spoilt(lambda b: b["goes"][0].update(acts=[3])), "go 1 is damaged"),
    (spoilt(lambda b: b["goes"][0].pop("seed")), "go 1 is damaged"),
    (spoilt(lambda b: b["goes"][0].update(error_um=1e9)), "error_um is 1e+09; allowed is 20 to 1000"),
    (spoilt(lambda b: b["goes"][0].update(acts=[{"do": "weld"}])), "allowed are lay, look, file, stop"),
    (spoilt(lambda b: b["goes"][0].update(acts=[{"do": "look", "deep": 1}])), "act 1 is"),
])
def test_a_damaged_log_is_refused_in_one_sentence(tmp_path, text, words):
    (tmp_path / "go.json").write_text(text)
    with pytest.raises(LogbookError) as refusal:
        open_practice(tmp_path / "go.json")
    assert words in str(refusal.value) and str(refusal.value).startswith("go.json")


@pytest.mark.parametrize("act, words", [
    (lambda s: lay(s, 1, 1), "bar 2 is to lie on itself; a fit needs two different bars."),
    (lambda s: lay(s, 0, 3), "upper is 3; allowed is 0 to 2."),
    (lambda s: look(s, "touch"), "kind is 'touch'; allowed are 'light'"),
    (lambda s: file_place(s, 300, 50, 5), "place_mm is 300; allowed is -250 to 250."),
    (lambda s: file_place(s, 0, 50, -5), "strokes is -5; allowed is 1 to 300."),
    (lambda s: file_place(s, 0, 50, 5, "spoon"), "tool is 'spoon'; allowed are"),
    (lambda s: debrief(s), "the bars are still hidden after act 0; allowed is a debrief after the stop."),
    (lambda s: look(stop(s)), "these bars were laid aside at act 1"),
])
def test_what_cannot_be_done_is_refused_in_one_sentence(act, words):
    with pytest.raises(ValueError) as refusal:
        act(start_practice(1))
    assert words in str(refusal.value)


def test_the_debrief_tells_the_true_shapes_and_what_they_cost():
    done = stop(some_go())
    told = debrief(done)
    assert told.height_um.shape == (len(done.acts) + 1, 3, 101)
    assert np.allclose(told.straightness_um[0], 200)
    assert np.allclose(told.straightness_um[-1], straightness(done.x_mm, done.height_um).value_um)
    assert (np.diff(told.metal_mm3, axis=0) >= 0).all()
    assert told.strokes.tolist() == [0, 0, 85] and told.filings.tolist() == [0, 0, 2] and told.looks == 3
    seconds = 60 * PACES["bastard file"].stroke_s + 25 * PACES["scraper"].stroke_s + 3 * 120
    assert told.hours == pytest.approx(seconds / 3600)
    assert told.loop_worst_um[0] == pytest.approx(200) and told.loop_worst_um[-1] < 20


def test_only_fits_of_bars_that_were_not_filed_since_still_hold():
    state = start_practice(1)
    for pair in ((0, 1), (0, 2), (1, 2)):
        state = look(lay(state, *pair))
    assert fits_that_hold(state) == ((0, 1, False), (0, 2, False), (1, 2, False))
    assert fits_that_hold(file_place(state, 0, 100, 1)) == ((0, 1, False),)


def test_three_pairings_hide_nothing_and_no_look_hides_all():
    """Derived: a = (ab + ac - bc) / 2, so that three plain fits leave nothing unseen."""
    state = start_practice(1)
    assert debrief(stop(state)).hidden_share == pytest.approx(1)
    shares = []
    for pair in ((0, 1), (0, 2), (1, 2)):
        state = look(lay(state, *pair))
        shares.append(debrief(stop(state)).hidden_share)
    assert shares[0] > shares[1] > shares[2] and shares[2] == pytest.approx(0, abs=1e-9)


def test_what_is_hidden_makes_no_gap_in_the_fits_that_were_made():
    told = debrief(stop(look(lay(start_practice(3), 0, 2, True))))
    assert np.ptp(told.hidden_um[0] + told.hidden_um[2][::-1]) < 1e-6 < np.ptp(told.hidden_um[0])


def test_an_act_that_is_none_is_refused():
    with pytest.raises(ValueError, match="act 2 is"):
        replay(start_practice(1), [Act("look", {"kind": "light"}), Act("undo")])


def test_every_way_of_looking_says_what_it_cannot_tell():
    kinds = [look(start_practice(1), kind).answer.seen.cannot_tell for kind in SIGHTS]
    assert len(kinds) == 3 and all(len(words) > 30 for words in kinds)
