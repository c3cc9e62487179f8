"""A photographed print becomes readings of plates: what stood in the text stays, and the solver takes it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulate.bench.seating.placement import face_plate
from simulate.core.refusal import Refusal
from simulate.readings.entry.cell_grid import entry_grid
from simulate.readings.photo.print_photo import PrintPhoto
from simulate.readings.photo.print_places import Laid, PrintPlaces, print_places, print_text, with_print
from simulate.readings.plates.solve_plates import solve_plates
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import read_readings


def places(printed, step=40.0, seen=None):
    printed = np.asarray(printed, bool)
    middles = [step * (np.arange(many) - (many - 1) / 2) for many in printed.shape[::-1]]
    there = np.ones_like(printed) if seen is None else np.asarray(seen, bool)
    return PrintPlaces(x_mm=middles[0], y_mm=middles[1], printed=printed, seen=there)


def told(marked, blind=None, wide=100.0):
    marked = np.asarray(marked, bool)
    x = (np.arange(marked.shape[1]) + 0.5) * wide / marked.shape[1]
    y = (np.arange(marked.shape[0]) + 0.5) * wide / marked.shape[1]
    none = np.zeros_like(marked)
    return PrintPhoto(
        x_mm=x, y_mm=y, shade=-1.0 * marked, marked=marked, apart=marked, blind=none if blind is None else blind,
        bearing=(0.1, 0.1, 0.1), points=np.ones((4, 4)), points_mean=(1.0, 1.0, 1.0), glare=0.0, contrast=9.0,
        grown=(0, 0), spots=1,
    )  # fmt: skip


def test_a_place_has_printed_from_one_square_millimetre_on_and_glare_leaves_it_open():
    marked, blind = np.zeros((400, 400), bool), np.zeros((400, 400), bool)
    marked[10:14, 10:14] = True  # 1 mm² of 100 mm over 400 cells
    marked[110:114, 10:13] = True  # 0.75 mm²
    blind[300:400, 300:400] = True
    blind[0:60, 0:100] = True  # more than half, but a mark shows in what is left
    found = print_places(told(marked, blind), 4, 4)
    assert found.printed.tolist() == [[True, False, False, False], *[[False] * 4] * 3]
    assert found.seen.sum() == 15 and not found.seen[3, 3]
    assert found.x_mm.tolist() == found.y_mm.tolist() == [-37.5, -12.5, 12.5, 37.5]
    for many in (1, 26, 2.5):
        with pytest.raises(Refusal, match="places across"):
            print_places(told(marked), many, 4)


@settings(max_examples=30)
@given(
    st.lists(st.lists(st.booleans(), min_size=3, max_size=3), min_size=2, max_size=5),
    st.sampled_from([("mm", "um"), ("in", "thou"), ("mm", "in"), ("in", "tenths")]),
    st.sampled_from([0, 90, 180, 270]),
    st.floats(0.5, 60),
)
def test_what_is_written_is_read_back_in_every_unit(printed, units, turned, film):
    one = places(printed)
    text = with_print(print_text(*units), one, Laid(lower="Oak", upper="Ash", film_um=film, turned=turned))
    table = read_readings(text.encode(), "mine")
    assert table.kind == "plates" and table.names == ("Oak", "Ash") and set(table.turned) == {turned}
    there = one.printed.ravel()
    assert np.allclose(table.high_um[there], film, rtol=1e-5)
    assert np.allclose(table.low_um[~there], film, rtol=1e-5) and np.isinf(table.high_um[~there]).all()
    assert np.allclose(np.unique(table.position_mm), one.x_mm, atol=1e-3)
    assert sum(map(len, entry_grid(text).typed())) == one.printed.size


@pytest.mark.parametrize("demo", ["demo_plates.csv", "demo_plates_rounds.csv"])
def test_every_reading_that_stood_there_stays(demo):
    before = demo_path(demo).read_text()
    one = places([[True, False, True]] * 3, seen=[[True, True, False]] * 3)
    after = with_print(before, one, Laid(lower="A", upper="B", film_um=5, slide_x_mm=40, turned=90))
    old, new = read_readings(before.encode(), "old"), read_readings(after.encode(), "new")
    kept = len(old)
    assert len(new) == kept + 6 and after.count("# not read:") == before.count("# not read:") + 3
    for name in ("gap_um", "low_um", "high_um", "position_mm", "y_mm", "turned", "slide_x_mm", "round"):
        a, b = getattr(old, name), getattr(new, name)
        assert a.size == 0 or np.array_equal(a, b[:kept], equal_nan=True), name
    assert set(new.slide_x_mm[kept:]) == {40} and set(new.turned[kept:]) == {90}
    twice = with_print(after, one, Laid(lower="A", upper="C", film_um=5))
    assert twice.startswith(after)


def test_a_print_is_added_to_readings_with_semicolons_and_decimal_commas():
    before = "lower;upper;x_mm;y_mm;gap_um\nA;B;-40,5;0;12,5\nA;B;40,5;0;\n"
    after = with_print(before, places([[True, False]] * 2), Laid(lower="A", upper="C", film_um=3))
    table = read_readings(after.replace("A,B,40.5,0,,,\n", "").encode(), "mine")
    assert table.gap_um[0] == 12.5 and len(table) == 5


def refused(text=None, **laid):
    with pytest.raises(Refusal) as why:
        with_print(text or print_text(), places([[True]]), Laid(**({"lower": "A", "upper": "B", "film_um": 3} | laid)))
    return str(why.value)


def test_what_cannot_be_added_is_refused_in_a_sentence():
    assert "lower plate" in refused(lower=" ") and "upper plate" in refused(upper="a,b")
    assert "a plate other than" in refused(upper="a") and "film_um" in refused(film_um=0)
    assert "not a table of plates" in refused(demo_path("demo_bars.csv").read_text())
    assert "not a table of plates" in refused("what is this")
    text = with_print(
        print_text("in", "thou"), places([[True]]), Laid(lower="A", upper="B", film_um=3, slide_x_mm=25.4)
    )
    assert "is there already" in refused(text, lower="a", slide_x_mm=25.4)
    assert with_print(text, places([[True]]), Laid(lower="A", upper="B", film_um=3)) != text
    assert with_print(text, places([[True]]), Laid(lower="A", upper="B", film_um=3, slide_x_mm=25.4, round=2)) != text


def test_prints_of_known_plates_keep_the_truth_within_what_the_solver_says():
    x = np.linspace(-80, 80, 5)
    u, v = np.meshgrid(x / 80, x / 80)
    plates = np.stack([-8 * (u**2 + v**2), 6 * u * v, 3 * u**2])
    text = print_text()
    for low, up, turned, slid in ((0, 1, 0, 0), (0, 2, 0, 0), (1, 2, 0, 0), (0, 1, 90, 0), (0, 1, 0, 1)):
        gap = -(plates[low] + face_plate(plates[up], turned, (slid, 0)))
        gap = gap - np.nanmin(gap)
        seen = np.isfinite(gap)
        for film in (3.0, 8.0):
            one = places(np.nan_to_num(gap, nan=99) <= film, seen=seen)
            laid = Laid(lower="ABC"[low], upper="ABC"[up], film_um=film, turned=turned, slide_x_mm=40 * slid)
            if film == 3.0:
                text = with_print(text, one, laid)
    solved = solve_plates(read_readings(text.encode(), "mine"))
    for k, height in enumerate(plates):
        rest = np.stack([np.ones(25), u.ravel(), v.ravel()], 1)
        flat = height.ravel() - rest @ np.linalg.lstsq(rest, height.ravel(), rcond=None)[0]
        at = np.lexsort((solved.x_mm, solved.y_mm))
        low, high = solved.low_95_um[k][at], solved.high_95_um[k][at]
        assert np.mean((low <= flat) & (flat <= high)) > 0.8
