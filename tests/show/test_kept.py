"""Nothing that a person typed is lost: to a full disk, to another logbook, to a name that leads nowhere; and no bug is
shown as the learner's mistake, or the learner's as a bug."""

import os
from datetime import UTC, datetime

import pytest
from chains_read import THREE
from ipywidgets.widgets.widget import _instances

from simulate.core.atomic_files import typed_path
from simulate.core.refusal import Refusal
from simulate.readings.logbook.draft import drafts, newest_draft, write_draft
from simulate.readings.logbook.entry import Entry
from simulate.readings.logbook.logbook import open_logbook, save_logbook
from simulate.readings.table.demo import demo_path
from simulate.show.own.bars.own_bars import OwnBarsPanel
from simulate.show.own.budget.own_budget import OwnChainPanel
from simulate.show.own.workshop.own_workshop import OwnWorkshopPanel

MORE = THREE + "# looked at once more\n"


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    (tmp_path / "home").mkdir()
    return tmp_path


@pytest.fixture
def disk(monkeypatch):
    """A disk that can be full: ``disk.full = True``."""
    from simulate.core import atomic_files

    class Disk:
        full = False

    write = atomic_files._write_through

    def written(*given):
        if Disk.full:
            raise OSError(28, "No space left on device")
        write(*given)

    monkeypatch.setattr(atomic_files, "_write_through", written)
    return Disk


def uploaded(panel, text, name="mine.csv"):
    file = {"name": name, "type": "", "size": len(text), "content": text.encode(), "last_modified": datetime.now(UTC)}
    panel.upload.value = (file,)


def opened() -> int:
    """How many widgets are open on the page."""
    return len(_instances)


# -- one logbook and another ------------------------------------------------------
@pytest.mark.parametrize("press", ["edit", "add", "save"])
def test_an_invented_job_stays_out_of_one_s_own_logbook(press):
    save_logbook("my_logbook.json", [Entry(THREE, "three.csv")])
    panel = OwnWorkshopPanel()
    panel.box.buttons["open"].click()
    panel.box.buttons["example"].click()
    assert len(panel.box.entries) == 15
    panel.box.file.value = "my_logbook.json"
    panel.box.buttons["open"].click()
    panel.box.note.value = "by hand"
    panel.box.buttons[press].click()
    book = open_logbook("my_logbook.json")
    assert {entry.readings for entry in book} == {THREE} and len(book) == (2 if press == "add" else 1)
    assert len(open_logbook("my_example_job.json")) == 15


def test_a_set_is_added_to_the_logbook_that_the_field_names_and_nothing_else_with_it():
    save_logbook("my_logbook.json", [Entry(THREE, "three.csv")])
    panel = OwnWorkshopPanel()
    panel.box.buttons["example"].click()
    panel.box.file.value = "my_logbook.json"
    panel.box.buttons["edit"].click()
    assert "Press Open logbook first" in panel.box.said.value and len(open_logbook("my_logbook.json")) == 1
    panel.typed.value = MORE
    panel.box.buttons["add"].click()
    assert [entry.readings for entry in open_logbook("my_logbook.json")] == [THREE, MORE]
    assert [entry.readings for entry in panel.box.entries] == [THREE, MORE]


def test_a_set_saved_nowhere_goes_with_whoever_opens_a_logbook_and_is_named():
    save_logbook("my_logbook.json", [Entry(THREE, "three.csv")])
    panel = OwnWorkshopPanel()
    panel.typed.value = MORE
    panel.box.file.value = "no_such_folder/book.json"
    panel.box.buttons["add"].click()
    assert "not saved" in panel.box.said.value
    panel.box.file.value = "my_logbook.json"
    panel.box.buttons["open"].click()
    assert [entry.readings for entry in panel.box.entries] == [THREE, MORE]
    assert "Not saved yet: set 2" in panel.box.said.value
    panel.box.buttons["save"].click()
    assert [entry.readings for entry in open_logbook("my_logbook.json")] == [THREE, MORE]


def test_an_edit_that_was_not_saved_outlives_the_opening_of_this_logbook_and_of_another(disk):
    for name in ("my_logbook.json", "other.json"):
        save_logbook(name, [Entry(THREE, name)])
    panel = OwnWorkshopPanel()
    panel.box.buttons["open"].click()
    panel.box.note.value = "measured in the cold"
    disk.full = True
    panel.box.buttons["edit"].click()
    assert "not saved" in panel.box.said.value
    panel.box.buttons["open"].click()
    assert panel.box.note.value == "measured in the cold" and "Not saved yet: set 1" in panel.box.said.value
    panel.box.file.value = "other.json"
    panel.box.buttons["open"].click()
    assert [entry.name for entry in panel.box.entries] == ["other.json"]
    assert "Changes to my_logbook.json are not saved yet" in panel.box.said.value
    panel.box.file.value, disk.full = "my_logbook.json", False
    panel.box.buttons["open"].click()
    panel.box.buttons["save"].click()
    assert [entry.note for entry in open_logbook("my_logbook.json")] == ["measured in the cold"]
    assert [entry.note for entry in open_logbook("other.json")] == [""]


# -- no draft can be kept ---------------------------------------------------------
def two_sets(panel):
    save_logbook("my_logbook.json", [Entry(THREE, "three.csv"), Entry(MORE, "more.csv", "the second")])
    panel.box.buttons["open"].click()


@pytest.mark.parametrize("act", ["choose", "show", "example", "upload", "path", "open", "grid"])
def test_without_a_draft_nothing_takes_the_place_of_what_is_typed(act, disk, folder):
    (folder / "next.csv").write_text(THREE)
    panel = OwnWorkshopPanel()
    two_sets(panel)
    disk.full = True
    panel.typed.value, panel.box.note.value = "lower,upper,position_mm,gap_um\nA,B,0,12\n", "half a no"
    typed = panel.typed.value
    panel.box.buttons["open"].disabled = False
    if act == "choose":
        panel.box.list.index = 0
        assert panel.box.list.index == 1, "the note is not that of another set"
    elif act == "example":
        panel.controls["example"].value = "squares"
    elif act == "upload":
        uploaded(panel, THREE)
    elif act == "path":
        panel.path.value = "next.csv"
        panel.read_path.click()
    elif act == "grid":
        panel.entry.layout.button.click()
    else:
        panel.box.buttons[act].click()
    assert (panel.typed.value, panel.box.note.value) == (typed, "half a no")
    said = panel.message.value + panel.box.said.value
    assert "kept in no draft, because none can be written" in said and panel.controls["example"].value == ""
    disk.full = False
    panel.typed.value = MORE
    panel.box.buttons["add"].click()
    assert (open_logbook("my_logbook.json")[-1].readings, open_logbook("my_logbook.json")[-1].note) == (
        MORE,
        "half a no",
    )


def test_what_was_typed_and_read_is_still_lost_to_nothing_where_no_draft_can_be_kept(disk):
    panel = OwnBarsPanel()
    disk.full = True
    panel.typed.value = THREE
    panel.read_typed.click()
    assert panel.message.value == ""
    uploaded(panel, MORE)
    assert panel.typed.value == THREE and "kept in no draft" in panel.message.value
    panel.draft.away.click()
    assert panel.typed.value == THREE


def test_a_sheet_of_links_is_not_opened_over_rows_that_no_draft_keeps(disk):
    panel = OwnChainPanel()
    panel.save.click()
    disk.full = True
    panel.add("floor that gives", "6")
    rows = panel.rows()
    panel.open.click()
    assert panel.rows() == rows and "kept in no draft" in panel.message.value


def test_the_same_file_uploaded_again_is_read_again():
    panel = OwnBarsPanel()
    uploaded(panel, THREE)
    assert panel.upload.value == () and "Read: " in panel.told.value
    panel.told.value = ""
    panel.typed.value = MORE
    uploaded(panel, THREE)
    assert "Read: " in panel.told.value and panel.typed.value == THREE
    for _ in range(2):
        panel.message.value = ""
        uploaded(panel, "no table at all")
        assert "Not possible" in panel.message.value and panel.upload.value == ()


# -- drafts that cannot be read ---------------------------------------------------
def test_a_name_that_leads_nowhere_hides_no_draft(folder):
    write_draft(folder / "my_draft_bars.json", {"typed": THREE})
    os.symlink(folder / "nowhere", folder / "my_draft_bars_2.json")
    assert newest_draft("bars", folder).fields == {"typed": THREE}
    assert OwnBarsPanel().typed.value == THREE


def test_a_draft_nested_without_end_is_left_alone(folder):
    (folder / "my_draft_bars.json").write_text("[" * 100_000)
    assert OwnBarsPanel().message.value == "" and newest_draft("bars", folder) is None


def test_the_newest_draft_that_differs_from_what_is_loaded_is_brought_back(folder):
    write_draft(folder / "my_draft_bars.json", {"typed": THREE})
    write_draft(folder / "my_draft_bars_2.json", {"typed": demo_path().read_text()})
    os.utime(folder / "my_draft_bars.json", ns=(1, 1))
    panel = OwnBarsPanel()
    assert panel.typed.value == THREE and "Brought back" in panel.draft.line.value
    assert len(drafts("bars", folder)) == 2


# -- paths as they are typed ------------------------------------------------------
def test_a_path_of_nobody_s_home_is_a_refusal_wherever_it_is_typed():
    with pytest.raises(Refusal, match="home folder of nobody"):
        typed_path("~nobody_of_that_name/x.csv")
    with pytest.raises(Refusal, match="no path of this computer"):
        typed_path("a\0b")
    bars, chain, shop = OwnBarsPanel(), OwnChainPanel(), OwnWorkshopPanel()
    bars.path.value = bars.logbook.value = chain.sheet.value = chain.logbook.value = "~nobody_of_that_name/x"
    shop.box.file.value = shop.box.folder.value = "~nobody_of_that_name/x"
    for panel, button in [
        (bars, bars.read_path),
        (bars, bars.save),
        (bars, bars.open),
        (chain, chain.save),
        (chain, chain.open),
        (chain, chain.from_logbook),
        *((shop, shop.box.buttons[name]) for name in ("open", "save", "add", "report")),
    ]:
        panel.message.value = ""
        button.click()
        assert "home folder of nobody here" in panel.message.value, button.description


def test_the_own_folder_is_meant_by_its_sign_in_every_field(folder):
    bars, chain, shop = OwnBarsPanel(), OwnChainPanel(), OwnWorkshopPanel()
    (folder / "home" / "mine.csv").write_text(THREE)
    bars.path.value, bars.logbook.value, chain.sheet.value = "~/mine.csv", "~/bars.json", "~/links.csv"
    shop.box.file.value, shop.box.folder.value = "~/shop.json", "~/report"
    for button in (bars.read_path, bars.save, bars.open, chain.save, chain.open):
        button.click()
    for name in ("add", "open", "report"):
        shop.box.buttons[name].click()
    there = {path.name for path in (folder / "home").iterdir()} - {".bars.json.lock", ".shop.json.lock"}
    assert there == {"mine.csv", "bars.json", "links.csv", "shop.json", "report"} and not (folder / "~").exists()


# -- what is stated of the readings -----------------------------------------------
def test_a_draft_holds_what_was_stated_and_taken_as_known_with_the_figures():
    panel = OwnWorkshopPanel()
    panel.typed.value = THREE
    panel.read_typed.click()
    panel.controls["reading_sd"].value, panel.controls["target"].value = 0.7, 33.0
    panel.controls["feel_um"].value, panel.controls["resolution_um"].value = 3.0, 1.0
    panel.known.body.value, panel.known.expanded.value, panel.known.words.value = "A", 1.0, "May"
    panel.known.keep.click()
    assert panel.message.value == ""
    said = panel._present()
    again = OwnWorkshopPanel()
    assert "Brought back" in again.draft.line.value
    again.read_typed.click()
    assert again.message.value == "" and again._present() == said and said["depends_on"]
    assert OwnWorkshopPanel()._typed_links, "reading it makes it no less a draft"
    again.box.buttons["add"].click()
    assert open_logbook("my_logbook.json")[0].feel_um == 3.0
    assert OwnWorkshopPanel().controls["feel_um"].value == "found from the readings", "what is saved is no draft"


def test_what_is_stated_of_an_example_is_no_draft_and_of_one_s_own_file_is_one(folder):
    panel = OwnBarsPanel()
    panel.controls["reading_sd_um"].value = 12
    assert not drafts("bars", folder)
    uploaded(panel, THREE)
    assert not drafts("bars", folder)
    panel.controls["reading_sd_um"].value = 14
    again = OwnBarsPanel()
    assert (again.typed.value, again.controls["reading_sd_um"].value) == (THREE, 14)
    again.draft.away.click()
    assert again.controls["reading_sd_um"].value != 14 and not again.controls["reading_sd_um_given"].value


SPOILT = (
    *("", "[", '{"units": "mm"}', '{"units": "mm", "stated": {}, "known": [{"x": 1}]}'),
    '{"units": "mm", "stated": {"feel_um": []}, "known": []}',
)


@pytest.mark.parametrize("stated", [None, *SPOILT])
def test_a_draft_of_an_older_course_or_a_spoilt_one_gives_its_figures(stated, folder):
    write_draft(folder / "my_draft_bars.json", {"typed": THREE} | ({} if stated is None else {"stated": stated}))
    panel = OwnBarsPanel()
    panel.read_typed.click()
    assert panel.typed.value == THREE and panel.message.value == "" and panel.solution.names == ("A", "B", "C")


def test_what_was_typed_for_a_new_grid_stays_while_another_kind_is_looked_at():
    box = OwnWorkshopPanel().entry.layout
    box.kind.value = "bars"
    name = next(iter(box.fields))
    box.fields[name].value, box.unit.value = "Tom, Dick, Harry", "mm"
    box.kind.value = "plates"
    before = opened()
    for kind in ("bars", "plates") * 3 + ("bars",):
        box.kind.value = kind
    assert box.fields[name].value == "Tom, Dick, Harry" and box.unit.value == "mm"
    assert "Tom,Dick" in box.text()
    assert opened() == before


def test_what_a_panel_is_opened_with_counts_before_what_a_draft_opened_with():
    panel = OwnBarsPanel(feel_um=4.0)
    panel.typed.value = THREE
    panel.controls["resolution_um"].value = 1.0
    again = OwnBarsPanel(feel_um=0.0)
    assert (again.controls["feel_um"].value, again.controls["resolution_um"].value) == (0.0, 1.0)
