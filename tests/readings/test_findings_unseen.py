"""Files that no demo shows: two bodies, many bodies, rounds with other pairs, uneven places, units mixed, huge
figures."""

import numpy as np
import pytest
import workshops_read as made

from simulate.readings.findings import findings
from simulate.readings.table.read import ReadingsError, read_readings

UNEVEN = np.array([0.0, 17.0, 60.0, 141.0, 260.0, 300.0])


def test_two_bars_are_refused_with_what_would_settle_them():
    _, table = made.bars(np.random.default_rng(1), names="AB")
    with pytest.raises(ReadingsError, match="a third bar as well, fitted to A and to B"):
        findings(table)


def test_two_squares_and_two_plates_are_refused_with_the_third_body():
    with pytest.raises(ValueError, match="Read both against a third square"):
        findings(made.squares(np.random.default_rng(1), names="AB")[1])
    _, table = made.plates(np.random.default_rng(1))
    with pytest.raises(ValueError, match="against a third plate"):
        findings(table.rows((table.upper == 1) & (table.lower == 0)))


@pytest.mark.parametrize("names", ["ABCD", "ABCDEFG"])
def test_many_bars_check_each_other(names):
    truth, table = made.bars(np.random.default_rng(2), names=names)
    found = findings(table, 1.0)
    points, pairs = made.POINTS.size, len(names) * (len(names) - 1) // 2
    # each pair has points - 2 readings beyond its seat; each bar takes points - 2 of them
    assert found.consistency.dof == (points - 2) * (pairs - len(names))
    assert len(found.consistency.closures) == min(pairs, 12)
    assert np.abs(found.solution.height_um - truth).max() < 6 * found.solution.sd_um.max()


def test_a_round_with_other_pairs_and_other_bars_is_told_alone():
    _, first = made.bars(np.random.default_rng(3), names="ABC")
    _, second = made.bars(np.random.default_rng(4), names="CDE")

    def rows(table, number):
        return [
            f"{number},{table.names[a]},{table.names[b]},{at},{g}"
            for a, b, at, g in zip(table.lower, table.upper, table.position_mm, table.gap_um)
        ]

    both = made.table_of("round,lower,upper,position_mm,gap_um", rows(first, 1) + rows(second, 2))
    found = findings(both, 1.0)
    assert found.solution.names == ("C", "D", "E") and found.round == 2
    assert findings(both, 1.0, round=1).solution.names == ("A", "B", "C")
    np.testing.assert_allclose(found.solution.height_um, findings(second, 1.0).solution.height_um, atol=1e-6)
    assert found.progress.rounds.tolist() == [0, 1]
    assert findings(both, 1.0, round=1).progress is None


@pytest.mark.parametrize("maker", [made.plates, made.squares])
def test_rounds_of_plates_and_squares_are_told_apart(maker):
    _, first = maker(np.random.default_rng(5))
    _, second = maker(np.random.default_rng(6))
    columns = [c for c in ("turned", "position_mm", "y_mm") if getattr(first, c).size]
    heads = {"position_mm": "x_mm" if "y_mm" in columns else "height_mm"}
    rows = [
        ",".join(
            [
                str(k),
                t.names[t.lower[i]],
                t.names[t.upper[i]],
                *(str(getattr(t, c)[i]) for c in columns),
                str(t.gap_um[i]),
            ]
        )
        for k, t in ((1, first), (2, second))
        for i in range(len(t))
    ]
    both = made.table_of(",".join(["round", "lower", "upper", *(heads.get(c, c) for c in columns), "gap_um"]), rows)
    alone, last = findings(second, 1.0), findings(both, 1.0)
    assert last.round == 2 and last.rows == alone.rows
    assert findings(both, 1.0, round=1).rows == findings(first, 1.0).rows


def test_rounds_of_a_survey_are_told_apart():
    rows = []
    for number, seed in ((1, 7), (2, 8)):
        _, t = made.survey(np.random.default_rng(seed))
        rows += [
            f"{number},{t.line[i]},{t.station[i]},{t.x_mm[i]},{t.y_mm[i]},{read if t.station[i] else ''}"
            for i, read in enumerate(t.reading_arcsec)
        ]
    both = made.table_of("round,line,station,x_mm,y_mm,reading_arcsec", rows)
    assert findings(both, 1.0).form_um == pytest.approx(
        findings(made.survey(np.random.default_rng(8))[1], 1.0).form_um, rel=1e-4
    )
    assert findings(both, 1.0, round=1).form_um == pytest.approx(
        findings(made.survey(np.random.default_rng(7))[1], 1.0).form_um, rel=1e-4
    )


def test_uneven_stations_are_solved_and_a_turned_fit_at_them_spoils_nothing():
    truth, plain = made.bars(np.random.default_rng(9), x=UNEVEN)
    found = findings(plain, 1.0)
    assert np.abs(found.solution.height_um - truth).max() < 6 * found.solution.sd_um.max()
    _, turned = made.bars(np.random.default_rng(9), x=UNEVEN, turned=True)
    same = findings(turned, 1.0)
    # 0 and 300 mirror each other; the other places were read in no unturned fit
    assert len(same.solution.left_out) == 3 * 4
    assert "were left out" in same.sentences[0]
    assert same.solution.x_mm.tolist() == UNEVEN.tolist()


def test_one_place_in_inches_and_in_millimetres_and_gaps_in_thou_are_the_same_readings():
    _, table = made.bars(np.random.default_rng(10), x=np.array([0.0, 50.8, 127.0, 254.0]))
    inch = made.table_of(
        "lower,upper,position_in,gap_thou",
        [
            f"{table.names[a]},{table.names[b]},{at / 25.4:.6f},{g / 25.4:.9f}"
            for a, b, at, g in zip(table.lower, table.upper, table.position_mm, table.gap_um)
        ],
    )
    np.testing.assert_allclose(
        findings(inch, 1.0).solution.height_um, findings(table, 1.0).solution.height_um, atol=1e-4
    )


@pytest.mark.parametrize(
    ("maker", "columns"),
    [
        (made.bars, ("turned", "position_mm")),
        (made.squares, ("position_mm",)),
        (made.plates, ("turned", "position_mm", "y_mm")),
    ],
)
def test_points_and_intervals_may_stand_in_one_file(maker, columns):
    truth, table = maker(np.random.default_rng(11))
    wide = np.arange(len(table)) % 2 == 1
    start = np.floor(table.gap_um / 5) * 5
    heads = {"position_mm": "height_mm" if len(columns) == 1 else "x_mm" if "y_mm" in columns else "position_mm"}
    rows = []
    for i in range(len(table)):
        place = [
            "yes" if v is np.True_ else "no" if v is np.False_ else str(v)
            for v in (getattr(table, c)[i] for c in columns)
        ]
        gap = f",{start[i]},{start[i] + 5}" if wide[i] else f"{table.gap_um[i]},,"
        rows.append(",".join([table.names[table.lower[i]], table.names[table.upper[i]], *place, gap]))
    mixed = made.table_of(
        ",".join(["lower,upper", *(heads.get(c, c) for c in columns), "gap_um,gap_at_least_um,gap_at_most_um"]), rows
    )
    for sd in (1.0, None):
        found = findings(mixed, sd)
        value, spread = (
            (found.solution.angle_urad, found.solution.sd_urad)
            if found.kind == "squares"
            else (found.solution.height_um, found.solution.sd_um)
        )
        assert (np.abs(value - truth) < 6 * spread + 1e-6).all()
        assert found.sd_from == ("given" if sd else "residuals" if found.consistency.dof else "assumed")


def test_huge_and_tiny_figures_are_told_alike():
    truth, table = made.squares(np.random.default_rng(12))

    def scaled(factor):
        return made.table_of(
            "lower,upper,height_mm,gap_um",
            [
                f"{table.names[a]},{table.names[b]},{h},{g * factor:.9g}"
                for a, b, h, g in zip(table.lower, table.upper, table.position_mm, table.gap_um)
            ],
        )

    one, huge = findings(scaled(1.0)), findings(scaled(1e4))
    np.testing.assert_allclose(huge.solution.angle_urad, 1e4 * one.solution.angle_urad, rtol=1e-6)
    assert huge.consistency.row == one.consistency.row
    assert huge.consistency.row_probability == pytest.approx(one.consistency.row_probability, rel=1e-4)


def test_bars_kilometres_apart_from_the_origin_are_the_same_bars():
    text = "lower,upper,position_mm,gap_um\n" + "\n".join(
        f"{pair},{at + 99000},{gap}"
        for pair, gaps in (("A,B", (4, 0, 4)), ("A,C", (2, 0, 2)), ("B,C", (2, 0, 2)))
        for at, gap in zip((0, 50, 100), gaps)
    )
    assert findings(read_readings(text.encode())).solution.straightness_um.round(6).tolist() == [2.0, 2.0, 0.0]


def test_intervals_that_no_straight_blades_fulfil_are_named_by_row():
    """Only blades bent far more than is usual would fulfil them: that is a finding, with the row that was shifted."""
    _, table = made.squares(np.random.default_rng(13), step_um=4.0, names="ABC")
    table.low_um[3] += 400
    table.high_um[3] += 400
    found = findings(table)
    against = found.solution.against
    assert table.row[3] in against.rows and found.consistency.row == table.row[3]
    assert against.conflict_um > 100 and against.times > 3 and table.row[3] in against.alone
    assert against.sentence in found.sentences[0] and against.short in found.sentences
    assert found.solution.low_95_urad is None and found.solution.low_urad is None
    assert found.stop.sentence.startswith("Do not stop: the readings contradict each other.")
    assert all("the readings contradict each other" in one for one in found.cut)
    assert not any("agree with each other" in one for one in found.sentences)


def test_many_heights_read_as_intervals_are_told_without_bounds_and_that_is_said():
    _, table = made.bars(np.random.default_rng(14), step_um=5.0, x=np.linspace(0, 500, 71))
    found = findings(table)
    assert found.solution.low_um is None and "for 213 heights it would take too long" in " ".join(found.sentences)
    assert findings(made.bars(np.random.default_rng(14), step_um=5.0, x=made.POINTS)[1]).solution.low_um is not None
