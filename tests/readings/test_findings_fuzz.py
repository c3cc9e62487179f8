"""Whatever stands in a readings file: a sentence that refuses it, or findings without a nan."""

import numpy as np
import pytest
import workshops_read as made
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from simulate.readings.findings import findings
from simulate.readings.table.demo import DEMOS, demo_path
from simulate.readings.table.read import ReadingsError, read_readings

EASY = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)
NAMES = st.sampled_from(["A", "B", "C", "D", "Köln"])
PLACES = st.sampled_from(["0", "50", "100", "150", "200.5", "-100", "1e-9", "99999", "3.7"])
GAPS = st.sampled_from(["0", "1", "2.5", "40", "999999", "0.0001", "17.25", "3"])
CELL = st.one_of(
    st.text(max_size=12), st.sampled_from(["", "nan", "inf", "-1", "1e308", "0,5", "=1+1", "\x00", "#", '"', "yes"])
)
BED = "how,way,plane,x_mm,to_x_mm,y_mm,turned,strip_mm,gap_um,gap_at_least_um,gap_at_most_um,dial_um,reading_arcsec"
HEADERS = {
    "bars": "round,lower,upper,turned,position_mm,gap_um,gap_at_least_um,gap_at_most_um",
    "plates": "round,lower,upper,turned,x_mm,y_mm,gap_um,gap_at_least_um,gap_at_most_um",
    "squares": "round,lower,upper,height_mm,gap_um,gap_at_least_um,gap_at_most_um",
    "lands": "round,gauge,left_mm,middle_mm,right_mm,proud_um,proud_at_least_um,proud_at_most_um",
    "union jack": "line,station,x_mm,y_mm,reading_arcsec",
    "wedge": "round,gap_um,looks,seen",
    "level": "line,station,x_mm,y_mm,set,turned,reading_arcsec",
    "edge": "line,x_mm,y_mm,gap_um,gap_at_least_um,gap_at_most_um,dial_um",
    "bed": BED,
    "joint": f"{BED},part",
    "head": "round,axis,plane,x_mm,turned,dial_um,diameter_mm,length_mm,held_mm",
    "cross slide": "round,travel_mm,turned,dial_um,base_sd_um_m",
    "one square": "by,height_mm,turned,gap_um,gap_at_least_um,gap_at_most_um,apart_um,dial_um,taper_um,taper_sd_um",
    "thickness": "face,against,x_mm,y_mm,gap_um,gap_at_least_um,gap_at_most_um,thickness_mm",
}
POINT_OR_INTERVAL = st.one_of(
    GAPS.map(lambda g: f"{g},,"), st.just(",,2.5"), st.just(",50,"), st.just(",10,30"), st.just(",0,1000000")
)
YES, HEIGHTS = st.sampled_from(["yes", "no"]), st.sampled_from(["0", "50", "140", "99999"])
DIAL, THICK = (
    st.sampled_from(["0", "-5", "2000", "0.25", "999999"]),
    st.sampled_from(["18.4", "0.001", "999", "18.412"]),
)
ROUND = st.sampled_from(["1", "2", "9999"])
BED_ROWS = st.one_of(
    st.tuples(
        st.just("edge"),
        st.sampled_from(["front", "back"]),
        st.sampled_from(["", "level"]),
        PLACES,
        st.just(",0"),
        st.just(","),
        POINT_OR_INTERVAL,
        st.just(","),
    ),
    st.tuples(
        st.sampled_from(["cross,,", "level,back,"]),
        PLACES,
        st.just("70,200,,,,,,"),
        st.sampled_from(["0", "-5", "36000"]),
    ),
)
ROWS = {
    "bars": st.tuples(ROUND, NAMES, NAMES, st.sampled_from(["yes", "no"]), PLACES, POINT_OR_INTERVAL),
    "plates": st.tuples(
        ROUND, NAMES, NAMES, st.sampled_from(["0", "90", "180", "270"]), PLACES, PLACES, POINT_OR_INTERVAL
    ),
    "squares": st.tuples(ROUND, NAMES, NAMES, st.sampled_from(["0", "50", "100", "99999"]), POINT_OR_INTERVAL),
    "lands": st.tuples(
        ROUND,
        NAMES,
        st.sampled_from(["0", "50"]),
        st.sampled_from(["100", "150"]),
        st.sampled_from(["200", "300", "99999"]),
        POINT_OR_INTERVAL,
    ),
    "union jack": st.tuples(
        NAMES, st.sampled_from(["0", "1", "2"]), PLACES, PLACES, st.sampled_from(["", "0", "5", "-36000"])
    ),
    "bed": BED_ROWS,
    "joint": st.tuples(BED_ROWS.map(",".join), st.sampled_from(["head", "tail"])),
    "edge": st.tuples(NAMES, PLACES, PLACES, st.one_of(POINT_OR_INTERVAL.map(lambda g: g + ","), st.just(",,,-7.5"))),
    "level": st.tuples(
        NAMES,
        st.sampled_from(["0", "1", "2"]),
        PLACES,
        PLACES,
        NAMES,
        st.sampled_from(["yes", "no"]),
        st.sampled_from(["", "0", "5", "-36000"]),
    ),
    "head": st.tuples(
        ROUND,
        st.sampled_from(["head", "tail"]),
        st.one_of(
            st.tuples(st.sampled_from(["", "level"]), PLACES, YES, DIAL, st.sampled_from([",,", "32,310,0"])),
            st.tuples(st.just("foot"), PLACES, st.just(",,,,")),
        ).map(",".join),
    ),
    "cross slide": st.tuples(ROUND, PLACES, YES, DIAL, st.sampled_from(["", "0", "6"])),
    "one square": st.one_of(
        st.tuples(st.just("strip"), HEIGHTS, YES, POINT_OR_INTERVAL, st.sampled_from([",,,", ",,2,1", ",,0,0"])),
        st.tuples(st.just("roller"), HEIGHTS, st.sampled_from(["0", "90", "200"]), POINT_OR_INTERVAL, st.just(",,,")),
        st.tuples(st.just("dial"), HEIGHTS, YES, st.just(",,,"), DIAL, st.just(",")),
        st.tuples(st.just("line"), HEIGHTS, st.just(",,,"), DIAL, st.just(",,")),
    ),
    "thickness": st.one_of(
        st.tuples(st.sampled_from(["A,C", "B,D", "top,bottom"]), PLACES, PLACES, st.just(",,"), THICK),
        st.tuples(st.sampled_from(["A,B", "B,C", "D,A"]), PLACES, PLACES, POINT_OR_INTERVAL, st.just("")),
    ),
    "wedge": st.tuples(ROUND, GAPS, st.sampled_from(["1", "10", "9999"]), st.sampled_from(["0", "1", "5", "10"])),
}


def said(found):
    """Every word of the findings."""
    parts = [*found.sentences, *found.hidden, *found.cut, *found.cautions, *found.heading, *found.detail_heading]
    parts += [cell for row in (*found.rows, *found.detail_rows) for cell in row]
    parts += [one.sentence for one in found.consistency.closures]
    parts += [found.next.sentence] if found.next else []
    return parts + (list(found.progress.sentences) if found.progress else [])


def told_or_refused(text, sd=None, target=None, spoilt=False):
    """Read and say; a refusal has to be one sentence."""
    try:
        table = read_readings(text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass"), "made_up.csv")
        found = findings(table, sd, target_um=target)
    except ValueError as refusal:
        words = str(refusal)
        assert words.strip() and "\n" not in words and words.rstrip().endswith("."), words
        assert "array(" not in words and "Traceback" not in words
        assert spoilt or "nan" not in words.lower().replace("finan", ""), words
        return None
    words = said(found)
    assert all(words), words
    assert not [w for w in words if "nan" in w.lower().replace("finan", "")], words
    return found


@EASY
@given(
    st.data(),
    st.sampled_from(sorted(HEADERS)),
    st.sampled_from([None, 0.5, 1e-6, 1e6]),
    st.sampled_from([None, 1e-3, 50.0]),
)
def test_rows_that_may_stand_but_make_no_sense_together(data, kind, sd, target):
    rows = data.draw(st.lists(ROWS[kind], min_size=1, max_size=24))
    told_or_refused("\n".join([HEADERS[kind], *(",".join(row) for row in rows)]), sd, target)


@EASY
@given(st.data(), st.sampled_from(DEMOS))
def test_a_good_file_with_one_cell_spoilt(data, name):
    lines = demo_path(name).read_text().splitlines()
    at = data.draw(st.integers(0, len(lines) - 1))
    cells = lines[at].split(",")
    cells[data.draw(st.integers(0, len(cells) - 1))] = data.draw(CELL)
    lines[at] = ",".join(cells)
    told_or_refused("\n".join(lines), spoilt=True)


@EASY
@given(st.data(), st.sampled_from([n for n in DEMOS if n not in ("demo_plates.csv",)]))
def test_a_good_file_with_rows_lost_or_doubled(data, name):
    lines = demo_path(name).read_text().splitlines()
    head = next(i for i, line in enumerate(lines) if not line.startswith("#"))
    kept = data.draw(st.lists(st.sampled_from(lines[head + 1 :]), min_size=1, max_size=40))
    told_or_refused("\n".join([lines[head], *kept]))


@EASY
@given(st.binary(max_size=300))
def test_bytes_of_any_kind(data):
    told_or_refused(data, spoilt=True)


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.integers(0, 10**6),
    st.sampled_from(["bars", "squares", "lands", "survey"]),
    st.floats(1e-4, 1e3),
    st.sampled_from([None, 0.3, 20.0]),
)
def test_workshops_of_any_size_are_told(seed, kind, scatter, sd):
    maker = {"bars": made.bars, "squares": made.squares, "lands": made.lands, "survey": made.survey}[kind]
    rng = np.random.default_rng(seed)
    _, table = maker(rng, sd_um=scatter) if kind != "bars" else made.bars(rng, sd_um=scatter, names="ABCD")
    found = findings(table, sd, target_um=3.0)
    assert not [w for w in said(found) if "nan" in w.lower()]
    assert np.isfinite(found.next.gain_bits) and found.next.sd_after <= found.next.sd_before * (1 + 1e-9)


@pytest.mark.parametrize("kind", HEADERS)
def test_a_single_row_is_refused_in_a_sentence(kind):
    row = {
        "bars": "1,A,B,no,0,3,,",
        "plates": "1,A,B,0,0,0,3,,",
        "squares": "1,A,B,0,3,,",
        "lands": "1,g,0,100,200,3,,",
        "union jack": "d,0,0,0,",
        "wedge": "1,2,10,4",
        "level": "d,0,0,0,1,no,",
        "edge": "d,0,0,3,,,",
        "bed": "edge,front,,0,,0,,,3,,,,",
        "joint": "edge,front,,0,,0,,,3,,,,,head",
        "head": "1,head,,50,no,3,,,",
        "cross slide": "1,50,no,3,",
        "one square": "strip,50,no,3,,,,,,",
        "thickness": "A,C,0,0,,,,18.4",
    }[kind]
    text = "\n".join([HEADERS[kind], row]).encode()
    if kind == "lands":  # one gauge over one bar settles its one point
        assert findings(read_readings(text)).sd_from == "assumed"
        return
    with pytest.raises(ValueError, match=r"\.$"):
        findings(read_readings(text))


@pytest.mark.parametrize("value", [0, -1, float("nan"), float("inf"), "thin", [1, 2]])
def test_an_impossible_spread_or_target_is_refused(value):
    table = read_readings(demo_path())
    for name in ("reading_sd_um", "target_um"):
        with pytest.raises(ValueError, match=name):
            findings(table, **{name: value})


def test_a_round_that_is_not_there_is_refused_for_every_demo():
    for name in DEMOS:
        with pytest.raises(ValueError, match="round is 77"):
            findings(read_readings(demo_path(name)), round=77)
    with pytest.raises(ReadingsError):
        read_readings(b"")
