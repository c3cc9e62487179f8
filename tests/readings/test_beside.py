"""The learner's own rounds beside simulated workshops with the learner's own share, sight and hands."""

from dataclasses import replace

import numpy as np
import pytest

from simulate.method.planning.corrections import Habit, corrections
from simulate.readings.findings import findings
from simulate.readings.logbook.joining import joined
from simulate.readings.outcome.round_record import OwnRounds, RoundErrors
from simulate.readings.rounds.beside import Beside, Where, Without, beside
from simulate.readings.rounds.own_rounds import own_rounds, progress_of
from simulate.readings.rounds.progress import progress
from simulate.readings.rounds.round_errors import ERRORS
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import read_readings
from simulate.readings.table.readings import KINDS

FILES = {
    "bars": "demo_bars.csv",
    "plates": "demo_plates.csv",
    "squares": "demo_squares.csv",
    "union jack": "demo_survey.csv",
    "lands": "demo_lands.csv",
    "level": "demo_level.csv",
    "edge": "demo_edge.csv",
    "bed": "demo_bed.csv",
    "joint": "demo_joint.csv",
    "head": "demo_head.csv",
    "cross slide": "demo_cross_slide.csv",
    "one square": "demo_one_square.csv",
    "thickness": "demo_thickness.csv",
}
READ = ("gap_um", "low_um", "high_um", "reading_arcsec", "proud_um", "dial_um", "thickness_um")


def first_round(kind):
    table = read_readings(demo_path(FILES[kind]))
    return table.rows(table.round == table.round[0])


def halved(table, number):
    """Give the same readings after a round that took half of every error: a reading scales as errors do."""
    changes = {"round": np.full(len(table), number)}
    for name in READ:
        values = getattr(table, name, None)
        if values is not None and np.size(values) == len(table):
            level = np.nanmean(values) if name == "thickness_um" else 0.0
            changes[name] = level + (values - level) / 2
    return replace(table, **changes)


def together(*tables):
    return joined(tables)


def test_every_kind_but_the_eye_has_rounds_that_can_be_compared():
    assert set(ERRORS) == set(KINDS) - {"wedge"} == set(FILES)


@pytest.mark.parametrize("kind", FILES)
def test_the_measure_that_judges_simulated_workshops_gives_the_learners_own_figure(kind):
    one = own_rounds(first_round(kind), 2.0 if kind in ("bars", "lands") else None).first
    assert float(one.measure(one.value_um)) == pytest.approx(one.form_um, rel=1e-9)
    both = one.measure(np.stack([-one.value_um, 2 * one.value_um])[:, None])
    np.testing.assert_allclose(both[:, 0], [one.form_um, 2 * one.form_um], rtol=1e-9)
    low, high = one.range_um
    assert 0 <= low <= one.form_um <= high


@pytest.mark.parametrize("kind", [kind for kind in FILES if kind not in ("edge", "head")])
def test_rounds_of_any_kind_that_halve_every_reading_lie_inside_with_half_for_the_share(kind):
    table = first_round(kind)
    both = together(table, halved(table, int(table.round[0]) + 1))
    own = own_rounds(both, 2.0 if kind in ("bars", "lands") else None)
    told = beside(own, progress_of(own))
    assert isinstance(told, Beside)
    # what intervals leave hangs on a prior that does not shrink with them
    assert told.habit.share == pytest.approx(
        0.5, abs=0.12 if own.first.by_intervals or kind in ("lands", "one square") else 0.02
    )
    assert told.where == (Where.INSIDE,)


def greatest(values):
    return np.abs(values).max(axis=-1)


def between_ends(values):
    return np.ptp(values, axis=-1)


def learner(rng, errors, habit, rounds, measure, sight_um=1.0):
    """Give the rounds of a learner whose habit is known, by the method's own simulation with one workshop."""
    truth = 40 * rng.standard_normal(errors)
    first = truth + sight_um * rng.standard_normal(errors)
    sight = sight_um * rng.standard_normal((1000, errors))
    error, read, told = truth, first, [first]
    for _ in range(rounds):
        error = error - habit.share * (1 + habit.uneven * rng.standard_normal()) * read
        error = error + habit.hands_um * rng.standard_normal(errors)
        read = error + sight_um * rng.standard_normal(errors)
        told.append(read)
    form = measure(np.array(told))
    record = RoundErrors(form_um=float(form[0]), value_um=first, sight_um=sight, measure=measure)
    ends = {"low_95_um": np.maximum(form - 1.96 * sight_um, 0), "high_95_um": form + 1.96 * sight_um}
    return OwnRounds(round=np.arange(rounds + 1), form_um=form, first=record, **ends)


_NOTHING = progress([0, 1], [2.0, 1.0])
"""What rounds tell takes no part where share and hands are stated."""


def laid(rng, learners, measure, errors, stated, slower=1.0):
    """Give where every round of many learners lies; their share is stated, or left to their own rounds."""
    found = []
    for _ in range(learners):
        share, hands = rng.uniform(0.4, 0.9), rng.uniform(0.5, 2.0)
        own = learner(rng, errors, Habit(share=share / slower, hands_um=hands, uneven=0.08), 4, measure)
        gone = _NOTHING if stated else progress(own.round, own.form_um)
        given = {"share": share, "hands_um": hands} if stated else {}
        told = beside(own, gone, **given)
        found.append([] if isinstance(told, Without) else [one for one in told.where])
    return found


@pytest.mark.parametrize(("measure", "errors"), [(greatest, 2), (between_ends, 15)])
def test_learners_whose_habit_is_known_lie_in_the_band_about_nine_times_in_ten(measure, errors):
    where = laid(np.random.default_rng(5), 120, measure, errors, stated=True)
    inside = np.mean([one == Where.INSIDE for rounds in where for one in rounds])
    # rounds of one learner hang together: 480 of them are worth some 200, good to two in 100
    assert 0.84 < inside < 0.96


@pytest.mark.parametrize(("measure", "errors"), [(greatest, 2), (between_ends, 15)])
def test_a_learner_who_takes_half_of_the_share_that_is_stated_comes_to_lie_above(measure, errors):
    where = laid(np.random.default_rng(6), 40, measure, errors, stated=True, slower=2.0)
    assert np.mean([Where.ABOVE in rounds for rounds in where]) > 0.9


def test_learners_whose_habit_comes_from_their_own_rounds_lie_inside_nine_times_in_ten_or_more():
    where = laid(np.random.default_rng(7), 40, between_ends, 15, stated=False)
    assert all(where)
    assert np.mean([one == Where.INSIDE for rounds in where for one in rounds]) > 0.9


def test_hands_are_told_from_where_many_rounds_end():
    rng, found = np.random.default_rng(8), []
    for _ in range(25):
        own = learner(rng, 15, Habit(share=0.6, hands_um=4.0, uneven=0.05), 9, between_ends)
        found.append(beside(own, progress(own.round, own.form_um)).habit.hands_um)
    assert np.median(found) == pytest.approx(4.0, rel=0.15)


def test_without_a_spread_without_progress_or_with_rounds_far_apart_no_band_is_drawn():
    own = learner(np.random.default_rng(9), 3, Habit(share=0.5), 3, greatest)
    gone = progress(own.round, own.form_um)
    assert beside(replace(own, first=replace(own.first, sight_um=None)), gone) is Without.SPREAD
    assert beside(own, progress(range(4), [10, 12, 15, 20])) is Without.WORSE
    assert isinstance(beside(own, progress(range(4), [10, 12, 15, 20]), share=0.5), Beside)
    assert beside(replace(own, round=own.round * 100), gone) is Without.ROUNDS


def test_the_band_is_that_of_the_simulation_and_starts_at_the_learners_own_figure():
    own = learner(np.random.default_rng(10), 4, Habit(share=0.5, hands_um=1.0), 3, greatest)
    told = beside(own, progress(own.round, own.form_um), share=0.5, hands_um=1.0)
    assert told.share_stated and told.hands_stated and told.habit.share == 0.5
    assert told.band_um[:, 0].tolist() == pytest.approx([own.form_um[0]] * 3)
    again = corrections(own.first.value_um, own.first.sight_um, told.habit, 5, told.workshops, seed=1)
    np.testing.assert_allclose(told.band_um[1], np.median(greatest(again), axis=0))


def test_a_spread_that_only_a_later_round_tells_serves_the_first_as_well():
    table = read_readings(demo_path("demo_lands.csv"))
    assert findings(table.rows(table.round == 1), round=1).sd_from == "assumed"
    assert own_rounds(table).first.sight_um is not None


def test_only_bodies_that_are_fitted_in_pairs_are_told_of_a_split():
    said = {}
    for kind in ("squares", "cross slide"):
        table = first_round(kind)
        said[kind] = " ".join(findings(together(table, halved(table, int(table.round[0]) + 1))).progress.sentences)
    assert "came off one body" in said["squares"] and "came off one body" not in said["cross slide"]
    assert "Each of your rounds leaves 50 % of the error" in said["cross slide"]


def test_findings_give_the_rounds_beside_their_progress():
    found = findings(read_readings(demo_path("demo_lands.csv")))
    np.testing.assert_allclose(found.rounds.form_um, found.progress.form_um)
    assert findings(first_round("head")).rounds is None
