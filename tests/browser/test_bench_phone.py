"""The bench page on a screen of 390 x 844 held upright, walked through by touch, by keys, in the light and in the
dark."""

import os
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest

from simulate.readings.entry.laying_out import laid_out
from simulate.readings.logbook.bench_sheet import begin_sheet, save_sheet, sheets, type_into
from simulate.readings.logbook.logbook import open_logbook

pytestmark = pytest.mark.browser
BARS = laid_out("bars", "um", bodies="A, B, C", stations="0, 50, 100", pairs="")
WIDE, HIGH, TARGET = 390, 844, 48
HARD = {"serious", "critical"}
FIGURES = {  # three bars, hollow by 10, 20 and 30 um, laid on each other: invented
    ("A", "B"): (0, 30, 0), ("A", "C"): (0, 40, 0), ("B", "C"): (0, 50, 0)
}  # fmt: skip
TAPS = """() => [...document.querySelectorAll('a, button, input:not([type=hidden]), select, textarea, summary')]
    .filter(e => e.offsetWidth && !e.closest('.unseen'))
    .map(e => [e.outerHTML.slice(0, 90), e.getBoundingClientRect().width, e.getBoundingClientRect().height,
        e.getBoundingClientRect().left, e.getBoundingClientRect().right, !!e.closest('.wide-box')])"""


CUT = """() => { const real = window.fetch; window.cut = true;
    window.fetch = (...words) => window.cut ? Promise.reject(new TypeError()) : real(...words); }"""


HOLD = """() => { const real = window.fetch;
    window.fetch = (where, how) => how.body && !window.held
        ? new Promise(done => { window.held = () => done(real(where, how)); document.body.dataset.held = ''; })
        : real(where, how); }"""


class Page:
    """The command, running in a folder of its own on one port, started again where a test kills it."""

    def __init__(self, folder: Path, port: int) -> None:
        self.folder, self.port, self.process = folder, port, None

    def start(self) -> None:
        log = self.folder.parent / "page.log"
        words = ["bench-page", self.folder, "--address", "127.0.0.1", "--port", self.port]
        with log.open("w") as out:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "simulate", *map(str, words)], stdin=subprocess.PIPE, stdout=out, stderr=out,
                env=os.environ | {"PYTHONIOENCODING": "utf-8"},
            )  # fmt: skip
        self.log = log
        self.codes(1)

    def codes(self, count: int) -> list[str]:
        """Wait until so many codes stand in the terminal."""
        end = time.monotonic() + 60
        while True:
            found = re.findall(r"^http://\S+/join/\w+$", self.log.read_text("utf-8"), re.MULTILINE)
            if len(found) >= count:
                return found
            assert self.process.poll() is None and time.monotonic() < end, self.log.read_text("utf-8")[-2000:]
            time.sleep(0.05)

    def another_code(self) -> str:
        """Press Enter in the terminal."""
        before = len(self.codes(1))
        self.process.stdin.write(b"\n")
        self.process.stdin.flush()
        return self.codes(before + 1)[-1]

    def kill(self) -> None:
        """As a power cut would."""
        self.process.kill()
        self.process.wait(20)


@pytest.fixture
def served(tmp_path, free_port):
    folder = tmp_path / "lessons"
    folder.mkdir()
    page = Page(folder, free_port())
    page.start()
    yield page
    page.kill()


@pytest.fixture
def phone(browser):
    """Give phones: each a context of its own, with its own cookies and its own store."""
    contexts = []

    def give(**more):
        settings = {"viewport": {"width": WIDE, "height": HIGH}, "has_touch": True, "is_mobile": True} | more
        contexts.append(browser.new_context(**settings))
        page = contexts[-1].new_page()
        page.set_default_timeout(30_000)
        page.faults = []
        page.on("pageerror", lambda error: page.faults.append(str(error)))
        page.on("console", lambda line: page.faults.append(line.text) if "Security Policy" in line.text else None)
        return page

    yield give
    for context in contexts:
        context.close()


def come_in(page, address):
    page.goto(address)
    page.get_by_role("button", name="Begin on this phone").tap()
    page.get_by_role("heading", name="At the bench").wait_for()


def opened(served, page, text=BARS):
    """Open a new sheet on a phone."""
    begin_sheet(served.folder, text, "bars")
    come_in(page, served.codes(1)[-1])
    page.get_by_role("link", name=re.compile("^bars")).tap()
    page.locator(".keys").wait_for()
    return page


def tap(page, *names):
    for name in names:
        page.get_by_role("button", name=name, exact=True).tap()


def type_by_keys(page, figure):
    """Tap the figure on the keys of the page."""
    called = {"<": "less than", ">": "more than", "-": "minus, or to", ".": "point"}
    tap(page, *(["dark: no light seen"] if figure == "dark" else [called.get(sign, sign) for sign in figure]))


def kept(page):
    """Wait until the computer has what was typed."""
    page.get_by_text("Kept.").wait_for()


def value_of(served, at):
    """What counts in a cell by the files of the folder, read as after a kill."""
    latest = sheets(served.folder)[0].latest()
    return latest[at].words if at in latest else None


def fits(page, axe=None, name=""):
    """Nothing is off the screen, no target is small, axe finds nothing serious."""
    page.wait_for_load_state("load")  # with its style
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDE, name
    looked = 0
    for html, width, height, left, right, scrolled in page.evaluate(TAPS):
        assert width >= TARGET and height >= TARGET, (name, html, width, height)
        assert scrolled or (left >= 0 and right <= WIDE), (name, html)
        looked += 1
    assert looked > 0
    if axe:
        found = axe.run(page).response
        assert len(found["passes"]) >= 5
        assert [(v["id"], v["nodes"][0]["html"]) for v in found["violations"] if v["impact"] in HARD] == [], name
    assert page.faults == []
    if os.environ.get("WORKSHOP_SCREENSHOTS"):
        page.screenshot(path=os.path.join(os.environ["WORKSHOP_SCREENSHOTS"], f"bench_{name}.png"))


@pytest.fixture(scope="module")
def axe():
    if not os.environ.get("CI"):
        pytest.importorskip("axe_playwright_python")
    from axe_playwright_python.sync_playwright import Axe

    return Axe()


def test_a_code_lets_a_phone_in_and_a_set_is_laid_out_on_screens_that_fit(served, phone, axe):
    page = phone()
    page.goto(served.codes(1)[-1])
    fits(page, axe, "code")
    come_in(page, served.codes(1)[-1])
    fits(page, axe, "sets")
    page.get_by_label("Readings of").select_option(label="bars")
    tap(page, "Lay out its cells")
    page.get_by_label("Stations (mm)").fill("0 to 100 by hand")
    tap(page, "Lay out its cells")
    page.get_by_role("alert").get_by_text("stations is '0 to 100 by hand'").wait_for()
    fits(page, axe, "refused")
    page.get_by_label("Stations (mm)").fill("0 to 100 every 50")
    page.get_by_label("Name of the work").fill("three bars")
    tap(page, "Lay out its cells")
    page.get_by_text("B on A at 0 mm, µm").wait_for()
    fits(page, axe, "empty")
    assert sheets(served.folder)[0].name == "three bars"


def test_a_set_is_read_by_touch_and_saved_on_screens_that_fit(served, phone, axe):
    page = opened(served, phone())
    for figures in [*FIGURES.values(), (0, "40-60", 0)]:
        for figure in figures:
            type_by_keys(page, str(figure))
            tap(page, "Next")
    page.get_by_text("12 of 12 cells are filled. Kept.").wait_for()
    page.locator("a.cell[data-at='1,0']").tap()
    page.locator("#said", has_text="B on A at 50 mm, µm").wait_for()
    page.locator("#figure").fill("thin")
    tap(page, "Next")
    page.locator("#faults").get_by_text("B on A at 50 mm is 'thin'").wait_for()
    assert page.locator("a.cell.bad").get_attribute("aria-label").endswith("cannot be read")
    fits(page, axe, "marked")
    page.locator("#faults a").tap()
    page.locator("#why").get_by_text("'thin'").wait_for()
    tap(page, *["delete the last character"] * 4)
    type_by_keys(page, "<30")
    page.get_by_text("12 of 12 cells are filled. Kept.").wait_for()
    assert value_of(served, "1,0") == "<30"
    tap(page, "Read")
    page.get_by_role("heading", name="What next").wait_for()
    fits(page, axe, "told")
    page.get_by_label("Note").fill("cold shop, 16 degrees")
    tap(page, "Save to the logbook")
    page.get_by_role("status").get_by_text("Saved in my_logbook.json as set 1.").wait_for()
    page.locator("summary").first.tap()
    fits(page, axe, "all")
    (entry,) = open_logbook(served.folder / "my_logbook.json")
    assert (entry.name, entry.note) == ("bars", "cold shop, 16 degrees")
    assert "A,B,no,50,<30" in entry.readings and "B,C,yes,50,40-60" in entry.readings


def test_a_set_that_was_saved_is_read_again_from_empty_cells(served, phone, axe):
    sheet = begin_sheet(served.folder, BARS, "bars")
    type_into(sheet, "before", {"0,0": ("12", 0)})
    save_sheet(sheets(served.folder)[0], served.folder / "my_logbook.json")
    page = phone()
    come_in(page, served.codes(1)[-1])
    page.get_by_text("saved as set 1").wait_for()
    fits(page, axe, "list")
    page.get_by_role("button", name=re.compile("^Read it again")).tap()
    page.get_by_text("0 of 12 cells are filled.").wait_for()


def test_in_the_dark_every_screen_is_read_as_well(served, phone, axe):
    begin_sheet(served.folder, laid_out("plates", "um", bodies="A, B", stations="0, 50", y="0, 50", pairs=""))
    page = phone(color_scheme="dark")
    come_in(page, served.codes(1)[-1])
    fits(page, axe, "dark_sets")
    page.get_by_role("link", name=re.compile("^what was typed")).tap()
    page.locator(".keys").wait_for()
    page.locator("#figure").fill("thin")
    tap(page, "Next")
    page.locator("#faults a").first.wait_for()
    fits(page, axe, "dark_cells")
    tap(page, "Read")
    page.get_by_role("heading", name="What the readings say").wait_for()
    fits(page, axe, "dark_told")


def test_by_keys_alone_a_column_is_typed_and_read(served, phone):
    begin_sheet(served.folder, laid_out("squares", "um", bodies="A, B, C", stations="5, 95", pairs=""))
    page = phone()
    come_in(page, served.codes(1)[-1])
    page.get_by_role("link", name=re.compile("^what was typed")).focus()
    page.keyboard.press("Enter")
    page.locator(".keys").wait_for()  # the page's script has begun
    page.get_by_role("textbox", name="B on A at 5 mm, µm").focus()
    for k, figure in enumerate(["1,5", "30", "0", "40", "0", "50"]):
        page.wait_for_function("k => document.querySelector('a.cell[aria-current]').dataset.at === k",
                               arg=f"{k % 2},{k // 2}")  # fmt: skip
        page.keyboard.type(figure)
        page.keyboard.press("Enter")
    kept(page)
    page.locator("#end", has_text="That was the last cell.").wait_for()
    page.locator("#filled", has_text="6").wait_for()
    assert value_of(served, "0,0") == "1.5"  # the comma of a phone's own keys
    page.keyboard.press("Shift+Enter")
    page.wait_for_function("document.querySelector('a.cell[aria-current]').dataset.at === '0,2'")
    page.get_by_role("button", name="Read", exact=True).focus()
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="What next").wait_for()


def test_who_hears_the_page_is_told_each_cell_and_each_key(served, phone):
    begin_sheet(served.folder, BARS)
    page = phone()
    come_in(page, served.codes(1)[-1])
    page.get_by_role("link", name=re.compile("^what was typed")).tap()
    field = page.get_by_role("textbox", name="B on A at 0 mm, µm")
    field.wait_for()
    type_by_keys(page, "dark")
    tap(page, "Next")
    page.locator("[role=status]").get_by_text("B on A at 50 mm, µm, empty").wait_for(state="attached")
    page.get_by_role("link", name="B on A at 0 mm, µm: dark", exact=True).wait_for()
    assert (
        page.get_by_role("link", name="B on A at 50 mm, µm: empty", exact=True).get_attribute("aria-current") == "true"
    )
    for name in ("less than", "more than", "minus, or to", "dark: no light seen", "point", "delete the last character"):
        assert page.get_by_role("button", name=name, exact=True).count() == 1
    assert page.get_by_role("region", name="All cells").get_attribute("tabindex") == "0"


def test_a_page_that_is_left_and_a_server_that_is_killed_lose_nothing(served, phone):
    begin_sheet(served.folder, BARS)
    page = phone()
    come_in(page, served.codes(1)[-1])
    page.get_by_role("link", name=re.compile("^what was typed")).tap()
    page.locator(".keys").wait_for()
    address = page.url
    type_by_keys(page, "12")
    page.goto("about:blank")  # at once, before the page has sent anything by itself
    page.goto(address)
    page.wait_for_function("document.querySelector('a.cell[data-at=\"0,0\"]').textContent === '12'")
    served.kill()
    page.locator("a.cell[data-at='1,0']").tap()
    type_by_keys(page, "40")
    page.get_by_role("alert").get_by_text("The computer does not answer.").wait_for()
    tap(page, "Next")
    type_by_keys(page, "7")
    served.start()
    page.get_by_role("alert").get_by_text("The computer no longer knows this phone.").wait_for()
    assert (value_of(served, "0,0"), value_of(served, "1,0")) == ("12", None)
    come_in(page, served.codes(1)[-1])
    page.get_by_text("Some figures on this phone have not reached").wait_for()
    page.get_by_role("link", name=re.compile("^what was typed")).tap()
    page.locator("#filled", has_text="3").wait_for()
    kept(page)
    assert [value_of(served, f"{row},0") for row in range(3)] == ["12", "40", "7"]
    page.get_by_role("link", name="Sets").tap()
    page.get_by_role("heading", name="Go on").wait_for()
    assert page.locator("#waiting").is_hidden()


def test_two_pages_of_one_phone_keep_what_waits_in_each(served, phone):
    one = opened(served, phone())
    two = one.context.new_page()
    two.goto(one.url)
    two.locator(".keys").wait_for()
    served.kill()
    for page, at, figure in ((one, "0,0", "12"), (two, "1,0", "40"), (one, "2,0", "7")):
        page.bring_to_front()
        page.locator(f"a.cell[data-at='{at}']").tap()
        type_by_keys(page, figure)
        page.get_by_role("alert").get_by_text("The computer does not answer.").wait_for()
    one.goto("about:blank")
    two.goto("about:blank")
    served.start()
    come_in(one, served.codes(1)[-1])
    one.get_by_role("link", name=re.compile("^bars")).tap()
    kept(one)
    assert [value_of(served, f"{row},0") for row in range(3)] == ["12", "40", "7"]


def test_what_an_older_page_left_waiting_is_sent(served, phone):
    page = opened(served, phone())
    sheet = page.locator("main").get_attribute("data-sheet")
    old = {"0,0": ["12", 0], "1,0": ["40", 0]}
    page.evaluate("([key, held]) => localStorage.setItem(key, JSON.stringify(held))", [f"bench {sheet}", old])
    page.reload()
    kept(page)
    assert [value_of(served, f"{row},0") for row in range(2)] == ["12", "40"]
    assert page.evaluate("Object.keys(localStorage).filter(key => key.startsWith('bench '))") == []


def test_a_figure_that_is_refused_keeps_none_of_the_later_ones_back(served, phone):
    page = opened(served, phone())
    page.evaluate(
        "() => { const f = document.getElementById('figure'); f.value = '1'.repeat(41);"
        "f.dispatchEvent(new Event('input', {bubbles: true})); }"
    )
    page.get_by_role("alert").get_by_text("41 characters").wait_for()
    tap(page, "Next")
    type_by_keys(page, "40")
    page.wait_for_function("document.querySelector('a.cell[data-at=\"0,0\"]').classList.contains('bad')")
    end = time.monotonic() + 30
    while value_of(served, "1,0") != "40" and time.monotonic() < end:
        page.wait_for_timeout(100)
    assert (value_of(served, "0,0"), value_of(served, "1,0")) == (None, "40")
    page.locator("a.cell[data-at='0,0']").tap()
    page.locator("#figure").fill("12")
    kept(page)
    assert (value_of(served, "0,0"), page.faults) == ("12", [])


def test_two_phones_on_one_set_lose_nothing_of_each_other(served, phone):
    begin_sheet(served.folder, BARS)
    left, right = phone(), phone()
    come_in(left, served.codes(1)[-1])
    come_in(right, served.another_code())
    for page in (left, right):
        page.get_by_role("link", name=re.compile("^what was typed")).tap()
        page.locator(".keys").wait_for()
    right.evaluate(CUT)
    type_by_keys(left, "12")
    tap(left, "Next")
    type_by_keys(left, "40")
    kept(left)
    type_by_keys(right, "15")  # out of reach, and unaware of the 12
    right.get_by_role("alert").get_by_text("The computer does not answer.").wait_for()
    right.evaluate("window.cut = false")
    kept(right)
    right.get_by_text("Another phone typed 12 here as well.").wait_for()
    assert sheets(served.folder)[0].otherwise() == {"0,0": ("12",)}
    right.locator("a.cell[data-at='1,0']", has_text="40").wait_for()
    left.locator("a.cell.two-said[data-at='0,0']", has_text="15").wait_for()
    left.locator("a.cell[data-at='0,0']").tap()
    left.get_by_role("button", name="Keep 15").tap()
    left.locator("#also").wait_for(state="hidden")
    right.locator("#also").wait_for(state="hidden")
    sheet = sheets(served.folder)[0]
    assert (sheet.latest()["0,0"].words, sheet.latest()["1,0"].words) == ("15", "40")
    assert sorted(len(cells) for cells in sheet.hands.values()) == [1, 2]


def test_a_press_of_read_while_a_figure_is_under_way_is_no_silent_one(served, phone):
    page = opened(served, phone())
    page.evaluate(HOLD)
    type_by_keys(page, "12")
    page.locator("body[data-held]").wait_for()
    type_by_keys(page, "3")
    tap(page, "Read")
    page.evaluate("window.held()")
    page.get_by_role("heading", name="What the readings say").wait_for()
    assert value_of(served, "0,0") == "123"


def test_a_cell_that_another_phone_put_right_is_not_put_back_by_going_on(served, phone):
    from playwright.sync_api import expect

    left = opened(served, phone())
    right = phone()
    come_in(right, served.another_code())
    right.get_by_role("link", name=re.compile("^bars")).tap()
    right.locator(".keys").wait_for()
    type_by_keys(left, "12")
    kept(left)
    right.locator("a.cell[data-at='0,0']", has_text="12").wait_for()
    type_by_keys(right, "15")
    kept(right)
    left.locator("a.cell[data-at='0,0']", has_text="15").wait_for()
    tap(left, "Next", "Back")
    expect(left.locator("#figure")).to_have_value("15")
    assert value_of(served, "0,0") == "15"


def test_keep_keeps_what_stands_on_the_key(served, phone):
    left = opened(served, phone())
    right = phone()
    come_in(right, served.another_code())
    right.get_by_role("link", name=re.compile("^bars")).tap()
    right.locator(".keys").wait_for()
    right.evaluate(CUT)
    type_by_keys(left, "12")
    kept(left)
    type_by_keys(right, "15")  # unaware of the 12
    right.evaluate("window.cut = false")
    kept(right)
    left.get_by_role("button", name="Keep 15").tap()
    left.locator("#also").wait_for(state="hidden")
    assert (value_of(served, "0,0"), sheets(served.folder)[0].otherwise()) == ("15", {})
