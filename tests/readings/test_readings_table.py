"""A readings file is checked cell by cell, and a refusal is one sentence that names the place."""

import io
import re

import numpy as np
import pytest

from simulate.readings.table.read import ReadingsError, read_readings

HEAD = "round,lower,upper,turned,position_mm,gap_um\n"
PART = "round,lower,upper,turned,position_mm,gap_at_least_um,gap_at_most_um\n"
GOOD = HEAD + "1,A,B,no,0,12.5\n"


def bars(row: str) -> bytes:
    return (GOOD + row + "\n").encode()


def light(row: str) -> bytes:
    return (PART + "1,A,B,no,0,,2.5\n" + row + "\n").encode()


# what stood there -> row, column, value, words of what may stand there
REFUSED = {
    "empty": (b"", 1, None, None, "header row"),
    "only comments": (b"# a\n#b\n\n", 1, None, None, "only comments"),
    "header only": (HEAD.encode(), 2, None, None, "one reading in each row"),
    "no units": (GOOD.replace("gap_um", "gap").encode(), 1, "gap", "gap", "gap_um, gap_mm, gap_thou"),
    "no units along": (GOOD.replace("position_mm", "position").encode(), 1, "position", "position", "position_mm"),
    "unknown column": (GOOD.replace("round", "day").encode(), 1, "day", "day", "round, lower, upper"),
    "missing column": (b"lower,upper,gap_um\nA,B,1\n", 1, "position_mm", "", "position_mm or position_in"),
    "no gap column": (b"lower,upper,position_mm\nA,B,1\n", 1, "gap_um", "", "gap_um, gap_mm"),
    "column twice": (b"lower,lower,position_mm,gap_um\nA,B,1,2\n", 1, "lower", "lower", "one of each column"),
    "gap in two units": (
        b"lower,upper,position_mm,gap_um,gap_mm\nA,B,1,2,3\n",
        1,
        "gap_mm",
        "gap_mm",
        "one of each column",
    ),
    "columns of two kinds": (
        b"lower,upper,height_mm,gap_um,turned\nA,B,1,2,no\n",
        1,
        "turned",
        "turned",
        "in readings of squares",
    ),
    "words": (bars("1,A,B,no,50,thin"), 3, "gap_um", "thin", "a gap cannot be below 0"),
    "unit in the cell": (bars("1,A,B,no,50 mm,3"), 3, "position_mm", "50 mm", "a number of millimetres"),
    "nan": (bars("1,A,B,no,50,NaN"), 3, "gap_um", "NaN", "a number from 0"),
    "inf": (bars("1,A,B,no,inf,1"), 3, "position_mm", "inf", "a number of millimetres"),
    "overflow": (bars("1,A,B,no,50,1e400"), 3, "gap_um", "1e400", "a number from 0"),
    "negative": (bars("1,A,B,no,50,-3"), 3, "gap_um", "-3", "a gap cannot be below 0"),
    "negative square": (b"lower,upper,height_mm,gap_um\nA,B,10,-1\n", 2, "gap_um", "-1", "a gap cannot be below 0"),
    "empty gap": (bars("1,A,B,no,50,"), 3, "gap_um", "", "a number from 0"),
    "itself": (bars("1,A,A,no,50,1"), 3, "upper", "A", "a body other than"),
    "no name": (bars("1,,B,no,50,1"), 3, "lower", "", "a short name"),
    "long name": (bars("1," + "x" * 25 + ",B,no,50,1"), 3, "lower", "x" * 25, "1 to 24 characters"),
    "round": (bars("first,A,B,no,50,1"), 3, "round", "first", "a whole number"),
    "turned": (bars("1,A,B,perhaps,50,1"), 3, "turned", "perhaps", "yes or no"),
    "quarter of a bar": (bars("1,A,B,90,50,1"), 3, "turned", "90", "yes or no"),
    "decimal comma": (bars("1,A,B,no,50,0,5"), 3, "7", "5", "a point in decimals"),
    "quoted decimal comma": (bars('1,A,B,no,50,"0,5"'), 3, "gap_um", "0,5", "0.5"),
    "short row": (bars("1,A,B,no"), 3, "position_mm", "", "6 cells"),
    "semicolons below": (bars("1;A;B;no;50;1"), 3, "round", "1;A;B;no;50;1", "commas between cells"),
    "open quote": (bars('1,A,B,no,50,"1'), 3, "6", '1,A,B,no,50,"1', "without quotes"),
    "backwards": (light("1,A,B,no,50,50,30"), 3, "gap_at_most_um", "30", "from 50 to 30 um"),
    "no gap at all": (light("1,A,B,no,50,,"), 3, "gap_at_most_um", "", "a gap, or an interval"),
    "gap and interval": (
        b"lower,upper,position_mm,gap_um,gap_at_most_um\nA,B,0,1,2\n",
        2,
        "gap_um",
        "1",
        "either a gap",
    ),
    "spreadsheet": (b"PK\x03\x04" + bytes(50), 1, None, None, "binary"),
    "two million characters": (bars("1,A,B,no,50," + "9" * 2_000_000), 3, "gap_um", None, "at most 200 characters"),
    "ten thousand characters": (bars("1,A," + "B" * 10_000 + ",no,50,1"), 3, "upper", None, "at most 200 characters"),
    "hash for a name": (bars("1,A,#2,no,50,1"), 3, "upper", "#2", "does not begin with #"),
    "all bodies with hashes": (
        b"lower,upper,position_mm,gap_um\n#1,#2,0,1\n",
        2,
        None,
        None,
        "none that begins with #",
    ),
    "unit in another way": (
        GOOD.replace("position_mm", "position (mm)").encode(),
        1,
        "position (mm)",
        "position (mm)",
        "there must be position_mm or position_in.",
    ),
    "column without a name": (b"lower,upper,,position_mm,gap_um\nA,B,7,1,2\n", 1, "3", "", "a name over each column"),
    "name of spaces that do not break": (bars("1,\u00a0,B,no,50,1"), 3, "lower", "", "a short name"),
    "thousands": (bars("1,A,B,no,1\u00a0000,1"), 3, "position_mm", "1 000", "a number of millimetres"),
    "too large": ((GOOD + "1,A,B,no,50,1\n" * 90_000).encode(), None, None, None, "1 MB"),
    "plates by word": (
        b"lower,upper,turned,position_mm,y_mm,gap_um\nA,B,yes,0,0,1\n",
        2,
        "turned",
        "yes",
        "0, 90, 180 or 270",
    ),
    "plates by odd angle": (
        b"lower,upper,turned,position_mm,y_mm,gap_um\nA,B,45,0,0,1\n",
        2,
        "turned",
        "45",
        "0, 90, 180 or 270",
    ),
    "station twice": (
        b"line,station,x_mm,y_mm,reading_arcsec\na,0,0,0,\na,0,1,0,\n",
        3,
        "station",
        "0",
        "one row for each station",
    ),
    "station missing": (
        b"line,station,x_mm,y_mm,reading_arcsec\na,0,0,0,\na,2,1,0,1\n",
        2,
        "line",
        "a",
        "none missing",
    ),
    "step unread": (
        b"line,station,x_mm,y_mm,reading_arcsec\na,0,0,0,\na,1,1,0,\n",
        3,
        "reading_arcsec",
        "",
        "only station 0",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_bad_file_is_refused_in_one_sentence_that_names_the_place(case):
    data, row, column, value, allowed = REFUSED[case]
    with pytest.raises(ReadingsError) as refusal:
        read_readings(data, name="mine.csv")
    error, sentence = refusal.value, str(refusal.value)
    assert isinstance(error, ValueError)
    assert sentence.startswith("mine.csv") and sentence.endswith(".") and "\n" not in sentence
    assert len(sentence) < 450, "a long value is shown shortened"
    assert error.row == row and error.column == column
    assert row is None or f"row {row}" in sentence
    assert column is None or f"column {column}" in sentence
    if value is not None:
        assert error.value == value
        assert value in sentence or repr(value)[1:40] in sentence or value == ""
    assert allowed in sentence


@pytest.mark.parametrize("path", ["nowhere.csv", ".", "a\0b.csv"])
def test_a_path_that_cannot_be_read_is_refused(tmp_path, path):
    with pytest.raises(ReadingsError, match="cannot be read"):
        read_readings(str(tmp_path / path))
    with pytest.raises(ReadingsError, match="a path, bytes or an open file"):
        read_readings(7)


def test_every_way_of_handing_over_a_file_gives_the_same_table(tmp_path):
    path = tmp_path / "mine.csv"
    path.write_text(GOOD)
    with open(path, "rb") as binary, open(path) as text:
        ways = [
            read_readings(w)
            for w in (
                path,
                str(path),
                GOOD.encode(),
                memoryview(GOOD.encode()),
                binary,
                text,
                io.StringIO(GOOD),
                b"\xef\xbb\xbf" + GOOD.encode(),
                GOOD.replace("\n", "\r\n").encode(),
                GOOD.replace("\n", "\r").encode(),
            )
        ]
    assert len(ways) == 10
    for table in ways:
        assert table.kind == "bars" and table.names == ("A", "B") and table.row.tolist() == [2]
        assert table.gap_um.tolist() == [12.5] and table.turned.tolist() == [False]


AS_LEFT_BY = {
    "spaces that do not break": "lower,upper,position_mm\u00a0,gap_um\nBar\u00a01,B,-50,\u202f1\nBar 1,B,0,2\n",
    "marks that cannot be seen": "lower,upper,position_mm,gap_um\n\ufeffBar\u200b 1\u200e,B,-50,1\nBar 1,B,0,2\n",
    "spaces twice": "lower,upper,position_mm,gap_um\nBar  1,B,-50,1\nBar 1,B,0,2\n",
    "a minus as it is printed": "lower,upper,position_mm,gap_um\nBar 1,B,\u221250,1\nBar 1,B,0,2\n",
    "a dash for a minus": "lower,upper,position_mm,gap_um\nBar 1,B,\u201350,1\nBar 1,B,0,2\n",
    "all cells in quotes": '"lower","upper","position_mm","gap_um"\n"Bar 1","B","-50","1"\n"Bar 1","B","0","2"\n',
    "comments in quotes": (
        '"# bars, invented",,,\nlower,upper,position_mm,gap_um\nBar 1,B,-50,1\n"# cold, later",,,\nBar 1,B,0,2\n'
    ),
    "blank columns": "lower,upper,,position_mm,gap_um,,\nBar 1,B,,-50,1,,\n,,,,,,\n\u00a0,,,,,,\nBar 1,B,,0,2\n",
    "blank quoted cells": 'lower,upper,position_mm,gap_um\nBar 1,B,-50,1\n"","","",""\nBar 1,B,0,2\n',
    "a word for the spreadsheet": "sep=,\r\nlower,upper,position_mm,gap_um\r\nBar 1,B,-50,1\r\nBar 1,B,0,2\r\n",
    "two byte order marks": "\ufeff\ufefflower,upper,position_mm,gap_um\nBar 1,B,-50,1\nBar 1,B,0,2\n",
    "the other letter mu": "lower,upper,position_mm,gap_\u03bcm\nBar 1,B,-50,1\nBar 1,B,0,2\n",
}


@pytest.mark.parametrize("case", AS_LEFT_BY)
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_a_file_as_another_machine_left_it_reads_like_the_plain_one(case, end):
    table = read_readings(AS_LEFT_BY[case].replace("\r\n", "\n").replace("\n", end).encode())
    assert table.names == ("Bar 1", "B") and table.lower.tolist() == [0, 0]
    assert table.position_mm.tolist() == [-50, 0] and table.gap_um.tolist() == [1, 2]


def test_names_in_any_script_are_names_and_two_that_look_alike_are_one():
    # e with an accent as one sign and as two; a word of Persian with the joiner that it is spelt with
    table = read_readings(
        (
            'lower,upper,position_mm,gap_um\ne\u0301,\u5c3a,0,1\n\u00e9,\u0645\u06cc\u200c\u0632,0,1\n"A, '
            'left",\u00e9,0,1\n'
        ).encode()
    )
    assert table.names == ("\u00e9", "\u5c3a", "\u0645\u06cc\u200c\u0632", "A, left")
    with pytest.raises(ReadingsError, match="column lower.*a short name"):
        read_readings("lower,upper,position_mm,gap_um\n\u200d,B,0,1\n".encode())


def test_a_file_that_is_shut_or_gives_no_text_is_refused(tmp_path):
    (tmp_path / "mine.csv").write_text(GOOD)
    with open(tmp_path / "mine.csv", "rb") as shut:
        pass
    nothing = type("Nothing", (), {"read": lambda self, most: None})()
    broken = type("Broken", (), {"read": lambda self, most: (_ for _ in ()).throw(OSError(5, "Input/output error"))})()
    for file, said in ((shut, "closed"), (nothing, "it gave a NoneType"), (broken, "input/output error")):
        with pytest.raises(ReadingsError, match=f"cannot be read.*{said}"):
            read_readings(file)


def test_rows_keep_their_line_in_the_file_and_names_their_order():
    table = read_readings(b"# invented\nlower,upper,position_mm,gap_um,note\n\n# turn\nC,A,0,1,cold\nA,B,5,2,\n,,,,\n")
    assert table.row.tolist() == [5, 6]
    assert table.names == ("C", "A", "B")
    assert table.lower.tolist() == [0, 1] and table.upper.tolist() == [1, 2]
    assert table.round.tolist() == [1, 1]
    assert len(table.rows(table.position_mm > 1)) == 1


@pytest.mark.parametrize("column, factor", [("gap_um", 1), ("gap_mm", 1000), ("gap_thou", 25.4), ("gap_\u00b5m", 1)])
def test_gaps_are_turned_into_micrometres(column, factor):
    # one inch is 25.4 mm exactly (International yard and pound agreement, 1959)
    table = read_readings(f"lower,upper,position_in,{column}\nA,B,2,0.5\n".encode())
    assert table.gap_um[0] == pytest.approx(0.5 * factor, rel=1e-12)
    assert table.position_mm[0] == pytest.approx(50.8, rel=1e-12)


def test_intervals_are_kept_as_intervals():
    table = read_readings((PART + "1,A,B,no,0,,2.5\n1,A,B,no,10,30,50\n1,A,B,no,20,50,\n").encode())
    assert np.isnan(table.gap_um).all() and table.is_interval.all()
    assert table.low_um.tolist() == [0, 30, 50]
    assert table.high_um.tolist() == [2.5, 50, np.inf]
    mixed = read_readings(b"lower,upper,position_mm,gap_um,gap_at_most_um\nA,B,0,3,\nA,B,1,,2.5\n")
    assert mixed.is_interval.tolist() == [False, True]
    assert mixed.low_um.tolist() == [3, 0] and mixed.high_um.tolist() == [3, 2.5]


def test_plates_squares_and_levels_are_told_by_their_columns():
    plates = read_readings(b"lower,upper,turned,x_mm,y_mm,slide_x_mm,gap_um\nA,B,90,10,20,5,3\n")
    assert plates.kind == "plates" and plates.turned.tolist() == [90]
    assert (plates.position_mm[0], plates.y_mm[0], plates.slide_x_mm[0], plates.slide_y_mm[0]) == (10, 20, 5, 0)
    squares = read_readings(b"lower,upper,height_mm,gap_um\nA,B,10,3\n")
    assert squares.kind == "squares" and squares.position_mm.tolist() == [10]
    jack = read_readings(b"line,station,x_mm,y_mm,reading_arcsec\nd1,0,0,0,\nd1,1,100,100,-2.5\n")
    assert jack.kind == "level" and jack.line == ("d1", "d1") and jack.names == ("d1",)
    assert np.isnan(jack.reading_arcsec[0]) and jack.reading_arcsec[1] == -2.5


def test_no_byte_string_does_anything_but_load_or_refuse():
    from hypothesis import given, settings
    from hypothesis import strategies as st

    cells = st.sampled_from(["A", "B", "1", "no", "", "nan", '"', "-1", ";", "0,5", "\u00e9", "1e9", "\u0663", "#"])
    rows = st.lists(st.lists(cells, max_size=8).map(",".join), max_size=5).map("\n".join)
    met = []

    @settings(deadline=None, max_examples=50)
    @given(st.one_of(st.binary(max_size=60), rows.map(lambda r: (HEAD + r).encode())))
    def holds(data):
        met.append(1)
        try:
            assert len(read_readings(data)) > 0
        except ReadingsError as error:
            assert re.fullmatch(r"readings.*; (it|there) must be .*\.", str(error), re.DOTALL)

    holds()
    assert met
