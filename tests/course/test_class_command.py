"""The command that an instructor types: what it keeps, what it refuses, and in which words."""

import csv
import io
import zipfile

import pytest

from simulate.__main__ import main
from simulate.core.refusal import Refusal
from simulate.course.classroom.class_list import class_set, read_class
from simulate.course.classroom.hand_out import is_there
from simulate.course.classroom.tables import cell


def words_of(place):
    with open(place / "words.csv", encoding="utf-8-sig", newline="") as file:
        return {row["name"]: row["word"] for row in csv.DictReader(file)}


def make_set(place, names, *more, seed="a seed"):
    (place / "class.csv").write_text("name\n" + "\n".join(names) + "\n", encoding="utf-8")
    return main(["class", "set", str(place / "class.csv"), seed, str(place / "students"), "--lessons", "03", *more])


def test_a_list_of_the_late_joiner_alone_takes_nobody_out_of_the_words(tmp_path):
    first = ["Invented One", "=1+1"]
    assert make_set(tmp_path, first) == 0
    assert make_set(tmp_path, ["Late Joiner"], "--add") == 0
    made = class_set([*first, "Late Joiner"], "a seed")
    assert words_of(tmp_path) == {cell(name): word for name, word in made.items()}
    assert make_set(tmp_path, ["=1+1", "Late Joiner"], "--add", "--semicolon") == 0
    assert len((tmp_path / "words.csv").read_text(encoding="utf-8-sig").splitlines()) == 4


def test_another_seed_is_refused_before_a_second_set_lies_beside_the_first(tmp_path, capsys):
    assert make_set(tmp_path, ["Invented One"]) == 0
    before = sorted(tmp_path.rglob("*"))
    assert make_set(tmp_path, ["Invented One", "Late Joiner"], "--add", seed="a sed") == 2
    said = capsys.readouterr().err
    assert f"words.csv is '{class_set(['Invented One'], 'a seed')['Invented One']}'" in said
    assert "Take the seed of the set that is there" in said
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("act", ["key", "mark", "points"])
def test_no_act_writes_over_the_class_list(tmp_path, capsys, act):
    (tmp_path / "class.csv").write_text("name\nInvented One\n")
    (tmp_path / "inbox").mkdir()
    (tmp_path / "inbox" / "a.ipynb").write_text("{}")
    folder = [] if act == "key" else [str(tmp_path / "inbox")]
    assert (
        main(["class", act, *folder, str(tmp_path / "class.csv"), "1", str(tmp_path / "inbox" / ".." / "class.csv")])
        == 2
    )
    assert "is the class list itself; it must be another file" in capsys.readouterr().err
    assert (tmp_path / "class.csv").read_text() == "name\nInvented One\n"


def packed():
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as file:
        file.writestr("content.xml", "<name>Invented One</name>")
    return made.getvalue()


@pytest.mark.parametrize(
    "data", [packed(), b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(504), b"%PDF-1.4\n%\xe2\x01\n1 0 obj"]
)
def test_a_spreadsheets_own_file_is_no_list_of_names(tmp_path, data):
    (tmp_path / "class.xlsx").write_bytes(data)
    with pytest.raises(Refusal, match=r"class\.xlsx is not text; .* choose Save As, and there CSV"):
        read_class(tmp_path / "class.xlsx")
    (tmp_path / "class.csv").write_bytes("PK Invented\nÜnal\tInvented\n".encode("cp1252"))
    assert read_class(tmp_path / "class.csv") == ("PK Invented", "Ünal Invented")


@pytest.mark.parametrize("act", ["set", "summary", "feedback"])
def test_a_file_in_the_place_of_a_folder_is_said_in_a_sentence(tmp_path, capsys, act):
    (tmp_path / "class.csv").write_text("name\nInvented One\n")
    (tmp_path / "inbox").mkdir()
    (tmp_path / "inbox" / "a.ipynb").write_text("{}")
    (tmp_path / "taken").write_text("a file")
    folder = [] if act == "set" else [str(tmp_path / "inbox")]
    assert (
        main(["class", act, *folder, str(tmp_path / "class.csv"), "1", str(tmp_path / "taken"), "--lessons", "03"]) == 2
    )
    assert "cannot be made a folder" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("option", "said"),
    [
        (["--late", "7"], "'7' is not a number from 0 to 1"),
        (["--late", "nan"], "'nan' is not a number from 0 to 1"),
        (["--weights", "1,x"], "'x' is not a number from 0 to 1000"),
        (["--until", "2026-31-01"], "'2026-31-01' is not a time such as 2026-01-31T12:00"),
        (["--add"], "unrecognized arguments: --add"),
    ],
)
def test_an_option_that_is_none_is_refused_with_what_it_takes(capsys, option, said):
    with pytest.raises(SystemExit) as ended:
        main(["class", "points", "inbox", "class.csv", "1", "points.csv", *option])
    assert ended.value.code == 2 and said in capsys.readouterr().err


def test_lessons_that_are_none_are_refused(tmp_path, capsys):
    (tmp_path / "class.csv").write_text("name\nInvented One\n")
    assert main(["class", "key", str(tmp_path / "class.csv"), "1", str(tmp_path / "key.csv"), "--lessons", "3"]) == 2
    assert "lesson is '3'" in capsys.readouterr().err


def test_a_table_with_semicolons_opens_without_formulas_where_commas_part_the_cells():
    assert cell("x,=1+1,-y", semicolon=True) == "x,'=1+1,'-y"
    assert cell("0, -5 and 3") == "0, -5 and 3"  # quoted, where a spreadsheet parts at commas
    assert cell(-0.5, semicolon=True) == "-0,5"


def test_a_lesson_that_was_handed_out_under_an_earlier_number_is_there(tmp_path):
    (tmp_path / "07_three_points_to_seven.ipynb").write_text("{}")
    assert is_there(tmp_path / "08_three_points_to_seven.ipynb")
    assert not is_there(tmp_path / "07_three_small_gauges.ipynb") and not is_there(tmp_path / "08_three.ipynb")
