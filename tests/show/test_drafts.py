"""What was typed is never lost: not to a dead kernel, not to a closed page, not to another panel; and the field shows
what is loaded."""

import os
import signal
import time
from datetime import UTC, datetime
from pathlib import Path

import ipywidgets as widgets
import pytest

from simulate.readings.logbook.draft import drafts, newest_draft
from simulate.readings.logbook.logbook import open_logbook
from simulate.readings.table.demo import demo_path
from simulate.show.own.bars.own_bars import OwnBarsPanel
from simulate.show.own.eye.own_eye import OwnEyePanel
from simulate.show.own.lands.own_lands import OwnLandsPanel
from simulate.show.own.plates.own_plates import OwnPlatesPanel
from simulate.show.own.squares.own_squares import OwnSquaresPanel
from simulate.show.own.survey.own_survey import SurveyPanel
from simulate.show.own.workshop.own_workshop import OwnWorkshopPanel

PANELS = {
    OwnBarsPanel: "demo_bars_light.csv",
    OwnLandsPanel: "demo_lands.csv",
    OwnPlatesPanel: "demo_plates.csv",
    OwnSquaresPanel: "demo_squares.csv",
    SurveyPanel: "demo_surveys.csv",
    OwnEyePanel: "demo_wedge.csv",
    OwnWorkshopPanel: "demo_squares.csv",
}
BARS = (
    "\n".join(
        [
            "lower,upper,position_mm,gap_um",
            *(
                f"{pair},{x},{g}"
                for pair, row in {"A,B": (0, 12, 40), "A,C": (3, 0, 22), "B,C": (8, 0, 15)}.items()
                for x, g in zip((0, 100, 200), row)
            ),
        ]
    )
    + "\n"
)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def mine(name):
    """A demo file as somebody's own: other first remark, same readings."""
    return (
        "# mine\n"
        + "\n".join(line for line in demo_path(name).read_text().splitlines() if not line.startswith("#"))
        + "\n"
    )


@pytest.mark.parametrize("panel", PANELS, ids=lambda panel: panel.__name__)
def test_what_was_uploaded_or_named_is_what_is_edited(panel, folder):
    text, shown = mine(PANELS[panel]), panel()
    shown.upload.value = (
        {
            "name": "mine.csv",
            "type": "text/csv",
            "size": len(text),
            "content": memoryview(text.encode()),
            "last_modified": datetime.now(UTC),
        },
    )
    assert shown.typed.value == text and shown.message.value == ""
    shown.read_typed.click()
    assert shown.typed.value == text and "what was typed" in shown.told.value, "to read it again changes nothing"
    (folder / "named.csv").write_text("# named\n" + text)
    shown.path.value = "named.csv"
    shown.read_path.click()
    assert shown.typed.value == "# named\n" + text and not drafts(shown.draft.kind, folder), (
        "what was loaded is no draft"
    )


@pytest.mark.parametrize("panel", PANELS, ids=lambda panel: panel.__name__)
def test_every_button_of_every_own_panel_gives_a_line(panel, folder):
    shown = panel()

    def lines():
        boxes = [
            shown.message,
            shown.told,
            shown.draft.line,
            *([shown.said] if hasattr(shown, "said") else []),
            *([shown.box.said] if hasattr(shown, "box") else []),
            *([shown.photo.message] if getattr(shown, "photo", None) else []),
        ]
        return [box.value for box in boxes]

    buttons = [one for one in walk(shown.view) if isinstance(one, widgets.Button)]
    assert len(buttons) >= 3
    for one in buttons:
        for box in (shown.message, shown.told, shown.draft.line):
            box.value = ""
        if hasattr(shown, "box"):
            shown.box.said.value = ""
        if hasattr(shown, "said"):
            shown.said.value = ""
        if getattr(shown, "photo", None):
            shown.photo.message.value = ""
        one.click()
        assert any(lines()), one.description


def walk(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from walk(child)


@pytest.mark.parametrize("panel", PANELS, ids=lambda panel: panel.__name__)
def test_a_draft_comes_back_when_the_panel_opens_again_and_can_be_put_away(panel, folder):
    first = panel()
    loaded = first.typed.value
    first.typed.value = "half a tab"
    again = panel()
    assert (
        again.typed.value == "half a tab"
        and "Brought back" in again.draft.line.value
        and again.draft.away.layout.display is None
    )
    again.draft.away.click()
    assert (
        again.typed.value == loaded
        and "put_away_1.json" in again.draft.line.value
        and again.draft.away.layout.display == "none"
    )
    assert "half a tab" in next(folder.glob("my_draft_*put_away_1.json")).read_text()
    assert panel().typed.value == loaded


def test_an_upload_over_a_draft_puts_the_draft_away_and_says_where(folder):
    panel = OwnBarsPanel()
    panel.typed.value = "mine, half typed"
    panel.take(BARS.encode(), "other.csv")
    assert panel.typed.value == BARS and "my_draft_bars_put_away_1.json" in panel.draft.line.value
    assert "mine, half typed" in (folder / "my_draft_bars_put_away_1.json").read_text()


def test_what_is_saved_in_a_logbook_is_no_draft_any_more(folder):
    for panel, save in ((OwnBarsPanel(), "save"), (OwnWorkshopPanel(), "add")):
        panel.typed.value = BARS
        (panel.save if save == "save" else panel.box.buttons["add"]).click()
        assert any(entry.readings == BARS for entry in open_logbook("my_logbook.json"))
        assert not drafts(panel.draft.kind, folder) and panel.draft.line.value == ""


def test_a_note_is_kept_and_choosing_another_set_puts_it_away(folder):
    panel = OwnWorkshopPanel()
    panel.typed.value = BARS
    panel.box.buttons["add"].click()
    panel.typed.value = BARS.replace("40", "41")
    panel.box.buttons["add"].click()
    panel.box.note.value = "cold shop, and a long"
    assert newest_draft("workshop", folder).fields["note"] == "cold shop, and a long"
    panel.box.list.index = 0
    assert panel.box.note.value == "" and "put_away" in panel.draft.line.value


def test_two_panels_of_one_kind_keep_a_draft_each(folder):
    one, two = OwnBarsPanel(), OwnBarsPanel()
    one.typed.value = "of one"
    two.typed.value = "of two"
    one.typed.value = "of one, more"
    assert sorted(draft.fields["typed"] for draft in drafts("bars", folder)) == ["of one, more", "of two"]
    three = OwnBarsPanel()
    assert three.typed.value == "of one, more"
    three.typed.value = "of three"
    one.typed.value = "of one, still more"
    assert {draft.fields["typed"] for draft in drafts("bars", folder)} == {"of three", "of two", "of one, still more"}


def test_a_folder_that_refuses_is_said_and_the_panel_goes_on(folder, monkeypatch):
    def refuses(*_):
        raise OSError(30, "read-only file system")

    monkeypatch.setattr("simulate.core.atomic_files._write_through", refuses)
    panel = OwnBarsPanel()
    panel.typed.value = BARS
    assert "No draft of what you type can be kept" in panel.draft.line.value and "read-only" in panel.draft.line.value
    panel.read_typed.click()
    assert panel.message.value == "" and panel.solution.names == ("A", "B", "C")


@pytest.mark.parametrize("junk", [b"", b"{", b"[]", b'{"format": "workshop-draft", "fields": 3}', b"\xff\xfe"])
def test_a_damaged_draft_is_left_alone(junk, folder):
    (folder / "my_draft_bars.json").write_bytes(junk)
    panel = OwnBarsPanel()
    assert panel.draft.line.value == ""
    panel.typed.value = BARS
    assert (folder / "my_draft_bars.json").read_bytes() == junk and newest_draft("bars", folder).fields["typed"] == BARS


TYPE = """
import pathlib, time
from simulate.show.own.workshop.own_workshop import OwnWorkshopPanel
panel = OwnWorkshopPanel()
for k in range(100_000):
    panel.typed.value = f"typed {k}"
    pathlib.Path("told.txt").write_text(str(k))
"""


def test_a_killed_kernel_loses_nothing_that_was_typed(folder, monkeypatch):
    jupyter_client = pytest.importorskip("jupyter_client")
    manager = jupyter_client.KernelManager()
    manager.start_kernel(cwd=str(folder), env={**os.environ, "IPYTHONDIR": str(folder / "ipython")})
    told = folder / "told.txt"
    try:
        client = manager.client()
        client.start_channels()
        client.wait_for_ready(timeout=60)
        client.execute(TYPE)
        end = time.monotonic() + 120
        while (
            not (told.exists() and told.read_text().isdigit() and int(told.read_text()) > 3) and time.monotonic() < end
        ):
            time.sleep(0.02)
        os.kill(manager.provisioner.process.pid, signal.SIGKILL)
        manager.provisioner.process.wait(20)
        client.stop_channels()
    finally:
        manager.shutdown_kernel(now=True)
    text = told.read_text()
    panel = OwnWorkshopPanel()
    assert panel.typed.value.startswith("typed ") and "Brought back" in panel.draft.line.value
    assert int(panel.typed.value.split()[1]) >= (int(text) if text.isdigit() else 3)


def test_lessons_leave_no_draft_behind(root):
    assert "my_draft*.json" in (root / ".gitignore").read_text().split() and not list(
        Path(root / "lessons").glob("my_draft*")
    )
