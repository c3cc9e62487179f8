"""A text of readings and the grid that it is typed in are two views of one thing: nothing is lost on the way over and
back."""

import csv
import io

import pytest
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st

from simulate import read_readings
from simulate.core.refusal import Refusal
from simulate.readings.alignment.axis_findings import solve_head
from simulate.readings.entry.cell_faults import faults
from simulate.readings.entry.cell_grid import MOST, NOT_READ, entry_grid
from simulate.readings.entry.cell_typing import with_cells
from simulate.readings.entry.head_words import column_words, corner_words, head_words, row_words, unit_words
from simulate.readings.entry.laying_out import laid_out
from simulate.readings.table.csv_cells import as_seen
from simulate.readings.table.demo import DEMOS as EXAMPLES
from simulate.readings.table.demo import demo_path

DEMOS = tuple(name.removeprefix("demo_").removesuffix(".csv") for name in EXAMPLES)
FIGURES = st.integers(0, 900).map(str)
CELLS = st.one_of(
    FIGURES,
    FIGURES,
    st.just(""),
    st.sampled_from(
        ["dark", "x", ".", "no", "<30", ">1000", "50-100", "3 to 5", "1,5", "thin", '6" ', "½", "#4", "-", "a,b;c\td"]
    ),
    st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), max_size=6),
)
EVERY = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)


def demo(name):
    return demo_path(f"demo_{name}.csv").read_text(encoding="utf-8")


def written(rows, separator=","):
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator="\n").writerows(rows)
    return out.getvalue()


@st.composite
def texts(draw):
    """Texts as a learner may have them: any kind, waiting lines, holes, notes, comments, places read again, a broken
    row."""
    kind = draw(st.sampled_from(["bars", "squares", "plates", "lands", "wedge", "union jack"]))
    names = draw(st.permutations(["A", "B b", "c"]))
    places = draw(st.lists(st.integers(0, 30).map(lambda k: 5 * k), min_size=1, max_size=4, unique=True))
    pairs = [(names[0], names[1]), (names[1], names[2])]
    rounds = draw(st.lists(st.sampled_from(["1", "2"]), min_size=1, max_size=2, unique=True))
    head = {
        "bars": ["round", "lower", "upper", "turned", "position_mm"],
        "squares": ["round", "lower", "upper", "height_in"],
        "plates": ["round", "lower", "upper", "turned", "slide_x_mm", "x_mm", "y_mm"],
        "lands": ["round", "gauge", "left_mm", "middle_mm", "right_mm"],
        "wedge": ["round", "gap_um"],
        "union jack": ["round", "line", "station", "x_mm", "y_mm"],
    }[kind]
    values = {
        "lands": [["proud_um"], ["proud_um", "proud_at_least_um", "proud_at_most_um"]],
        "wedge": [["looks", "seen"]],
        "union jack": [["reading_mm_m"], ["reading_arcsec"]],
    }.get(
        kind, [["gap_um"], ["gap_at_least_thou", "gap_at_most_thou"], ["gap_um", "gap_at_least_um", "gap_at_most_um"]]
    )
    values = draw(st.sampled_from(values + ([["printed", "film_um"]] if kind in ("bars", "plates") else [])))
    rows = []
    for number in rounds:
        for lower, upper in pairs:
            for k, place in enumerate(places):
                keys = {
                    "bars": [number, lower, upper, draw(st.sampled_from(["no", "yes"])), place],
                    "squares": [number, lower, upper, place],
                    "plates": [number, lower, upper, draw(st.sampled_from([0, 90])), 0, place, -place],
                    "lands": [number, lower, place, place + 10, place + 20],
                    "wedge": [number, place + 1],
                    "union jack": [number, lower, k, place, 0],
                }[kind]
                rows.append([*map(str, keys), *[draw(CELLS) if name != "film_um" else "3" for name in values]])
    rows = draw(st.permutations(rows))[: draw(st.integers(1, len(rows)))]
    noted = draw(st.booleans())
    lines = ["# mine, of a cold morning", ",".join([*head, *values, *(["note"] if noted else [])])]
    for row in rows:
        line = written([[*row, *([draw(st.sampled_from(["", "cold", "a, b"]))] if noted else [])]]).rstrip("\n")
        waits = written([[*row[: len(head)], *["" if name != "film_um" else "3" for name in values], *[""] * noted]])
        way = draw(st.integers(0, 9))
        lines += [NOT_READ + waits.rstrip("\n")] if way < 2 else [NOT_READ + line] if way == 2 else [line]
        lines += ["# said in between"] if draw(st.integers(0, 6)) == 0 else []
    lines += ["spoilt"] if draw(st.integers(0, 5)) == 0 else []
    return draw(st.sampled_from(["\n", "\r\n"])).join(lines) + draw(st.sampled_from(["", "\n"]))


@st.composite
def typings(draw):
    text = draw(texts())
    try:
        grid = entry_grid(text)
    except Refusal:
        reject()
    at = st.tuples(st.integers(0, len(grid.down) - 1), st.integers(0, len(grid.across) - 1))
    return text, grid, draw(st.dictionaries(at, CELLS, max_size=5))


def shown(grid):
    """Every cell by the heads that it stands under."""
    return {
        (down["key"], down["again"], across["key"], across["again"], across["value"]): place.typed
        for down, row in zip(grid.down, grid.places, strict=True)
        for across, place in zip(grid.across, row, strict=True)
    }


def typed_into(grid, changes):
    """What the cells say after typing: as it looks, and closed ones not at all."""
    want = shown(grid)
    for (row, column), words in changes.items():
        if not grid.places[row][column].closed:
            down, across = grid.down[row], grid.across[column]
            want[down["key"], down["again"], across["key"], across["again"], across["value"]] = words
    return want


@EVERY
@given(texts())
def test_a_text_that_nobody_types_into_comes_back_byte_for_byte(text):
    try:
        grid = entry_grid(text)
    except Refusal as refused:  # a text whose rows are all broken
        assert "without a row" in str(refused)
        return
    typed = {(r, c): word for r, row in enumerate(grid.typed()) for c, word in enumerate(row)}
    assert with_cells(text, grid, {}) == text and with_cells(text, grid, typed) == text


@EVERY
@given(typings())
def test_what_is_typed_into_the_grid_is_what_the_text_says_then(case):
    text, grid, changes = case
    again = entry_grid(with_cells(text, grid, changes))
    want = {key: as_seen(word) for key, word in typed_into(grid, changes).items()}
    found = shown(again)
    assert {key: found.get(key, "") for key in want} == want
    assert [head["key"] for head in again.down] == [head["key"] for head in grid.down], "rows stay where they are"
    assert [head["key"] for head in again.across] == [head["key"] for head in grid.across]
    assert all(word == "" for key, word in found.items() if key not in want)


@EVERY
@given(typings())
def test_typing_touches_the_lines_of_its_cells_alone_and_loses_no_word_of_them(case):
    text, grid, changes = case
    new = with_cells(text, grid, changes)
    wider = len(entry_grid(new).header) > len(grid.header)
    touched = {
        place.line.at
        for r, row in enumerate(grid.places)
        for c, place in enumerate(row)
        if place.line and ((r, c) in changes or (not place.typed and not place.line.waits))
    }
    left = new.splitlines()
    for at, was in enumerate(text.splitlines()):
        if at not in touched and not (wider and not was.startswith("# ") and was != "spoilt"):
            longer = wider and was.startswith(NOT_READ) and was not in left
            line = next(one for one in left if one.startswith(was)) if longer else was
            assert line in left, line
            left.remove(line)
    for word in ("cold", '"a, b"', "# said in between", "# mine, of a cold morning", "spoilt"):
        assert new.count(word) >= text.count(word)


@EVERY
@given(typings())
def test_typing_back_what_stood_there_gives_the_same_grid_and_readings(case):
    text, grid, changes = case
    new = with_cells(text, grid, changes)
    after = entry_grid(new)
    was = shown(grid)
    back = {
        (r, c): was.get((d["key"], d["again"], a["key"], a["again"], a["value"]), "")
        for r, d in enumerate(after.down)
        for c, a in enumerate(after.across)
    }
    shut = {  # the start of a line of slopes, where nothing is read, shuts as soon as it is emptied
        (d["key"], d["again"], a["key"], a["again"], a["value"])
        for d, row in zip(after.down, after.places, strict=True)
        for a, place in zip(after.across, row, strict=True)
        if place.closed
    }
    again = shown(entry_grid(with_cells(new, after, back)))
    kept = {key: word for key, word in was.items() if word and key not in shut}
    assert {key: word for key, word in again.items() if word} == kept


@pytest.mark.parametrize("name", DEMOS)
def test_an_example_emptied_and_typed_again_reads_the_same(name):
    text = demo(name)
    grid = entry_grid(text)
    cells = {(r, c): word for r, row in enumerate(grid.typed()) for c, word in enumerate(row)}
    empty = with_cells(text, grid, dict.fromkeys(cells, ""))
    blank = entry_grid(empty)
    assert not any(word for row in blank.typed() for word in row) and len(blank.down) == len(grid.down)
    one, two = read_readings(text.encode()), read_readings(with_cells(empty, blank, cells).encode())
    assert one.names == two.names and one.row.tolist() == two.row.tolist()
    for field in ("gap_um", "low_um", "high_um", "position_mm", "y_mm", "reading_arcsec", "proud_um", "seen", "looks"):
        a, b = getattr(one, field), getattr(two, field)
        assert (a is None) == (b is None) and (a is None or field == "gap_um" or a == pytest.approx(b, nan_ok=True)), (
            field
        )
    assert not faults(grid, text) and not faults(blank, empty)


def test_a_table_in_another_dress_is_shown_and_becomes_plain_where_it_is_typed_into():
    text = "My bars;;;\nlower;upper;position_mm;gap_um\nA;B;0;1,5\n;;50;<30\n;;100;\n# by hand\nB;C;0;7\n"
    grid = entry_grid(text)
    assert grid.typed() == (("1.5", "7"), ("<30", ""), ("", ""))
    new = with_cells(text, grid, {(2, 1): "0.5"})
    assert new == (
        "# My bars\nlower,upper,position_mm,gap_um\nA,B,0,1.5\nA,B,50,<30\n# not read: A,B,100,\n# by hand\n"
        "B,C,0,7\nB,C,100,0.5\n"
    )


def test_a_print_goes_into_its_own_column_where_the_file_has_one():
    text = "lower,upper,turned,x_mm,y_mm,printed,film_um\n# not read: A,B,0,0,0,,3\n# not read: A,B,0,50,0,,3\n"
    grid = entry_grid(text)
    new = with_cells(text, grid, {(0, 0): "x", (0, 1): "."})
    table = read_readings(new.encode())
    assert table.low_um.tolist() == [0, 3] and table.high_um[0] == 3
    mixed = with_cells(new, entry_grid(new), {(0, 1): "12-14"})
    assert mixed.splitlines()[0].endswith("printed,film_um,gap_um") and entry_grid(mixed).typed() == (("x", "12-14"),)
    assert read_readings(mixed.encode()).high_um.tolist() == [3, 14]


@pytest.mark.parametrize(
    "text, words",
    [
        ("", "without a header"),
        ("A,B,0,12\n", "without a header"),
        ("lower,upper,position,gap\nA,B,0,1\n", "no grid shows"),
        ("lower,upper,position_mm,gap_um,gap_mm\nA,B,0,1,\n", "no grid shows"),
        (
            "lower,upper,position_mm,gap_um\n" + "".join(f"a{k},b,{j},1\n" for k in range(31) for j in range(31)),
            f"at most {MOST} in all",
        ),
    ],
)
def test_a_text_that_no_grid_shows_is_told_and_left_alone(text, words):
    with pytest.raises(Refusal, match=words):
        entry_grid(text)


def test_rows_that_the_grid_cannot_place_are_named_and_stay():
    text = "lower,upper,position_mm,gap_um\nA,B,0,12\nA,B,far,12\nA,B,1,2,3,4\nA,B,50,5\n"
    grid = entry_grid(text)
    assert grid.outside == (3, 4)
    new = with_cells(text, grid, {(1, 0): "6"})
    assert new == text.replace("A,B,50,5", "A,B,50,6")


def test_each_cell_that_cannot_be_read_is_told_with_where_found_must_be_and_do():
    text = (
        "# division: 0.01 mm\nlower,upper,turned,position_mm,gap_um\nA,B,no,0,12\nA,B,no,50,thin\nA,C,no,0,-3\n"
        "A,C,no,50,40-30\n# not read: B,C,no,0,\nB,C,no,50,x\nB,C,no,100,1.2.3\n"
    )
    told = faults(entry_grid(text), text)
    assert [(f.row, f.column, f.found) for f in told] == [
        (0, 1, "'-3'"),
        (1, 0, "'thin'"),
        (1, 1, "'40-30'"),
        (1, 2, "'x'"),
        (2, 2, "'1.2.3'"),
    ]
    assert told[0].where == "C on A at 0 mm" and told[0].code == "cell"
    assert all("a number from 0 to 1000 mm" in f.must_be for f in told)


@pytest.mark.parametrize(
    "name, corner, column, row, unit",
    [
        ("bars", "station (mm)", "South on North", "50", "µm"),
        ("lands", "lands at (mm)", "round 1", "0, 100, 200", "µm"),
        ("plates", "away (mm)", "x -100", "y 50", "µm"),
        ("squares", "height (mm)", "Elm on Ash", "50", "µm"),
        ("survey", "station", "diagonal 1", "1", "arcsec"),
        ("wedge", "gap at the mark (µm)", "trials", "1.0", ""),
    ],
)
def test_heads_say_pairs_places_and_units(name, corner, column, row, unit):
    grid = entry_grid(demo(name))
    said = corner_words(grid), column_words(grid, 0), row_words(grid, 1), unit_words(grid)
    assert said == (corner, column, row, unit)
    every = {head_words(grid, r, c) for r in range(len(grid.down)) for c in range(len(grid.across))}
    assert len(every) == len(grid.down) * len(grid.across), "no two cells have one name"


def test_a_second_reading_that_is_typed_stays_the_second_and_makes_room_for_a_first_that_is_missing():
    text = "lower,upper,position_mm,gap_um\nA,B,0,1\nA,B,0,2\nA,B,50,3\nA,C,100,4\n"
    grid = entry_grid(text)
    assert [column_words(grid, c) for c in range(3)] == ["B on A", "B on A again", "C on A"]
    new = with_cells(text, grid, {(1, 1): "33", (2, 1): "44"})
    assert entry_grid(new).typed() == (("1", "2", ""), ("3", "33", ""), ("", "44", "4"))
    assert new.splitlines().index("A,B,50,33") > new.splitlines().index("A,B,50,3") and f"{NOT_READ}A,B,100," in new


LISTED = [name for name in DEMOS if entry_grid(demo(name)).axes.listed]


def test_every_example_that_comes_with_the_course_is_shown_as_cells_with_no_line_left_out():
    assert len(LISTED) >= 4
    for name in DEMOS:
        grid = entry_grid(demo(name))
        assert grid.outside == (), "a foot is not read, and no cell is missing"
        assert grid.kind == read_readings(demo(name).encode(), name).kind


def test_feet_of_a_head_are_asked_for_when_a_grid_is_laid_out_and_what_is_typed_beside_them_gives_a_shim():
    said = {"stations": "50, 300", "y": "", "feet": "-250, -50", "tail_feet": "930, 1080"}
    text = laid_out("head", "um", **said)
    assert [line for line in text.splitlines() if ",foot," in line] == ["headstock,foot,-250,,", "headstock,foot,-50,,"]
    grid = entry_grid(text)
    assert [row["x"] for row in grid.down] == ["50", "300"] and grid.outside == ()
    typed = {}
    for c, head in enumerate(grid.across):  # the axis drops by 120 um in a metre, and lies level
        for r, row in enumerate(grid.down):
            typed[r, c] = str(-0.12 * float(row["x"])) if head["plane"] == "upright" else "0"
    text = with_cells(text, grid, typed)
    assert text.count(",foot,") == 2
    shims = {one.of: one.value for one in solve_head(read_readings(text.encode()), 1.0).work if one.name == "shim"}
    assert shims == {"headstock, foot at -50 mm": pytest.approx(24.0)}


@pytest.mark.parametrize("name", LISTED)
def test_each_cell_of_a_list_is_marked_where_it_stands_and_nowhere_else(name):
    text = demo(name)
    grid = entry_grid(text)
    heads = [head_words(grid, r, c) for r, row in enumerate(grid.places) for c, p in enumerate(row) if p.typed]
    assert all("at" in where or "slide" in where for _, where in heads)
    typed = [(r, c) for r, row in enumerate(grid.places) for c, place in enumerate(row) if place.typed]
    for at in typed[:: max(1, len(typed) // 12)]:
        spoilt = with_cells(text, grid, {at: "thin"})
        assert [(fault.row, fault.column) for fault in faults(entry_grid(spoilt), spoilt)] == [at]


def test_a_list_takes_no_reading_where_its_line_says_that_none_is_taken():
    grid = entry_grid("how,way,x_mm,y_mm,gap_um,step_um\nedge,front,0,0,3,\nstrips,,0,0,,4\n")
    assert [[place.closed for place in row] for row in grid.places] == [[False, True], [True, False]]
    assert [column_words(grid, c) for c in range(2)] == ["gap (µm)", "step (µm)"]
