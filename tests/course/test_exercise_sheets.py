"""Exercises on paper: every question of the lessons asked for, with the student's own figures, and a key that fits."""

import io
import re
import unicodedata

from pypdf import PdfReader

from simulate.__main__ import main
from simulate.course.classroom.class_list import answer_key, class_set, exercises_of
from simulate.course.classroom.exercise_sheets import key_pdf, sheet_pdf
from simulate.course.exercise.exercise import lessons
from simulate.course.exercise.pre_question import asked
from simulate.course.notebook.manifest import lesson_of
from simulate.course.publish.paper import plain
from simulate.show.units.switch import in_both

NAMES = ["A. Student", "B. Student"]
MARKUP = re.compile(r"[#*`$<>]|\]\(|__[a-z]|&[a-z]+;|\\")


def squeezed(text):
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text))


def pages_of(data):
    return [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]


def test_a_sheet_asks_every_question_of_every_lesson_on_one_page_each_and_without_markup():
    word = class_set(NAMES, 7)["A. Student"]
    pages = pages_of(sheet_pdf("A. Student", word))
    whole = [squeezed(page) for page in pages]
    looked = 0
    for _, name in exercises_of():
        question = asked(name, word)
        parts = [question.text, *question.options] + (
            [] if question.options else [f"Answer: {'_' * 20} {question.unit}"]
        )
        assert any(all(squeezed(part) in page for part in parts) for page in whole), name
        looked += 1
    assert looked > 150 and len(pages) < looked / 3
    for page in pages:
        assert not MARKUP.search(page.replace("_" * 20, "")), MARKUP.search(page)
        assert len(page.split("\n")[-2]) > 0 and f"Exercises of {word}, page" in page


def test_no_lesson_s_head_stands_alone_at_the_end_of_a_page():
    pages = pages_of(sheet_pdf("A. Student", "bumesu"))
    for one in lessons():
        head = f"{one} {plain(lesson_of(one).title())}"
        assert sum(head in page for page in pages) == 1, head
        after = next(page.split(head)[1] for page in pages if head in page)
        assert after.strip().startswith("Before the lesson, as you think now"), head


def test_the_key_has_a_row_for_every_question_of_every_student_and_the_letter_that_the_sheet_has():
    key = squeezed(" ".join(pages_of(key_pdf(NAMES, 7, ["03", "04"]))))
    rows = answer_key(NAMES, 7, ["03", "04"])
    letters = 0
    for row in rows:
        if options := asked(row.exercise, row.word).options:
            letter = "abcdef"[options.index(row.answer)]
            assert squeezed(f"{row.exercise} ({letter}) {row.answer}") in key
            sheet = squeezed(" ".join(pages_of(sheet_pdf(row.name, row.word, [row.lesson]))))
            assert squeezed(f"({letter}) {row.answer}") in sheet
            letters += 1
        else:
            assert squeezed(f"{row.exercise} {row.answer} ± {row.tolerance} {row.unit}") in key
    assert len(rows) == 24 and letters == 6
    assert not MARKUP.search(" ".join(pages_of(key_pdf(NAMES, 7))))


def test_with_inches_the_answer_is_asked_in_the_unit_of_the_key():
    sheet = " ".join(pages_of(sheet_pdf("A. Student", "bumesu", ["03"], "inch")))
    assert re.search(r"_{20} thou", sheet) and not re.search(r"_{20} µm", sheet)
    assert squeezed(in_both(asked("two-gap", "bumesu").text, "inch")) in squeezed(sheet)


def test_the_command_writes_a_sheet_a_student_and_the_key_beside_their_folder(tmp_path, capsys):
    (tmp_path / "class.csv").write_text("name\nA. Student\nB. Student\n", encoding="utf-8")
    where = [str(tmp_path / "class.csv"), "7", str(tmp_path / "sheets")]
    assert main(["class", "sheets", *where, "--lessons", "03"]) == 0
    words = class_set(NAMES, 7).values()
    assert sorted(p.name for p in (tmp_path / "sheets").iterdir()) == sorted(f"{word}.pdf" for word in words)
    assert "2 sheets written" in capsys.readouterr().out and (tmp_path / "sheets_key.pdf").exists()
    assert main(["class", "sheets", *where[:2], str(tmp_path / "other"), "--lessons", "77"]) == 2
    assert "77" in capsys.readouterr().err and not (tmp_path / "other").exists()
