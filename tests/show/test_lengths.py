"""Inches beside the lengths of a text: figures by hand, one rule, and no lesson that leaves a length without them."""

import re
from decimal import Decimal
from pathlib import Path

import nbformat
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulate.course.exercise.exercise import names, question
from simulate.show.units.lengths import FACTORS, script, with_inches

LESSONS = sorted((Path(__file__).resolve().parents[2] / "lessons").glob("*.ipynb"))
METRIC = re.compile(
    r"(?<![\w.])[0-9]+(?:\.[0-9]+)?[ \n](?:µm|μm|um|nm|mm|cm|m|millimetres?|micrometres?|metres?)(?:[²³])?(?![\w/])"
)
# What stays: arithmetic, which is turned at its result, and a line that gives thou itself.
STAYS = {"0.05 mm =", "0.10 mm =", "0.25 mm ="}


@pytest.mark.parametrize(
    "said, both",
    [
        ("from 0.2 to 0.5 mm", "from 0.2 to 0.5 mm (0.00787 to 0.0197 in)"),
        ("3, 4 or 6 µm?", "3, 4 or 6 µm (0.118, 0.157 or 0.236 thou)?"),
        ("a plate of 400 × 250 mm", "a plate of 400 × 250 mm (15.7 × 9.84 in)"),
        ("at x -152.4, y -76.2 mm", "at x -152.4, y -76.2 mm (-6, y -3 in)"),
        ("a bar of 600 by 40 mm", "a bar of 600 by 40 mm (23.6 by 1.57 in)"),
        ("known to ± 3.5 µm", "known to ± 3.5 µm (± 0.138 thou)"),
        ("+0.03 ± 0.39 µm", "+0.03 ± 0.39 µm (+0.00118 ± 0.0154 thou)"),
        ("leans by 900 µm in a\nmetre.", "leans by 900 µm in a\nmetre (10.8 thou in a foot)."),
        ("turn -138 µm/m ± 8", "turn -138 µm/m (-1.66 thou in a foot) ± 8"),
        ("2 µm a pass", "2 µm (0.0787 thou) a pass"),
        ("the 0.10 mm feeler", "the 0.10 mm (0.00394 in) feeler"),
        ("a room of 3 m", "a room of 3 m (9.84 ft)"),
        ("25 mm", "25 mm (0.984 in)"),
        ("1 inch is 25.4 mm", "1 inch is 25.4 mm (1 in)"),
        ("10 cm³ and 13 mm³", "10 cm³ (0.61 in³) and 13 mm³ (0.000793 in³)"),
        (
            "0.0000115 × 1 × 500² / (8 × 40) mm = 0.009 mm",
            "0.0000115 × 1 × 500² / (8 × 40) mm = 0.009 mm (0.000354 in)",
        ),
        ("2 × 900 µm", "2 × 900 µm (35.4 thou)"),
        ("0, 6 + 25, 50 µm", "0, 6 + 25, 50 µm (1.97 thou)"),
        ("6 × 6 = 36 µm", "6 × 6 = 36 µm (1.42 thou)"),
        ("on bar 3, 5 µm proud", "on bar 3, 5 µm (0.197 thou) proud"),
        ("worst bar 500.0, 13.9 µm", "worst bar 500.0, 13.9 µm (19.7, 0.547 thou)"),
        ("bars number 1, 200 µm out", "bars number 1, 200 µm (7.87 thou) out"),
        ("stations 2, 3 and 5 µm", "stations 2, 3 and 5 µm (0.197 thou)"),
        ("row 3, 12.7 µm", "row 3, 12.7 µm (0.5 thou)"),
        ("Lesson 4, 12.7 µm", "Lesson 4, 12.7 µm (0.5 thou)"),
        ("in 2021, 25.4 µm", "in 2021, 25.4 µm (1 thou)"),
        ("Bars 1 and 2, 5 and 10 µm", "Bars 1 and 2, 5 and 10 µm (0.394 thou)"),
        ("from 20–50 µm", "from 20–50 µm (0.787–1.97 thou)"),
        ("1 000 mm and 1\u202f000 mm", "1 000 mm and 1\u202f000 mm"),
        ("sure to ± 8.64 um", "sure to ± 8.64 um (± 0.34 thou)"),
        ("28.575 mm", "28.575 mm (1.13 in)"),
        ("254 m", "254 m (833 ft)"),
        ("12 minutes, 20 °C, 3 K, 5 per mm, 12 µm/K", "12 minutes, 20 °C, 3 K, 5 per mm, 12 µm/K"),
        ("50 µm = 1.97 thou", "50 µm = 1.97 thou"),
        ("DIN 876 and lesson 07", "DIN 876 and lesson 07"),
    ],
)
def test_inches_beside_the_lengths_of_a_text_by_hand(said, both):
    assert with_inches(said) == both


def test_an_inch_is_what_the_agreement_of_1959_says():
    """International yard and pound agreement, 1959: 1 inch is 25.4 mm exactly."""
    assert FACTORS["mm"] == (25.4, "in") and FACTORS["µm"] == (25.4, "thou")
    assert (
        Decimal(str(FACTORS["mm³"][0])) == Decimal("25.4") ** 3
        and Decimal(str(FACTORS["mm²"][0])) == Decimal("25.4") ** 2
    )
    assert Decimal(str(FACTORS["m"][0])) == 12 * Decimal("0.0254")
    assert FACTORS["slope"][0] == pytest.approx(
        1e6 / 12_000, rel=1e-12
    )  # 1 thou in a foot is 1 in 12 000, 1 µm/m is 1 in 1 000 000


FIGURES = st.decimals(min_value="0.01", max_value="9999", places=2).map(str)


@given(FIGURES, st.sampled_from(["µm", "mm", "um", "m", "mm³"]), st.sampled_from(["", "+", "-", "± ", "−"]))
def test_every_figure_comes_out_to_three_places_and_only_once(figure, unit, sign):
    text = f"It is {sign}{figure} {unit} there."
    both = with_inches(text)
    found = re.fullmatch(
        rf"It is {re.escape(sign)}{figure} {unit} \((?:± )?[-+]?([0-9.]+) ({'thou|in³|in|ft'})\) there\.", both
    )
    assert found, both
    assert float(found[1]) == pytest.approx(float(figure) / FACTORS[unit][0], rel=0.00501)
    assert len(found[1].replace(".", "").strip("0")) <= 3
    assert with_inches(both) == both


@given(st.text(st.sampled_from("0123456789 .,+-−±×()=/µumnc³²\nandorby")))
def test_no_text_loses_anything_and_none_is_turned_twice(text):
    both = with_inches(text)
    assert with_inches(both) == both
    left = iter(both)
    assert all(letter in left for letter in text)


def left_metric(text):
    """Lengths that have no inch figure beside them."""
    both = with_inches(text)
    found = []
    for m in METRIC.finditer(both):
        after = both[m.end() : m.end() + 90]
        if not re.match(r"(?:[ \n]in[ \n]a[ \n]metre)? \([^()]*(?:thou|in|ft|in²|in³|foot)\)", after) and not re.match(
            r"[ ]*= *[0-9.]+ thou", after
        ):
            found.append(m[0] + after[:2])
    return [f for f in found if f not in STAYS]


def printed(cell):
    return [
        "".join(o.get("text") or o.get("data", {}).get("text/plain", ""))
        for o in cell.get("outputs", ())
        if "image/png" not in o.get("data", {})
    ]


@pytest.mark.parametrize("path", LESSONS, ids=lambda p: p.stem)
def test_no_lesson_leaves_a_length_without_inches(path):
    looked = 0
    for cell in nbformat.read(path, as_version=4).cells:
        for text in [cell.source] if cell.cell_type == "markdown" else printed(cell):
            assert left_metric(text) == [], text
            looked += 1
    assert looked >= 10


BARE = re.compile(r"^ *[-+]?[0-9.]+(?: {2,}[-+±0-9., ]+)+$|[0-9] +[0-9.]+ +[0-9.]+ (?:µm|mm)\b", re.M)
"""A row of bare figures under a heading, or figures side by side of which only the last would be turned."""


@pytest.mark.parametrize("path", LESSONS, ids=lambda p: p.stem)
def test_no_printed_figure_has_its_unit_only_in_a_heading(path):
    looked = 0
    for cell in nbformat.read(path, as_version=4).cells:
        for text in printed(cell) if cell.cell_type == "code" else ():
            assert not BARE.search(text), text
            looked += 1
    assert looked >= 3


def test_the_look_for_bare_figures_sees_a_table_and_a_row():
    assert BARE.search("sees  floor (µm)\n  1.0    1.5   24.4") and BARE.search("worst bar 250 250 250 µm")
    assert not BARE.search("eye sees 1.0 µm, floor 1.5 µm: 24.4, 0.8 µm\n 6 steps: 9.0 µm")


def test_no_question_leaves_a_length_without_inches():
    looked = 0
    for name in names():
        q = question(name, "inch")
        for text in (q.text, q.why, *q.options, *(w.hint for w in q.wrong)):
            assert left_metric(text) == [], (name, text)
            looked += 1
    assert looked > 500


def test_the_scan_sees_a_length_that_was_left():
    assert left_metric("so (8 × 40) mm, 5 mm/s") == []
    assert "1/2 mm" in with_inches("1/2 mm") and left_metric("1/2 mm,") == ["2 mm,"]


def test_the_script_carries_the_rule_and_ends_no_tag():
    text = script()
    assert "RULE" not in text and "</" not in text and len(text) < 12_000
