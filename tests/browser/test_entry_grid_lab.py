"""The entry grid in a real JupyterLab, by keys alone: a table in few keystrokes, marks, paste, both views."""

import os
import re
import time

import pytest

from simulate import read_readings

pytestmark = pytest.mark.browser
LESSON = "lessons/06_your_own_bars.ipynb"
PAIRS = ("B on A", "C on A", "C on B", "C on B turned")
CELLS = (  # invented: three bars hollow by some hundredths, read at twelve stations with blades and by eye
    "dark 12 30-40 40-50 58 66 66 58 40-50 30-40 12 dark",
    "<3 9 17 24 30-40 35 35 30-40 24 17 9 <3",
    "dark 11 21 30-40 37 41 41 37 30-40 20 10 dark",
    "<3 11 20 30 37 41 41 37 30-40 21 11 <3",
)


def file_of_the_same() -> bytes:
    """The same readings as they are written into a file by hand: one a row, both ends of each interval."""
    rows = ["lower,upper,turned,position_mm,gap_um,gap_at_least_um,gap_at_most_um"]
    for pair, cells in zip(PAIRS, CELLS, strict=True):
        upper, lower = pair[0], pair[5]
        for k, cell in enumerate(cells.split()):
            low, high = {"dark": ("0", "2.5"), "<3": ("", "3")}.get(cell) or (
                cell.split("-") if "-" in cell else ("", "")
            )
            point = cell if cell.isdigit() else ""
            rows.append(f"{lower},{upper},{'yes' if 'turned' in pair else 'no'},{50 * k},{point},{low},{high}")
    return "\n".join(rows).encode()


IN_VIEW = """() => {
  const e = document.activeElement, r = e.getBoundingClientRect();
  const top = document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2);
  return e.matches('.workshop-grid input') && top === e;
}"""


# A hand faster than any kernel: every figure and the press of the button before the page can hear an answer.
AT_ONCE = """([field, words]) => {
  for (let k = 1; k <= words.length; k++) {
    field.value = words.slice(0, k);
    field.dispatchEvent(new Event('input', {bubbles: true}));
  }
  field.dispatchEvent(new Event('change', {bubbles: true}));
  field.closest('.workshop-panel').querySelector('.workshop-entry-lay').click();
}"""


PASTE = """words => { const data = new DataTransfer(); data.setData('text/plain', words);
  const paste = new ClipboardEvent('paste', {clipboardData: data, bubbles: true, cancelable: true});
  document.activeElement.dispatchEvent(paste); }"""


class Keys:
    """A keyboard that counts: a figure or a letter is one, a key with Shift or Ctrl held as well."""

    def __init__(self, page):
        self.page, self.count = page, 0

    def press(self, *keys):
        for key in keys:
            self.page.keyboard.press(key)
            self.count += 1

    def type(self, words):
        for letter in words:
            self.press(letter if letter != " " else "Space")


def focus(page) -> str:
    return page.evaluate(
        "() => document.activeElement.getAttribute('aria-label') || document.activeElement.textContent"
    )


@pytest.fixture
def grid(lesson):
    """Lesson 06 run on a screen of 1366 x 768, its panel's first three buttons being the ways to enter readings."""
    for draft in (lesson.lab.folder / "lessons").glob("my_draft_*"):
        draft.unlink()  # of the test before
    lesson.page.set_viewport_size({"width": 1366, "height": 768})
    lesson.open(LESSON).run_all()
    panel = lesson.page.locator(".workshop-panel").filter(has=lesson.page.locator(".workshop-entry")).first
    lesson.turn_to("Readings")
    panel.locator(".workshop-grid input").first.scroll_into_view_if_needed()
    return lesson, panel


def test_forty_eight_gaps_take_at_most_three_hundred_keystrokes_and_are_the_table_of_the_file(grid):
    lesson, panel = grid
    page, keys = lesson.page, Keys(lesson.page)
    panel.get_by_role("button", name="new grid").focus()
    keys.press("Enter")
    panel.get_by_label("Names").wait_for()
    keys.press("Tab", "Tab")  # the names are A, B, C
    assert focus(page).startswith("Stations")
    keys.press("Control+a")
    keys.type("0-550/50")
    for _ in range(8):
        keys.press("Tab")
        if focus(page) == "Lay out the grid":
            break
    keys.press("Enter")
    page.wait_for_function(
        "() => (document.activeElement.getAttribute('aria-label') || '').startsWith('B on A at 0 mm')"
    )
    for cells in CELLS:
        for cell in cells.split():
            keys.type(cell)
            keys.press("Enter")
    assert focus(page).startswith("C on B turned at 550 mm")
    keys.press("Control+Enter")
    panel.get_by_text("Read: 48 rows of bars from what was typed.").wait_for()
    lesson.shot("entry_grid_filled")
    assert keys.count <= 300, keys.count
    lesson.turn_to("Readings").get_by_role("button", name="text", exact=True).click()
    text = panel.get_by_label("or type readings here").input_value()
    typed, file = read_readings(text.encode()), read_readings(file_of_the_same())
    assert len(typed) == 48 and typed.names == file.names
    for field in ("lower", "upper", "turned", "position_mm", "low_um", "high_um", "is_interval"):
        assert getattr(typed, field).tolist() == getattr(file, field).tolist(), field
    assert lesson.errors() == []


def test_a_press_does_not_overtake_what_was_typed_before_it(grid):
    lesson, panel = grid
    panel.get_by_role("button", name="new grid").click()
    stations = panel.get_by_label("Stations (mm)")
    stations.wait_for()
    lesson.page.evaluate(AT_ONCE, [stations.element_handle(), "0-550/50"])
    panel.get_by_label("C on B turned at 550 mm, µm").wait_for()


def test_a_press_waits_for_what_was_typed_while_a_cell_still_runs(grid):
    """A kernel that runs a cell takes the messages of some fields before those of others."""
    lesson, panel = grid
    panel.get_by_role("button", name="new grid").click()
    stations = panel.get_by_label("Stations (mm)")
    stations.wait_for()
    lesson.page.locator(".jp-CodeCell .cm-content").last.click()
    lesson.page.keyboard.press("Control+a")
    lesson.page.keyboard.insert_text("import time; time.sleep(8)")
    lesson.page.keyboard.press("Control+Enter")
    lesson.page.locator("#jp-main-statusbar >> text=Busy").wait_for()
    lesson.page.evaluate(AT_ONCE, [stations.element_handle(), "0-550/50"])
    panel.get_by_label("C on B turned at 550 mm, µm").wait_for()


def test_arrows_escape_steps_back_and_paste_work_and_a_cell_that_cannot_be_read_is_marked(grid):
    lesson, panel = grid
    page = lesson.page
    cell = panel.locator(".workshop-grid input")
    cell.nth(0).focus()
    here = focus(page)
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowRight")
    assert focus(page) == cell.nth(4).get_attribute("aria-label") != here
    page.keyboard.press("Tab")
    assert focus(page) == cell.nth(5).get_attribute("aria-label")
    page.keyboard.press("Shift+Tab")
    was = cell.nth(4).input_value()
    page.keyboard.type("999")
    page.keyboard.press("Escape")
    assert cell.nth(4).input_value() == was
    page.keyboard.type("thin")
    page.keyboard.press("Enter")
    marked = panel.locator(".workshop-grid td.wrong input")
    marked.wait_for()
    assert marked.get_attribute("aria-label") == cell.nth(4).get_attribute("aria-label")
    panel.get_by_text(re.compile(r"is 'thin'; it must be a number from 0")).wait_for()
    lesson.shot("entry_grid_marked")
    page.keyboard.press("Control+z")
    page.wait_for_function("() => !document.querySelector('.workshop-grid td.wrong')")
    assert cell.nth(4).input_value() == was


def test_a_column_is_pasted_whole_or_not_at_all_and_the_text_is_the_same_readings(grid):
    lesson, panel = grid
    page = lesson.page
    cell = panel.locator(".workshop-grid input")
    cell.nth(1).focus()
    page.evaluate(PASTE, "1,5\n2\n<30\n")
    assert [cell.nth(k).input_value() for k in (1, 4, 7)] == ["1.5", "2", "<30"]
    page.evaluate(PASTE, "\n".join(["7"] * 40))
    panel.get_by_text("Not pasted: 29 of 40 figures have no cell").wait_for()
    assert cell.nth(1).input_value() == "1.5"
    lesson.turn_to("Readings").get_by_role("button", name="text", exact=True).click()
    text = panel.get_by_label("or type readings here").input_value()
    lines = [line.rsplit(",", 1)[-1] for line in text.splitlines() if ",Pole,no," in line and "North" in line]
    assert lines[:3] == ["1.5", "2", "<30"] and "made up for this course" in text

    field = panel.get_by_label("or type readings here")
    field.fill(text.replace("# Three steel bars", "# Mine: three steel bars") + "\n1,North,Pole,no,525,8\n")
    panel.get_by_role("button", name="grid", exact=True).click()
    panel.get_by_label("Pole on North at 525 mm, µm").wait_for()
    assert panel.get_by_label("South on North at 525 mm, µm").input_value() == ""


def test_what_was_typed_into_the_grid_is_there_after_the_kernel_was_killed(grid, kill_kernels):
    lesson, panel = grid
    panel.locator(".workshop-grid input").first.focus()
    lesson.page.keyboard.type("77")
    lesson.page.keyboard.press("Enter")
    panel.get_by_text("What you type is kept as a draft").wait_for()
    assert kill_kernels(lesson.lab) >= 1
    page = lesson.open(LESSON).run_all().page
    panel = page.locator(".workshop-panel").filter(has=page.locator(".workshop-entry")).first
    panel.get_by_text("Brought back: what was typed here").wait_for()
    lesson.turn_to("Readings")
    assert panel.locator(".workshop-grid input").first.input_value() == "77"
    panel.get_by_role("button", name="Put the draft away").click()
    page.wait_for_function("() => document.querySelector('.workshop-grid input').value !== '77'")


def test_a_page_that_is_loaded_again_and_a_second_view_show_what_was_typed_and_keep_it(lesson, lab):
    where = lab.folder / "again" / "06.ipynb"
    where.parent.mkdir()
    where.write_bytes((lab.folder / LESSON).read_bytes())
    page = lesson.page
    panel = page.locator(".workshop-panel").filter(has=page.locator(".workshop-entry")).first
    cells = panel.locator(".workshop-grid input")
    lesson.open("again/06.ipynb").run_all()
    lesson.turn_to("Readings")
    cells.first.focus()
    page.keyboard.type("77")
    page.keyboard.press("Enter")
    panel.get_by_text("What you type is kept as a draft").wait_for()
    before = where.stat().st_mtime_ns
    lesson.menu("File", "Save Notebook")
    end = time.monotonic() + 60
    while where.stat().st_mtime_ns == before and time.monotonic() < end:
        page.wait_for_timeout(100)
    page.reload()
    page.wait_for_selector("#jp-main-statusbar >> text=| Idle")
    panel.wait_for(state="attached")
    lesson.turn_to("Readings")
    cells.first.scroll_into_view_if_needed()
    page.wait_for_function("() => document.querySelector('.workshop-grid input').value === '77'")
    cells.nth(3).focus()
    page.keyboard.type("78")
    page.keyboard.press("Enter")
    panel.get_by_text("What you type is kept as a draft").wait_for()
    panel.get_by_role("button", name="text", exact=True).click()
    page.wait_for_function(
        "() => Array.from(document.querySelectorAll('.workshop-entry textarea')).some("
        "field => field.value.includes(',77\\n') && field.value.includes(',78\\n'))"
    )


@pytest.mark.parametrize("theme", ["JupyterLab Light", "JupyterLab Dark"])
def test_a_grid_with_a_marked_cell_has_no_fault_in_either_theme_and_at_twice_the_size(grid, theme):
    """A page of 683 x 384 is what a screen of 1366 x 768 shows at 200 %; the cell with the focus is in view there."""
    if not os.environ.get("CI"):
        pytest.importorskip("axe_playwright_python")
    from axe_playwright_python.sync_playwright import Axe

    lesson, panel = grid
    page = lesson.page
    lesson.menu("Settings", "Theme", theme)
    try:
        page.wait_for_function("d => document.body.dataset.jpThemeLight === d", arg=str("Light" in theme).lower())
        cell = panel.locator(".workshop-grid input")
        cell.first.focus()
        page.keyboard.type("thin")
        page.keyboard.press("Enter")
        panel.locator(".workshop-grid td.wrong input").wait_for()
        lesson.shot(f"entry_grid_{theme.split()[-1].lower()}")
        answer = Axe().run(page, context={"include": [[".workshop-entry"]]}).response
        assert len(answer["passes"]) >= 5
        assert [(v["id"], v["nodes"][0]["html"][:200]) for v in answer["violations"]] == []
        page.set_viewport_size({"width": 683, "height": 384})
        page.get_by_role("tab", name=re.compile("File Browser")).first.click()
        page.keyboard.press("Escape")
        cell.first.focus()
        for key in ("Control+End", "Control+Home", "ArrowRight", "Enter", "Enter"):
            page.keyboard.press(key)
            page.wait_for_timeout(200)
            assert page.evaluate(IN_VIEW), key
        lesson.shot(f"entry_grid_200_{theme.split()[-1].lower()}")
    finally:
        page.set_viewport_size({"width": 1366, "height": 768})
        lesson.menu("Settings", "Theme", "JupyterLab Light")
