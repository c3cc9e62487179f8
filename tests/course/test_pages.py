"""The static pages: nothing from the net, words for every picture, films with their controls, originals untouched."""

import hashlib
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import ipywidgets as widgets
import nbformat
import pytest

from simulate.__main__ import main
from simulate.course.notebook.manifest import lesson_of, manifest
from simulate.course.notebook.map_page import wants
from simulate.course.notebook.positions import panel_films, positions
from simulate.course.publish import static_pages as pages
from simulate.course.publish.static_pages import LESSONS, build, page, size_in_words
from simulate.show.bars.gap import GapPanel
from simulate.show.own.draft_keeper import DraftKeeper

EVERY = sorted(LESSONS.glob("*.ipynb"))
VOID = {"img", "br", "meta", "link", "input", "hr", "source", "area", "base", "col", "wbr"}


class Reader(HTMLParser):
    """Start tags with their attributes, and whether every tag is closed in order."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.open = [], []
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))
        if dict(attributes).get("class") == "code":
            assert self.open == ["html", "body", "main"], "a cell stands inside another"
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))

    def handle_endtag(self, tag):
        if tag in VOID:
            return
        assert self.open and self.open.pop() == tag, f"</{tag}> closes nothing"

    def named(self, *names):
        return [attributes for tag, attributes in self.tags if tag in names]


def digest(folder):
    return {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in sorted(folder.glob("*")) if p.is_file()}


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    before = digest(LESSONS)
    found = build(tmp_path_factory.mktemp("course") / "pages", positions=0)
    assert digest(LESSONS) == before, "the notebooks changed"
    return found


@pytest.fixture(scope="module")
def read(built):
    return {path.name: Reader(path.read_text(encoding="utf-8")) for path in built}


def test_every_lesson_has_its_page_and_the_index_leads_to_each(built, read):
    assert [p.name for p in built] == ["index.html", *(f"{p.stem}.html" for p in EVERY)]
    links = [a["href"] for a in read["index.html"].named("a")]
    leads = [lesson for one in manifest() for lesson in (one, *map(lesson_of, one.builds_on))]
    asked = [want.lesson for group in wants().values() for want in group]
    assert links == [f"{lesson.file}.html" for lesson in (*leads, *asked)]


def test_every_link_of_a_page_leads_to_a_page_that_is_there(built, read):
    there = {path.name for path in built}
    for place, path in enumerate(built[1:], 1):
        links = [a["href"].partition("#")[0] for a in read[path.name].named("a") if a.get("href")]
        assert {name for name in links if name} <= there, path.name
        around = {"index.html", built[place - 1].name, built[(place + 1) % len(built)].name}
        assert around <= set(links), f"{path.name} leads to the map, the one before and the next"


def test_nothing_is_loaded_from_anywhere(read):
    looked = 0
    for name, reader in read.items():
        for attributes in reader.named("script", "link", "img", "iframe", "source"):
            for key in ("src", "href"):
                address = attributes.get(key) or ""
                assert not address or address.startswith("data:"), f"{name} loads {address[:60]}"
            looked += 1
    assert looked > 2 * len(EVERY)


def test_no_style_and_no_script_names_an_address(built):
    for path in built:
        text = re.sub(r"[A-Za-z0-9+/=]{200,}", "", path.read_text(encoding="utf-8"))
        assert not re.search(r"@import|url\(|https?:|//cdn", text), path.name


def test_every_picture_has_its_words(read):
    looked = 0
    for name, reader in read.items():
        for attributes in reader.named("img"):
            assert len(attributes.get("alt", "").split()) >= 5, name
            assert "No description" not in attributes["alt"], f"{name}: nbconvert put its own words for missing ones"
            looked += 1
    assert looked >= len(EVERY)


def test_the_language_is_set_and_the_page_has_a_title(built, read):
    for path in built:
        assert read[path.name].named("html")[0]["lang"] == "en"
        assert re.search(r"<title>[^<]{8,}</title>", path.read_text(encoding="utf-8")), path.name


def test_headings_stand_in_order(read):
    for name, reader in read.items():
        levels = [int(tag[1]) for tag, _ in reader.tags if re.fullmatch("h[1-6]", tag)]
        assert levels[0] == 1 and levels.count(1) == 1, name
        assert all(b <= a + 1 for a, b in zip(levels, levels[1:])), (name, levels)


def test_no_name_of_a_place_is_given_twice(read):
    for name, reader in read.items():
        names = [attributes["id"] for _, attributes in reader.tags if attributes.get("id")]
        assert len(names) == len(set(names)), name


def test_every_part_has_a_name_and_the_contents_lead_to_each_in_order(built, read):
    for path in built[1:]:
        parts = [attributes["id"] for attributes in read[path.name].named("h2", "h3")]
        listed = path.read_text(encoding="utf-8").split('class="contents"')[1].split("</nav>")[0]
        assert re.findall(r'href="#([^"]+)"', listed) == parts and len(parts) >= 8, path.name


def test_the_search_knows_every_part_of_every_lesson_and_leads_to_places_that_are_there(built, read):
    index = built[0].read_text(encoding="utf-8")
    text = re.search(r'<script type="application/json" id="search-places">(.*?)</script>', index, re.DOTALL)[1]
    assert "<" not in text
    found = json.loads(text)
    led = {}
    for file, anchor, title, heading, said in found:
        led.setdefault(file, []).append(anchor)
        assert title[:2] == file[:2] and not re.search(
            r"base64|function *\(|[{}]|What the lesson runs here", heading + said
        )
    assert list(led) == [path.name for path in built[1:]]
    for file, anchors in led.items():
        assert [a for a in anchors if a] == [attributes["id"] for attributes in read[file].named("h2", "h3")]
    said = " ".join(part[4] for part in found)
    looked = 0
    for one in manifest():
        for cell in nbformat.read(one.path, as_version=4).cells:
            for words in cell.source.split("\n\n") if cell.cell_type == "markdown" else ():
                if re.fullmatch(r"[A-Z][A-Za-z ,;.?\n]{30,}", words):
                    assert " ".join(words.split()) in said, one.file
                    looked += 1
    assert looked >= len(EVERY)


def test_every_film_keeps_its_controls_and_its_frames(built, read):
    films = 0
    for path in built:
        text = path.read_text(encoding="utf-8")
        for mark in re.findall(r'<figure [^>]*id="(workshop-player-\w+)"', text):
            part = text.split(f'id="{mark}"')[1].split("</figure>")[0]
            assert {"Previous", "Play", "Next"} <= set(re.findall(r">(\w+)</button>", part)), path.name
            assert re.search(r'<input [^>]*type="range"', part) and f'"{mark}-frames"' in text
            films += 1
    assert films >= 2


def test_every_panel_of_a_lesson_is_there_as_a_picture_with_its_words(read):
    looked = 0
    for path in EVERY:
        words = {attributes["alt"] for attributes in read[f"{path.stem}.html"].named("img")}
        for cell in nbformat.read(path, as_version=4).cells:
            for output in cell.get("outputs", ()):
                if "image/png" in output.get("data", {}):
                    assert output.metadata["image/png"]["alt"] in words, path.name
                    looked += 1
    assert looked >= len(EVERY)


def test_positions_move_each_control_and_give_it_back():
    panel = GapPanel()
    before = panel.values()
    frames, sentences = positions(panel, 3)
    assert panel.values() == before
    assert len(frames) == len(sentences) == len(set(sentences)) >= 1 + len(before)
    assert len(set(frames)) > len(before)
    with pytest.raises(ValueError, match="count is 1; it must be 2 or more"):
        positions(panel, 1)


def test_a_panel_becomes_a_film_of_positions_in_its_page():
    path = LESSONS / "02_seeing_a_gap.ipynb"
    films = panel_films(nbformat.read(path, as_version=4), 2)
    assert len(films) == 1
    text = page(path, positions=2)
    assert text.count('class="workshop-player"') == 1
    assert "As it opens." in text and 'class="still"' not in text
    Reader(text)


def test_a_place_that_cannot_take_the_pages_is_refused_in_a_sentence(tmp_path):
    with pytest.raises(
        ValueError, match=r"'lessons' cannot take the pages; it must be a folder of its own, such as 'pages'\."
    ):
        build(LESSONS)
    with pytest.raises(
        ValueError,
        match=r"'test_a_place_that_cannot_take_0' holds no lesson; it must hold files such as 04_three_bars\.ipynb\.",
    ):
        build(tmp_path / "out", lessons=tmp_path)


def test_the_command_says_how_large_the_course_is(built, capsys, monkeypatch):
    monkeypatch.setattr(pages, "build", lambda out, positions, units: built)
    assert main(["pages", str(Path("anywhere")), "--still"]) == 0
    said = capsys.readouterr().out
    assert said.strip() == size_in_words(built)
    assert re.match(rf"{len(EVERY)} lessons and an index, \d+\.\d megabytes together; the largest is ", said)


def test_pages_show_nothing_of_a_draft_in_the_folder_and_leave_none(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("OwnChainPanel()", id="own")])
    notebook.cells.insert(0, nbformat.v4.new_code_cell("from simulate.show import OwnChainPanel"))
    first = panel_films(notebook, 2)["own"]
    assert not list(tmp_path.iterdir())
    DraftKeeper("links").watch("rows", field := widgets.Textarea())
    field.value = "link,figure\nmy own secret,3"
    kept = {path.name: path.read_text() for path in tmp_path.iterdir()}
    again = panel_films(notebook, 2)["own"]
    assert kept and kept == {path.name: path.read_text() for path in tmp_path.iterdir()}
    assert re.sub(r"player-\w+", "", again) == re.sub(r"player-\w+", "", first)
