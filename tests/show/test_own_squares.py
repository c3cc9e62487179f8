"""The learner's own squares: readings in three ways, angle, grade and wedge out, refusals in sentences, nothing
lost."""

import datetime
import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from simulate.readings.squares.solve_squares import solve_squares
from simulate.readings.squares.square_cut import square_cut
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import read_readings
from simulate.show.own.readings_panel import LIMIT_BYTES
from simulate.show.own.squares.own_squares import OwnSquaresPanel


@pytest.fixture
def panel():
    return OwnSquaresPanel()


def send(panel, data, name="mine.csv"):
    panel.upload.value = (
        {
            "name": name,
            "type": "text/csv",
            "size": len(data),
            "content": memoryview(data),
            "last_modified": datetime.datetime(2026, 1, 1),
        },
    )


def sheet(tops, names="ABCDEFG", heights=(0, 100)):
    rows = ["lower,upper,height_mm,gap_um"]
    for (i, j), top in tops.items():
        gap = top * np.array(heights) / heights[-1]
        rows += [f"{names[i]},{names[j]},{h},{g}" for h, g in zip(heights, gap - gap.min())]
    return "\n".join(rows).encode()


def test_the_demo_is_invented_and_says_so(panel):
    assert "# Invented readings" in Path(demo_path("demo_squares.csv")).read_text()
    assert panel.sentence.startswith("Demo file, invented readings. ")
    assert Image.open(io.BytesIO(panel.png)).size == (1280, 520)


def test_each_square_is_told_its_angle_how_sure_its_grade_and_its_wedge(panel):
    found = solve_squares(read_readings(demo_path("demo_squares.csv")))
    for name, urad, sd in zip(found.names, found.angle_urad, found.sd_urad):
        way = "over" if urad > 0 else "away from"
        assert (
            f"{name} leans {way} its base by {abs(urad):.0f} µm in a metre ± {found.factor_95 * sd:.0f} (95 %)"
            in panel.sentence
        )
        assert (
            f"Take {abs(urad) * 0.15:.{0 if abs(urad) * 0.15 > 9.95 else 1}f} µm off at its "
            f"{'bottom' if urad > 0 else 'top'}, running out to zero"
        ) in panel.sentence
    assert panel.sentence.count("(DIN 875)") == 3 and "take it as the gauge, file Ash first" in panel.sentence


def test_the_wedge_makes_a_square_upright():
    # derived: with the wedge off, three pairs read again show no gap
    found = solve_squares(read_readings(sheet({(0, 1): 30, (0, 2): -14, (1, 2): 22})))
    cuts = square_cut(found.names, found.angle_urad, found.sd_urad, 100.0)
    z = np.array([0.0, 100.0])
    left = []
    for urad, end, off in zip(found.angle_urad, cuts.at_foot, cuts.remove_um):
        face = -urad * z / 1000
        wedge = off * (1 - z / 100) if end else off * z / 100
        left.append(np.ptp(face - wedge))
    np.testing.assert_allclose(left, 0, atol=1e-9)


def test_what_the_readings_cannot_tell_from_square_is_left_alone(panel):
    panel.controls["reading_sd_um"].value = 1
    send(panel, sheet({(0, 1): 1, (0, 2): 0, (1, 2): 1}))
    assert (
        not panel.cuts.sure.any()
        and panel.sentence.count("File nothing yet: its error is within the uncertainty of the readings.") == 3
    )
    assert "Stop: file again only after finer readings." in panel.sentence


def test_an_uploaded_a_typed_and_a_named_file_are_solved(panel, tmp_path):
    data = sheet({(0, 1): 30, (0, 2): 20, (1, 2): -10})
    send(panel, data)
    np.testing.assert_allclose(panel.solution.angle_urad, [300, 0, -100], atol=1e-6)
    assert panel.message.value == "" and "invented" not in panel.sentence
    panel.typed.value = sheet({(0, 1): 10, (0, 2): 10, (1, 2): 10}).decode()
    panel.read_typed.click()
    np.testing.assert_allclose(panel.solution.angle_urad, 50, atol=1e-6)
    (tmp_path / "shop.csv").write_bytes(data)
    panel.path.value = str(tmp_path / "shop.csv")
    panel.read_path.click()
    np.testing.assert_allclose(panel.solution.angle_urad, [300, 0, -100], atol=1e-6)


def test_four_squares_and_a_blade_that_is_higher_than_the_slider_says(panel):
    tops = {(i, j): 10 * (i + j) for i in range(4) for j in range(i + 1, 4)}
    send(panel, sheet(tops, heights=(0, 200)))
    assert panel.message.value == "" and len(panel.solution.names) == 4
    assert "Gaps were read up to 200 mm, so the blades are taken to be that high." in panel.sentence


def test_a_bound_is_said_where_readings_are_intervals(panel):
    rows = ["lower,upper,height_mm,gap_at_least_um,gap_at_most_um"]
    rows += [f"{a},{b},{h},{low},{low + 2.5}" for a, b in ("AB", "AC", "BC") for h, low in ((0, 0), (100, 25))]
    send(panel, "\n".join(rows).encode())
    assert panel.sentence.count("and for certain between") == 3
    assert panel.sentence.count("(95 %: ") == 3 and panel.sentence.endswith("and feel are included.")


def test_an_earlier_round_can_be_looked_at_again(panel):
    one, two = (
        sheet(tops).decode().splitlines()
        for tops in ({(0, 1): 30, (0, 2): 20, (1, 2): 10}, {(0, 1): 3, (0, 2): 2, (1, 2): 1})
    )
    rows = ["round," + one[0], *("1," + row for row in one[1:]), *("2," + row for row in two[1:])]
    send(panel, "\n".join(rows).encode())
    assert panel.sentence.startswith("Round 2. A leans over its base by 20 µm in a metre")
    panel.controls["round_shown"].value = 1
    assert panel.sentence.startswith("Round 1. A leans over its base by 200 µm in a metre")
    send(panel, sheet({(0, 1): 4, (0, 2): 4, (1, 2): 4}))
    assert panel.message.value == "" and panel.controls["round_shown"].value == 0


BAD = {
    "two squares": (sheet({(0, 1): 30}), "a pair shows only the sum of its two angles"),
    "bars": (b"lower,upper,position_mm,gap_um\nA,B,0,1\nA,B,9,0\n", "there must be readings of squares"),
    "one height": (b"lower,upper,height_mm,gap_um\nA,B,9,1\nA,C,9,0\nB,C,9,0\n", "were read at one height only"),
    "seven": (
        sheet({(i, j): 10 for i in range(7) for j in range(i + 1, 7)}),
        "holds 7 squares; it must hold at most 6",
    ),
    "words": (b"lower,upper,height_mm,gap_um\nA,B,0,wide\n", "row 2, column gap_um"),
    "empty": (b"", "empty"),
    "large": (b"#" * (LIMIT_BYTES + 1), "at most 1 MB"),
}


@pytest.mark.parametrize(("data", "words"), BAD.values(), ids=BAD.keys())
def test_bad_readings_are_refused_and_what_was_there_stays(panel, data, words):
    picture, sentence, solution = panel.picture.value, panel.sentence, panel.solution
    send(panel, data)
    assert "Not possible: " in panel.message.value and words in panel.message.value
    assert panel.picture.value == picture and panel.sentence == sentence and panel.solution is solution
    panel.controls["reading_sd_um"].value = 3
    assert (
        panel.message.value == ""
        and "Ash" in panel.sentence
        and "Repeatability of one gap: 3.0 µm, as given." in panel.sentence
    )


def test_both_sliders_answer_at_both_ends_in_both_units():
    swept = 0
    for units in ("mm", "inch"):
        panel = OwnSquaresPanel(units=units)
        assert ("thou in a foot" in panel.sentence) == (units == "inch")
        for name in ("blade_mm", "reading_sd_um"):
            widget, said = panel.controls[name], set()
            for value in (widget.min, widget.max):
                widget.value = value
                assert panel.message.value == ""
                said.add(panel.sentence)
            assert len(said) == 2
            swept += 1
    assert swept == 4
