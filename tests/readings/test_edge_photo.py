"""A photograph of an edge: straightened by its own length and depth, told station by station, taken to the solver."""

import numpy as np
import pytest
from photos_rendered import FINE, rendered_edge

from simulate import read_print_photo
from simulate.__main__ import main
from simulate.core.refusal import Refusal
from simulate.readings.bars.solve_bars import solve_bars
from simulate.readings.photo.edge_stations import RIM, print_stations
from simulate.readings.photo.print_places import Laid, print_text, with_print
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import read_readings

STATIONS = 20


def read(one, stations=STATIONS, rim=RIM):
    told = read_print_photo(one.data, one.corner_px, one.wide_mm, one.deep_mm, rim * one.deep_mm)
    return told, print_stations(told, stations)


def true_mm2(one, found):
    """Marked area of each station of the face itself, inside its rim."""
    rim = int(RIM * one.deep_mm * FINE)
    inner = one.face[rim:-rim]
    x, half = (np.arange(inner.shape[1]) + 0.5) / FINE, one.deep_mm * (1 - 2 * RIM) / 2
    return np.array([inner[:, np.abs(x - at) < half].sum() / FINE**2 for at in found.x_mm])


@pytest.mark.parametrize(("seed", "ink"), [(1, "blue"), (9, "red"), (16, "blue")])
def test_stations_of_an_edge_are_read_right_aslant_in_uneven_light(seed, ink):
    one = rendered_edge(seed, ink=ink, glare=False)
    told, found = read(one)
    area = true_mm2(one, found)
    assert told.x_mm.size * (told.x_mm[1] - told.x_mm[0]) == pytest.approx(500)
    assert found.x_mm.tolist() == np.arange(12.5, 500, 25).tolist()
    assert found.seen.all()
    clear = np.abs(area - 1) > 0.2
    assert np.array_equal(found.printed[0][clear], area[clear] >= 1)


def test_a_rim_that_is_left_in_prints_where_nothing_did():
    one = rendered_edge(4, glare=False)
    (_, with_rim), (_, without) = read(one, rim=0.0), read(one)
    area = true_mm2(one, without)
    assert np.array_equal(without.printed[0], area >= 1)
    assert with_rim.printed.sum() >= without.printed.sum() + 5


def test_stations_under_glare_are_left_open_and_wait_as_comments():
    one = rendered_edge(5)  # glare lies over a stretch that is all mark
    _, found = read(one)
    assert not found.seen.all()
    assert np.array_equal(found.printed[0][found.seen[0]], (true_mm2(one, found) >= 1)[found.seen[0]])
    text = with_print(print_text(kind="bars"), found, Laid(lower="A", upper="B", film_um=3))
    assert text.count("# not read: ") == int((~found.seen).sum())
    assert len(read_readings(text.encode(), "mine")) == int(found.seen.sum())


@pytest.mark.long
def test_95_of_100_stations_are_right_over_40_photographs_with_glare():
    wrong = read_of = unread = 0
    for seed in range(2000, 2040):
        one = rendered_edge(seed, ink=("blue", "red")[seed // 2 % 2])
        try:
            _, found = read(one)
        except Refusal as refusal:
            assert "glare" in str(refusal)
            unread += 1
            continue
        seen = found.seen[0]
        wrong += np.count_nonzero((found.printed[0] != (true_mm2(one, found) >= 1))[seen])
        read_of += np.count_nonzero(seen)
    assert unread <= 8 and read_of >= 500 and wrong <= 0.05 * read_of


def test_prints_of_three_edges_keep_the_truth_within_what_the_solver_says():
    x = (np.arange(500 * FINE) + 0.5) / FINE
    u = 2 * x / 500 - 1
    bars = np.array([-6 * u**2, 5 * u**2 + 3 * u**3, 8 * u**2 - 2 * u])
    text = print_text(kind="bars")
    for seed, (low, up, turned) in enumerate(((0, 1, 0), (0, 2, 0), (1, 2, 0), (0, 1, 180), (1, 2, 180))):
        gap = -(bars[low] + (bars[up][::-1] if turned else bars[up]))
        a, b = seat(x, gap)
        one = rendered_edge(30 + seed, gap_um=gap - a - b * x, glare=False)
        _, found = read(one)
        text = with_print(text, found, Laid(lower="ABC"[low], upper="ABC"[up], film_um=3.0, turned=turned))
    table = read_readings(text.encode(), "mine")
    assert table.kind == "bars" and len(table) >= 0.9 * 5 * STATIONS and len(set(zip(table.lower, table.upper))) == 3
    solved = solve_bars(table)
    assert solved.low_95_um is not None and solved.high_95_um is not None
    own = np.array([np.interp(solved.x_mm, x, height) for height in bars])
    flat = own - np.array([np.polyval(np.polyfit(solved.x_mm, one, 1), solved.x_mm) for one in own])
    out_um = np.maximum(solved.low_95_um - flat, flat - solved.high_95_um)
    assert np.mean(out_um <= 0) > 0.8
    assert out_um.max() < 0.5  # between stations a gap changes by so much: a print is told of 8 mm


def seat(x, gap):
    """The line on which a bar comes to rest: it touches at two places, one each side of the middle."""
    left, right = x < x.mean(), x >= x.mean()
    i, j = (np.flatnonzero(side)[np.argmin(gap[side])] for side in (left, right))
    for _ in range(100):
        b = (gap[j] - gap[i]) / (x[j] - x[i])
        a = gap[i] - b * x[i]
        rest = gap - a - b * x
        k = int(rest.argmin())
        if rest[k] > -1e-9:
            return a, b
        i, j = (k, j) if x[k] < x.mean() else (i, k)
    raise AssertionError("no seat found")


def test_a_print_of_an_edge_is_added_to_readings_of_bars_in_every_way_they_are_written():
    _, found = read(rendered_edge(1, glare=False), 8)
    before = demo_path("demo_bars.csv").read_text()
    after = with_print(before, found, Laid(lower="North", upper="South", film_um=3, turned=180, round=3))
    table, old = read_readings(after.encode(), "new"), read_readings(before.encode(), "old")
    assert len(table) == len(old) + 8 and np.array_equal(table.gap_um[: len(old)], old.gap_um)
    assert table.turned[-8:].all() and set(table.round[-8:]) == {3}
    inch = with_print(print_text("in", "thou", "bars"), found, Laid(lower="A", upper="B", film_um=2.54))
    assert np.allclose(read_readings(inch.encode(), "mine").position_mm, found.x_mm, rtol=1e-5)
    short = with_print("lower,upper,x_mm,gap_um\nA,B,0,12\n", found, Laid(lower="A", upper="C", film_um=3, turned=180))
    assert read_readings(short.encode(), "mine").turned.tolist() == [False] + [True] * 8
    again = "round,lower,upper,turned,position_mm,printed,film_um\n1,a,b,0,0,x,3\n"
    with pytest.raises(Refusal, match="is there already"):
        with_print(again, found, Laid(lower="A", upper="B", film_um=3))
    with pytest.raises(Refusal, match="not a table of bars"):
        with_print(print_text(), found, Laid(lower="A", upper="B", film_um=3))
    with pytest.raises(Refusal, match="a bar other than"):
        with_print(again, found, Laid(lower="A", upper="a", film_um=3))


def test_what_is_no_edge_is_refused_with_what_to_do():
    one = rendered_edge(1, glare=False)
    told, _ = read(one)
    with pytest.raises(Refusal, match="stations"):
        print_stations(told, 2)
    with pytest.raises(Refusal, match="rim_mm"):
        read_print_photo(one.data, one.corner_px, 500, 10, 5)
    turned = np.roll(one.corner_px, -1, axis=0)
    told = read_print_photo(one.data, turned, 10, 500)
    with pytest.raises(Refusal, match="times as long as deep"):
        print_stations(told, 20)


def test_the_command_writes_readings_of_bars(tmp_path, capsys):
    one = rendered_edge(1, glare=False)
    (tmp_path / "edge.jpg").write_bytes(one.data)
    corners = " ".join(f"{column:.1f},{row:.1f}" for column, row in one.corner_px)
    given = ["print-photo", tmp_path / "edge.jpg", tmp_path / "seen.png", "--corners", corners, "--size", "500x10"]
    given += ["--edge", tmp_path / "rows.csv", "--film", "4", "--lower", "Oak", "--turned"]
    assert main([str(word) for word in given]) == 0
    assert "9 of 20 stations printed" in capsys.readouterr().out
    table = read_readings((tmp_path / "rows.csv").read_bytes(), "rows.csv")
    assert table.kind == "bars" and table.names == ("Oak", "B") and table.turned.all() and len(table) == 20
    assert set(table.high_um[table.low_um == 0]) == {4.0}
    assert main([*map(str, given), "--stations", "2"]) == 2
    assert "stations" in capsys.readouterr().err
