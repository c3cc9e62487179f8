"""The report says on the page and on paper what the readings say, whole or not at all, and reads well aloud."""

import io
import os
import re
from datetime import UTC, datetime

import numpy as np
import pytest
from bs4 import BeautifulSoup
from pypdf import PdfReader

from simulate.readings.findings import findings
from simulate.readings.logbook.entry import Entry, edited
from simulate.readings.logbook.logbook import LogbookError
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import read_readings
from simulate.readings.table.readings import KINDS
from simulate.show.own.workshop.own_workshop import EXAMPLES
from simulate.show.own.workshop.report import report_html, write_report
from simulate.show.own.workshop.report_content import content, finding_parts
from simulate.show.own.workshop.report_pdf import pdf
from simulate.show.units.finding_words import spoken, spoken_table

MADE = datetime(2026, 1, 2, tzinfo=UTC)
PLATES = "\n".join(
    [
        "lower,upper,turned,x_mm,y_mm,gap_um",
        *(
            f"{a},{b},{t},{x},{y},{10 + (x + 2 * y) % 7 / 5 + (0 if t == 0 else 8 - 8 * x * y / 10000):.2f}"
            for a, b, t in (("A", "B", 0), ("A", "C", 0), ("B", "C", 0), ("A", "B", 90))
            for y in (-100, 0, 100)
            for x in (-100, 0, 100)
        ),
    ]
)
SQUARES = (
    "lower,upper,height_mm,gap_um\nA,B,0,0\nA,B,100,4\nA,B,200,8.5\nA,C,0,0\nA,C,100,2\nA,C,200,4\nB,C,0,6\n"
    "B,C,100,3\nB,C,200,0\n"
)
LANDS = (
    "gauge,left_mm,middle_mm,right_mm,proud_um\nlong,0,200,400,6\nsmall,0,100,200,-1\nsmall,200,300,400,3\n"
    "small,100,200,300,2.5\n"
)
WEDGE = "gap_um,looks,seen\n1,10,0\n2,10,3\n3,10,7\n4,10,10\n"
TEXTS = {
    "bars": demo_path("demo_bars_light.csv").read_text(),
    "plates": PLATES,
    "squares": SQUARES,
    "union jack": demo_path("demo_survey.csv").read_text(),
    "lands": LANDS,
    "wedge": WEDGE,
    "level": demo_path("demo_level.csv").read_text(),
    "edge": demo_path("demo_edge.csv").read_text(),
    "bed": demo_path("demo_bed.csv").read_text(),
    "joint": demo_path("demo_joint.csv").read_text(),
    "head": demo_path("demo_head.csv").read_text(),
    "cross slide": demo_path("demo_cross_slide.csv").read_text(),
    "one square": demo_path("demo_one_square.csv").read_text(),
    "thickness": demo_path("demo_faces.csv").read_text(),
}
ENTRIES = [
    edited(Entry(text, f"{kind}.csv", note="cold <shop>"), note="cold <shop> & \u00b5") for kind, text in TEXTS.items()
]


@pytest.fixture(scope="module", params=["mm", "inch"])
def report(request):
    return content(ENTRIES, request.param, "2026-01-02")


@pytest.fixture(scope="module")
def page(report):
    return BeautifulSoup(report_html(report), "html.parser")


@pytest.fixture(scope="module")
def paper(report):
    return PdfReader(io.BytesIO(pdf(report, MADE)))


def flat(words):
    return re.sub(r"\s+", "", words)


def test_every_kind_of_readings_has_a_chapter():
    assert set(TEXTS) == set(KINDS)


def test_the_page_can_be_read_aloud(page, report):
    assert page.html["lang"] == "en" and page.title.string == report.title
    levels = [int(head.name[1]) for head in page.find_all(re.compile("^h[1-6]$"))]
    assert levels[0] == 1 and levels.count(1) == 1 and levels.count(2) == len(ENTRIES) + 3, (
        "job, sets, appendix, cautions"
    )
    assert all(after - before <= 1 for before, after in zip(levels, levels[1:]))
    pictures = page.find_all("img")
    assert len(pictures) == len(ENTRIES) + 1
    for picture in pictures:
        assert len(picture["alt"].split()) > 8 and picture["src"].startswith("data:image/png;base64,")
    tables = page.find_all("table")
    assert len(tables) >= len(ENTRIES)
    for table in tables:
        assert table.caption and all(head.get("scope") in ("col", "row") for head in table.find_all("th"))
        assert all(row.find("th") for row in table.find_all("tr"))
    ids = [tag["id"] for tag in page.find_all(id=True)]
    assert len(ids) == len(set(ids)) and all(a["href"][1:] in ids for a in page.find_all("a"))


def test_the_page_asks_the_net_for_nothing(report):
    source = report_html(report)
    assert "http:" not in source and "https:" not in source and "@import" not in source and "url(" not in source
    assert "<script" not in source and "cold <shop>" not in source and "cold &lt;shop&gt; &amp; \u00b5" in source


def test_page_and_paper_say_the_same_figures(report, page, paper):
    on_paper = flat("".join(re.sub(r"Page \d+ of \d+", "", sheet.extract_text()) for sheet in paper.pages))
    on_page = flat(page.get_text())
    looked = 0
    for parts in (report.standing, *(chapter.parts for chapter in (*report.chapters, *report.appendix))):
        for part in parts:
            for sentence in part.sentences:
                assert flat(sentence) in on_page and flat(sentence) in on_paper, sentence
                looked += 1
            for row in part.table.rows if part.table else ():
                assert flat("".join(row)) in on_page and flat("".join(row)) in on_paper, row
                looked += 1
    assert looked > 150


def test_the_figures_are_those_of_the_solver(report):
    inch = "thou" in report.lead[1]
    found = findings(read_readings(LANDS.encode()))
    part = next(p for c in report.chapters if "lands" in c.heading for p in c.parts if p.table)
    told = np.array([[float(end) for cell in row for end in cell.split(" to ")] for row in part.table.rows])
    assert part.table.heading[:2] == (
        ("land at, in", "height above the ends, thou") if inch else ("land at, mm", "height above the ends, µm")
    )
    scale = 25.4 if inch else 1.0
    network = found.solution.network
    assert np.allclose(told[:, 0] * scale, network.x_mm, rtol=0.01)
    assert np.allclose(told[:, 1] * scale, network.height_um, rtol=0.01, atol=0.006)
    assert np.allclose(told[:, 2] * scale, found.solution.low_95_um, rtol=0.01, atol=0.006)
    assert np.allclose(told[:, 3] * scale, found.solution.high_95_um, rtol=0.01, atol=0.006)
    assert np.ptp(told[:, 3] - told[:, 2]) > 0.1, "some of the ranges are wide"


def test_the_paper_has_a_title_a_language_an_outline_and_words_for_pictures(report, paper):
    assert paper.metadata.title == report.title
    root = paper.trailer["/Root"]
    assert root["/Lang"] == "en-GB" and root["/ViewerPreferences"]["/DisplayDocTitle"]

    def titles(items):
        for item in items:
            if isinstance(item, list):
                yield from titles(item)
            else:
                yield item.title

    outline = list(titles(paper.outline))
    heads = [chapter.heading for chapter in report.chapters]
    assert outline[:2] == [report.title, "Where the job stands"]
    assert [title for title in outline if title in heads] == heads * 2, "the sets, and the same in the appendix"
    words = [thing.get_object()["/Alt"] for thing in tree(root["/StructTreeRoot"]) if "/Alt" in thing.get_object()]
    assert len(words) == len(ENTRIES) + 1
    assert words[:2] == [report.standing[0].alt, report.chapters[0].parts[0].alt]


def tree(node):
    kids = node.get("/K", [])
    for kid in kids if isinstance(kids, list) else [kids]:
        thing = kid.get_object()
        if isinstance(thing, dict):
            yield thing
            yield from tree(thing)


def test_every_chapter_says_what_is_not_known_and_the_report_ends_in_cautions(report):
    for chapter, more in zip(report.chapters, report.appendix):
        heads = [part.heading for part in chapter.parts]
        assert {"What the readings say", "What is not known"} <= set(heads) and "Cautions" not in heads
        assert "The readings as they were taken" in [part.heading for part in more.parts]
    assert any("Take half of what the map says" in words for words in report.cautions)
    assert any("tang" in words for words in report.cautions) and "neither a certificate" in report.cautions[-1]


def test_the_same_report_has_the_same_bytes():
    told = content(ENTRIES[-1:], made="2026-01-02")
    assert pdf(told, MADE) == pdf(told, MADE) and report_html(told) == report_html(told)


def test_readings_that_cannot_be_worked_out_are_reported_with_the_reason_and_their_text():
    told = content([Entry("lower,upper,position_mm,gap_um\nA,B,0,1\n", "half.csv"), Entry("what?", "words.csv")])
    for chapter, more, name in zip(told.chapters, told.appendix, ("half.csv", "words.csv")):
        assert chapter.heading.endswith(f"{name}: not worked out")
        assert chapter.parts[0].heading == "Why not" and chapter.parts[0].sentences[0]
        assert more.parts[0].plain
    assert "what?" in told.appendix[1].parts[0].plain


def test_what_is_struck_out_is_named_and_not_worked_out(tmp_path):
    told = content([edited(ENTRIES[-1], struck=True), ENTRIES[-2]])
    assert (
        len(told.chapters) == 1
        and f"Struck out in the logbook and not worked out here: 1 ({ENTRIES[-1].name})." in told.lead
    )
    with pytest.raises(LogbookError, match="holds no readings in use"):
        write_report([edited(ENTRIES[-1], struck=True)], tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_it_is_written_both_or_neither(tmp_path, monkeypatch):
    place = tmp_path / "my_report"
    paths = write_report(ENTRIES[-1:], place, "mm", made=MADE)
    assert sorted(p.name for p in place.iterdir()) == ["report.html", "report.pdf"]
    before, calls, real = [p.read_bytes() for p in paths], [], os.fsync

    def full(descriptor):
        calls.append(descriptor)
        if len(calls) == 2:
            raise OSError(28, "No space left on device")
        real(descriptor)

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(
        LogbookError, match="report.pdf was not saved .no space left on device., and the earlier file is unchanged"
    ):
        write_report(ENTRIES[-2:], place, "mm", made=MADE)
    assert [p.read_bytes() for p in paths] == before and len(list(place.iterdir())) == 2


def test_a_folder_that_cannot_be_is_refused(tmp_path):
    (tmp_path / "file").write_text("")
    for place in (tmp_path / "no" / "such", tmp_path / "file"):
        with pytest.raises(LogbookError, match="report.html was not saved"):
            write_report(ENTRIES[-1:], place)


@pytest.mark.parametrize(
    "said, inch",
    [
        ("between 50 and 100 mm", "Between 50 and 100 mm (1.97 and 3.94 in)."),
        ("least sure at x 254, y -127 mm", "Least sure at x 254, y -127 mm (x 10, y -5 in)."),
        ("0 mm +0.0 ± 2.0, 254 mm +2.0", "0 mm (0 in) +0.0 ± 2.0, 254 mm (10 in) +2.0."),
        ("it is 1e-09 um, so nothing", "It is 0 µm (0 thou), so nothing."),
        ("North stands", "North stands."),
        ("file 25.4 um at B", "File 25.4 µm (1 thou) at B."),
        (
            "twist -500 um/m (± 10 um/m, 95 %)",
            "Twist -500 µm/m (-6 thou in a foot) (± 10 µm/m (0.12 thou in a foot), 95 %).",
        ),
        ("wedge along x +500 um/m", "Wedge along x +500 µm/m (+6 thou in a foot)."),
        ("counted at x 254 mm", "Counted at x 254 mm (10 in)."),
        ("from 250 to 125 urad", "From 250 to 125 µrad (3 to 1.5 thou in a foot)."),
        ("good to 10 arcsec", "Good to 10 arcsec (0.582 thou in a foot)."),
    ],
)
def test_inches_stand_beside_every_length_of_a_sentence(said, inch):
    assert spoken(said, "inch") == inch
    assert spoken(said) == re.sub(r" \([^()]*(in|thou|foot)\)", "", inch)


def test_a_table_is_turned_column_by_column():
    heads, rows = spoken_table(
        ["at, mm", "over 254 mm, um", "angle, urad", "said"], [["254", "+25.4", "-250", "2.54 to 5.08 um"]], "inch"
    )
    assert heads == ["at, in", "over 10 in, thou", "angle, thou in a foot", "said"]
    assert rows == [["10", "+1", "-3", "0.1 to 0.2 thou"]]


HELD = {"µm": ("thou", 25.4), "mm": ("in", 25.4), "µm/m": ("thou in a foot", 1000 / 12)}
HELD |= {"µrad": HELD["µm/m"], "arcsec": ("thou in a foot", 648_000 / np.pi / 12_000)}
ONE = r"[-+]?\d+(?:\.\d+)?"
MEASURED = re.compile(rf"({ONE}) (µm/m|µm|mm|µrad|arcsec)\b")


@pytest.mark.parametrize("kind", EXAMPLES)
def test_no_figure_is_without_inches_in_what_readings_of_any_kind_say(kind):
    parts = finding_parts(findings(read_readings(demo_path(EXAMPLES[kind]))), "inch", picture=False)
    said = [sentence for part in parts for sentence in part.sentences]
    seen = 0
    for sentence in said:
        assert not re.search(r"\bin µ\w+[^:]*:", sentence), "figures whose unit stands elsewhere get no inches"
        for found in MEASURED.finditer(sentence):
            name, held = HELD[found[2]]
            beside = re.match(rf" \((?:[^()]*[ ,])?({ONE}) {name}\)", sentence[found.end() :])
            assert beside, sentence[max(0, found.start() - 40) :]
            assert float(beside[1]) == pytest.approx(float(found[1]) / held, rel=0.006, abs=0.0006)
            seen += 1
    assert seen
    cells = [cell for part in parts if part.table for row in (part.table.heading, *part.table.rows) for cell in row]
    assert not [cell for cell in cells if re.search(r"\b(µm|mm|µrad|arcsec)\b", cell)]


def test_the_row_of_a_mark_is_no_length():
    sentence = next(
        one for one in findings(read_readings(demo_path("demo_wedge.csv"))).consistency.sentences if "row" in one
    )
    assert "row 4, at 1 µm (0.0394 thou): seen" in spoken(sentence, "inch")


def test_a_body_keeps_its_name_in_inches_whatever_it_holds():
    rows = [f"rail 500 mm,{b},{x},{g}" for b in ("50-100 mm", "shim 2 um") for x, g in ((0, 0), (50, 25.4), (100, 0))]
    rows += [f"50-100 mm,shim 2 um,{x},{g}" for x, g in ((0, 0), (50, 12.7), (100, 0))]
    table = read_readings("\n".join(["lower,upper,position_mm,gap_um", *rows]).encode())
    tables = [part.table for part in finding_parts(findings(table, 1.0), "inch", picture=False) if part.table]
    assert {row[0] for one in tables for row in one.rows} == {"rail 500 mm", "50-100 mm", "shim 2 um"}
