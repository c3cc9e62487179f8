"""Slips of the pen: what is understood is said, what is suspected is said aloud, and honest readings are left in
peace."""

from dataclasses import replace

import numpy as np
import pytest
import workshops_read as made
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from simulate.core.refusal import Refusal
from simulate.readings.findings import findings
from simulate.readings.logbook.entry import Entry
from simulate.readings.logbook.log_findings import log_findings
from simulate.readings.slips.suspicion import slips_of, suspected
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import read_readings
from simulate.readings.table.readings import ReadingsError
from simulate.readings.table.slip_record import SLIPS, Slip

HEAD = "lower,upper,turned,position_mm,gap_um"
GAPS = {("A", "B"): (0, 12, 40.5, 9), ("A", "C"): (3, 0, 22, 31), ("B", "C"): (8, 0, 15, 60)}
PLAIN = "\n".join(
    [
        HEAD,
        *(f"{a},{b},no,{x},{g}" for (a, b), gaps in GAPS.items() for x, g in zip((0, 100, 200, 300), gaps)),
    ]
)


def with_row(k, row):
    lines = PLAIN.split("\n")
    lines[k] = row
    return "\n".join(lines)


def merged(*columns):
    """The same table as a spreadsheet gives it where the names are merged cells."""
    rows, above = [line.split(",") for line in PLAIN.split("\n")], {}
    for row in rows[1:]:
        key = tuple(row[k] for k in columns)
        if key == above.get("key"):
            for k in columns:
                row[k] = ""
        above["key"] = key
    return "\n".join(",".join(row) for row in rows)


def semicolons(text, decimal=","):
    return text.replace(",", ";").replace(".", decimal)


# what was written -> kinds of slip, rows of the first, words of its sentence; the table is then that of PLAIN
UNDERSTOOD = {
    "as it should be": (PLAIN, [], (), ""),
    "semicolons": (semicolons(PLAIN), ["decimal comma"], (), "separated by semicolons"),
    "semicolons and points": (semicolons(PLAIN, "."), [], (), ""),
    "tabs and commas": (PLAIN.replace(",", "\t").replace(".", ","), ["decimal comma"], (), "separated by tabs"),
    "tabs and points": (PLAIN.replace(",", "\t"), [], (), ""),
    "a line for the spreadsheet": ("sep=;\n" + semicolons(PLAIN), ["decimal comma"], (), ""),
    "title": (
        "Bars of the long bench,,,,\n" + PLAIN,
        ["title row"],
        (1,),
        "Row 1 above the header is taken for a title.",
    ),
    "two titles": ("My bars\n26 November; cold\n" + PLAIN, ["title row"], (1, 2), "Rows 1 and 2 above"),
    "title and semicolons": ("My bars;;;;\n;;;;\n" + semicolons(PLAIN), ["decimal comma", "title row"], (), ""),
    "units row": (PLAIN.replace(HEAD, HEAD + "\n,,yes/no,mm,\u00b5m"), ["units row"], (2,), "taken for the units"),
    "units in brackets": (PLAIN.replace(HEAD, HEAD + "\n-,-,-,[mm],(um)"), ["units row"], (2,), ""),
    "units only there": (PLAIN.replace(HEAD, "lower,upper,turned,position,gap\n,,,mm,um"), ["units row"], (2,), ""),
    "merged pairs": (merged(0, 1), ["merged cells", "merged cells"], (3, 4, 5, 7, 8, 9, 11, 12, 13), "have no lower"),
    "merged lower": (merged(0), ["merged cells"], (3, 4, 5, 6, 7, 8, 9, 11, 12, 13), "merged cells"),
    "one name left out": (with_row(3, ",B,no,200,40.5"), ["merged cells"], (4,), "Row 4 has no lower"),
    "capitals": (PLAIN.replace("A,C", "a,C"), ["names joined"], (6, 7, 8, 9), "'A' and 'a' were taken as one name"),
    "blanks": (
        PLAIN.replace("A,", "Bar 1,").replace("Bar 1,C", "bar1 ,C"),
        ["names joined"],
        (6, 7, 8, 9),
        "'Bar 1' and 'bar1'",
    ),
    "utf-16": (PLAIN.encode("utf-16"), ["encoding"], (), "UTF-16"),
    "utf-16 without a mark": (PLAIN.encode("utf-16-be"), ["encoding"], (), "UTF-16"),
    "cp1252": (PLAIN.replace("gap_um", "gap_\u00b5m").encode("cp1252"), ["encoding"], (), "Windows-1252"),
}


def names_aside(table):
    return {
        key: np.asarray(value).tolist()
        for key, value in vars(table).items()
        if key not in ("row", "source", "names", "slips") and value is not None
    }


@pytest.mark.parametrize("case", UNDERSTOOD)
def test_what_was_meant_is_read_and_said(case):
    text, kinds, rows, words = UNDERSTOOD[case]
    table = read_readings(text if isinstance(text, bytes) else text.encode())
    assert [slip.kind for slip in table.slips] == kinds
    assert names_aside(table) == names_aside(read_readings(PLAIN.encode()))
    if rows:
        assert table.slips[0].rows == rows
    assert words in " ".join(slip.sentence for slip in table.slips)


# what a pencil writes into a gap cell -> ends in um
CELLS = {
    "0.05-0.06": (0.05, 0.06),
    "50\u2013100": (50, 100),
    "50 - 100": (50, 100),
    "50 to 100": (50, 100),
    "<30": (0, 30),
    "\u2264 30": (0, 30),
    ">1000": (1000, np.inf),
    "> 1000": (1000, np.inf),
    "dark": (0, 2.5),
    "Dark": (0, 2.5),
    "12": (12, 12),
    "1e-5": (1e-5, 1e-5),
}


@pytest.mark.parametrize("cell", CELLS)
def test_a_gap_cell_in_words_is_an_interval(cell):
    table = read_readings(with_row(2, f"A,B,no,100,{cell}").encode())
    assert (table.low_um[1], table.high_um[1]) == pytest.approx(CELLS[cell])
    kind = [] if CELLS[cell][0] == CELLS[cell][1] else ["dark" if cell.lower() == "dark" else "interval"]
    assert [(slip.kind, slip.rows) for slip in table.slips] == [(one, (3,)) for one in kind]


def test_dark_is_what_the_file_or_the_caller_says_in_the_units_of_the_column():
    text = PLAIN.replace("gap_um", "gap_mm").replace(",0\n", ",dark\n")
    assert read_readings(text.encode()).high_um.min() == pytest.approx(2.5)
    assert read_readings(("# dark_um: 1.5\n" + text).encode()).high_um.min() == pytest.approx(1.5)
    assert read_readings(text.encode(), dark_um=4.0).high_um.min() == pytest.approx(4.0)
    (slip,) = read_readings(("# dark_um: 1.5\n" + text).encode()).slips
    assert slip.figure == 1.5 and slip.sentence.startswith(
        "Rows 3, 8 and 12: 'dark' is taken as a gap of at most 1.5 um. Give"
    )


def test_intervals_join_columns_that_are_there_and_inches_may_be_fractions():
    table = read_readings(
        b"lower,upper,position_in,gap_at_least_um,gap_at_most_um,gap_um\nA,B,1/4,1,2,\nA,B,1 1/2,,,<30\nA,B,2,,,7\n"
    )
    assert table.position_mm.tolist() == [6.35, 38.1, 50.8]
    assert table.low_um.tolist() == [1, 0, 7] and table.high_um.tolist() == [2, 30, 7]


# in doubt -> words of the refusal
DOUBT = {
    "other units below": (PLAIN.replace(HEAD, HEAD + "\n,,,mm,thou"), "units that are not those of the header"),
    "merged or forgotten": (with_row(5, "A,,no,0,3"), "merged block"),
    "a date": (with_row(2, "A,B,no,100,05-Oct"), "a date that a spreadsheet made of an interval"),
    "thousands or decimals": (PLAIN.replace(",", "\t").replace("40.5", "1,234"), "with a point in decimals: 1.234"),
    "points and commas": (semicolons(PLAIN).replace("22", "22.5"), "with a point in decimals"),
    "backwards": (with_row(2, "A,B,no,100,100-50"), "Correct that cell"),
    "against itself in capitals": (
        PLAIN.replace("A,B", "A,a").replace("B,C", "a,C") + "\nA,A,no,0,1",
        "lie against itself",
    ),
}


@pytest.mark.parametrize("case", DOUBT)
def test_what_is_in_doubt_is_refused_with_the_cause_and_what_to_do(case):
    text, words = DOUBT[case]
    with pytest.raises(Refusal) as refusal:
        read_readings(text.encode())
    assert words in str(refusal.value) and refusal.value.do


def test_two_names_that_lie_on_each_other_are_two_bodies():
    table = read_readings(PLAIN.replace("A,B", "A,a").replace("B,C", "a,C").encode())
    assert table.names == ("A", "a", "C") and not table.slips


def bars(rng, *, size_um=None, sd_um=None, feelers=False, fits=None, wrong=(), shift=None, in_mm=None):
    """Three bars of random shape, read honestly save for what is asked for."""
    n, length = int(rng.integers(6, 13)), float(rng.choice([300, 400, 600]))
    x, u = np.linspace(0, length, n).round(1), np.linspace(-1, 1, n)
    size = 10 ** rng.uniform(0.3, 2.3) if size_um is None else size_um
    sd = 10 ** rng.uniform(-0.3, 0.7) if sd_um is None else sd_um
    shapes = [
        size
        * (rng.normal() * u**2 + rng.normal() * 0.7 * u**3 + rng.normal() * 0.3 * np.cos(3 * u + rng.uniform(0, 6)))
        for _ in range(3)
    ]
    extra = [(0, 1, True), (0, 2, True), (1, 2, True), (0, 2, False)]
    chosen = [extra[k] for k in rng.permutation(4)[: rng.integers(0, 3)]]
    blades = np.array([0, 2.5, 30, 40, 50, 60, 80, 100, 150, 200, 300, 400, 500, 1000.0, 5000.0])
    rows = [HEAD + ",gap_at_least_um,gap_at_most_um"]
    for k, (a, b, turned) in enumerate(
        [(0, 1, False), (0, 2, False), (1, 2, False), *chosen] if fits is None else fits
    ):
        gap = -(shapes[a] + (shapes[b][::-1] if turned else shapes[b]))
        gap = (gap - gap.min() + rng.normal(0, sd, n)).clip(0) / (1000 if k == in_mm else 1)
        for at, one in zip(x + (10 if k == shift else 0), gap):
            place = int(np.searchsorted(blades, one, side="right"))
            read = (
                f",{blades[place - 1]:g},{blades[place]:g}"
                if feelers
                else f"{one:.1f},,"
                if k != in_mm
                else f"{one:.4f},,"
            )
            rows.append(f"{'ABC'[a]},{'ABC'[b]},{'yes' if turned ^ (k in wrong) else 'no'},{at:g},{read}")
    return "\n".join(rows).encode()


FIVE = [(0, 1, False), (0, 2, False), (1, 2, False), (0, 1, True), (1, 2, True)]


@pytest.mark.parametrize("feelers", [False, True])
def test_honest_readings_are_suspected_in_less_than_two_of_a_hundred(feelers):
    found = [
        slip
        for seed in range(150)
        for slip in suspected(read_readings(bars(np.random.default_rng(seed), feelers=feelers)))
    ]
    assert len(found) <= 3, found


@pytest.mark.long
@pytest.mark.parametrize("feelers", [False, True])
def test_honest_readings_are_suspected_in_less_than_two_of_a_hundred_of_two_thousand(feelers):
    found = [
        slip
        for seed in range(2000)
        for slip in suspected(read_readings(bars(np.random.default_rng(seed), feelers=feelers)))
    ]
    assert len(found) <= 40, found


@pytest.mark.parametrize("wrong, names", [((3,), {"B on A"}), ((4,), {"C on B"}), ((1,), {"C on A"})])
def test_a_flag_that_is_wrong_is_named(wrong, names):
    said = []
    for seed in range(40):
        found = suspected(read_readings(bars(np.random.default_rng(seed), size_um=60, sd_um=2, fits=FIVE, wrong=wrong)))
        said += [slip.what for slip in found if slip.kind == "turned"]
    assert len(said) >= 30 and sum(one in names for one in said) >= 0.9 * len(said)


def test_all_flags_the_other_way_are_named():
    kinds = [
        slip.kind
        for seed in range(30)
        for slip in suspected(
            read_readings(bars(np.random.default_rng(seed), size_um=60, sd_um=1, fits=FIVE, wrong=range(5)))
        )
    ]
    assert kinds.count("all turned") >= 20


def test_stations_shifted_in_one_pair_are_named_where_the_bars_are_refused():
    text = bars(np.random.default_rng(1), size_um=60, sd_um=1, shift=1)
    (slip,) = [one for one in suspected(read_readings(text)) if one.kind == "shifted"]
    assert (slip.what, slip.figure, slip.way) == ("C on A", 10.0, "beyond")
    with pytest.raises(Refusal, match="The stations of C on A all lie 10 mm beyond those of the others"):
        findings(read_readings(text))


def test_millimetres_among_micrometres_are_suspected():
    whole = suspected(read_readings(bars(np.random.default_rng(2), size_um=0.05, sd_um=0.001)))
    assert [slip.kind for slip in whole] == ["too small"] and "call the column gap_mm" in whole[0].sentence
    for seed in range(20):
        found = suspected(read_readings(bars(np.random.default_rng(seed), size_um=80, sd_um=1, fits=FIVE[:3], in_mm=2)))
        assert [(slip.kind, slip.what) for slip in found] == [("pair too small", "C on B")]
    lands = b"gauge,left_mm,middle_mm,right_mm,proud_um\ng,0,100,200,0.01\ng,100,200,300,-0.02\n"
    assert [slip.kind for slip in suspected(read_readings(lands))] == ["too small"]
    assert [slip.kind for slip in suspected(read_readings(PLAIN.replace("gap_um", "gap_mm").encode()))] == ["too large"]
    assert not suspected(read_readings(PLAIN.encode()))


@pytest.mark.parametrize(
    "text, column",
    [
        ("lower,upper,height_in,gap_thou\nA,B,0,0\nA,B,4,0.0046\n", "gap_in"),
        ("lower,upper,height_in,gap_in\nA,B,0,1.2\nA,B,4,4.6\n", "gap_thou"),
        ("gauge,left_in,middle_in,right_in,proud_thou\ng,0,4,8,0.001\ng,4,8,12,-0.002\n", "proud_in"),
        ("x_in,y_in,thickness_thou\n0,0,0.725\n2,0,0.7251\n4,0,0.7249\n", "thickness_in"),
        ("travel_in,turned,dial_thou\n0,no,0.001\n4,no,0.002\n0,yes,0\n4,yes,0.001\n", "dial_in"),
    ],
)
def test_inches_among_thou_are_told_as_such_and_no_millimetres_are_advised_alone(text, column):
    (slip,) = suspected(read_readings(text.encode()))
    assert column in slip.do and (
        "inches under one of thou" in slip.sentence or "thou under one of inches" in slip.sentence
    )
    dark = "\n".join(f"{a},{b},{x},0" for a, b in GAPS for x in (0, 100, 200))
    assert not suspected(read_readings(f"lower,upper,position_mm,gap_um\n{dark}".encode())), (
        "all dark is a good result, and no slip"
    )


def test_findings_carry_the_slips_and_solving_goes_on():
    found = findings(read_readings(PLAIN.replace("A,C", "a,C").encode()))
    assert [slip.kind for slip in found.slips] == ["names joined"] and found.solution.names == ("A", "B", "C")


def test_names_that_differ_by_capitals_across_sets_are_one_body_and_that_is_said():
    sets = [PLAIN.replace("no,", "no,").replace(HEAD, "round," + HEAD).replace("\n", f"\n{k},") for k in (0, 1, 2)]
    sets[1] = sets[1].replace(",A,", ",a,")
    table = read_readings(sets[2].replace("40.5", "20").encode())
    found = log_findings(table, [Entry(sets[0]), Entry(sets[1].replace("40.5", "30"))])
    assert found.progress.rounds.size == 3
    (slip,) = found.slips
    assert slip.kind == "names joined" and "'A' and 'a' were taken as one name" in slip.sentence


def spoilt(rng, text):
    """A file as a bad day leaves it."""
    data = bytearray(text)
    for _ in range(int(rng.integers(1, 6))):
        kind, at = int(rng.integers(0, 7)), int(rng.integers(0, len(data)))
        if kind == 0:
            data[at : at + int(rng.integers(1, 12))] = b""
        elif kind == 1:
            data[at:at] = bytes(rng.integers(0, 256, int(rng.integers(1, 4))).astype(np.uint8))
        elif kind == 2:
            data[at:at] = [b"dark", b"<30", b"50-100", b"-", b"1/4", b'"', b";", b"\t", b"nan", b"A,a", b"um"][
                int(rng.integers(0, 11))
            ]
        elif kind == 3:
            data = data.replace(b",", b";" if rng.random() < 0.5 else b"\t")
        elif kind == 4:
            data = data.replace(b".", b",")
        elif kind == 5:
            lines = data.split(b"\n")
            rng.shuffle(lines)
            data = bytearray(b"\n".join(lines))
        elif len(data) < 4000:
            data = bytearray(
                bytes(data).decode("utf-8", "replace").encode("utf-16" if rng.random() < 0.5 else "cp1252", "replace")
            )
        if not data:
            return b""
    return bytes(data)


def test_fifteen_hundred_spoilt_files_are_read_or_refused_with_something_to_do():
    read = 0
    for seed in range(1500):
        rng = np.random.default_rng(seed)
        try:
            slips = slips_of(read_readings(spoilt(rng, bars(rng, feelers=rng.random() < 0.5))))
            read += 1
            assert all(slip.sentence for slip in slips)
        except Refusal as refusal:
            assert refusal.do and "\n" not in str(refusal)
    assert read > 150


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text):
    try:
        read_readings(text.encode("utf-8", "replace"))
    except Refusal as refusal:
        assert refusal.do


@pytest.mark.parametrize("kind", SLIPS)
def test_every_kind_of_slip_has_a_sentence(kind):
    for rows in ((3,), (3, 4, 9)):
        words = Slip(kind=kind, rows=rows, what="B on A", figure=2.5, way="turned", others=("C on A turned",)).sentence
        assert "{" not in words and words[0].isupper() and words.endswith((".", "?")) and ".." not in words


def plates_turned(seed, wrong, right, sd_um=1.0, step_um=0.0):
    """Three plates read in six placements, of which one is written down at another angle than it lay."""
    more = ((1, 2, 90),)
    truth, table = made.plates(np.random.default_rng(seed), sd_um, step_um, more=more)
    mine = (table.lower == 0) & (table.upper == 1) & (table.turned == right)
    table.turned[mine] = wrong
    return table, mine


@pytest.mark.parametrize("step_um", [0.0, 4.0])
@pytest.mark.parametrize("right, wrong", [(90, 270), (0, 180), (90, 180)])
def test_an_angle_of_plates_that_was_written_wrongly_is_suspected_with_its_pair_and_its_rows(right, wrong, step_um):
    table, mine = plates_turned(4, wrong, right, step_um=step_um)
    slips = [slip for slip in suspected(table, None if step_um else 1.0) if slip.kind == "turned"]
    assert len(slips) == 1 and slips[0].rows == tuple(table.row[mine].tolist())
    assert slips[0].what == "B on A" and slips[0].way == f"turned {right} degrees"
    assert f"if B on A had been turned {right} degrees" in slips[0].sentence


def test_plates_that_were_turned_as_written_are_not_suspected():
    blamed = 0
    for seed in range(40):
        _, table = made.plates(np.random.default_rng(seed), more=((1, 2, 90),))
        blamed += any(slip.kind == "turned" for slip in suspected(table, 1.0 if seed % 2 else None))
    assert blamed <= 2


@pytest.mark.parametrize("name", ["demo_survey.csv", "demo_surveys.csv", "demo_level.csv"])
def test_slopes_of_a_whole_file_that_are_a_thousand_times_too_large_are_suspected(name):
    table = read_readings(demo_path(name))
    assert not [slip for slip in suspected(table) if slip.kind == "too steep"]
    (slip,) = suspected(replace(table, reading_arcsec=1000 * table.reading_arcsec))
    assert slip.kind == "too steep" and "call the column reading_um_m, or reading_thou_ft" in slip.sentence


def test_a_wedge_test_in_another_unit_is_suspected():
    table = read_readings(demo_path("demo_wedge.csv"))
    assert not suspected(table)
    for times, kind, column in ((1000, "too large", "gap_um, or gap_thou"), (0.001, "too small", "gap_mm, or gap_in")):
        (slip,) = suspected(replace(table, gap_um=times * table.gap_um))
        assert slip.kind == kind and column in slip.sentence


def test_a_bed_that_falls_by_a_millimetre_in_a_metre_is_no_slip():
    rows = [f"a,{k},{100 * k},0,{'' if k == 0 else 1.0 - 0.2 * k}" for k in range(11)]
    table = read_readings("\n".join(["line,station,x_mm,y_mm,reading_mm_m", *rows]).encode())
    assert table.kind == "level" and not suspected(table)


def test_thicknesses_pasted_with_decimal_commas_are_no_thousands_of_millimetres():
    table = read_readings(b"x_mm\ty_mm\tthickness_mm\n10\t10\t18,401\n50\t10\t18,403\n")
    assert table.thickness_um.tolist() == [18401.0, 18403.0] and [one.kind for one in table.slips] == ["decimal comma"]
    with pytest.raises(ReadingsError, match="12,500"):  # a gap of 12.5 um or of 12 500: nobody knows
        read_readings(b"lower\tupper\tposition_mm\tgap_um\nA\tB\t0\t12,500\n")
