"""Presses that wait for a kernel: none is lost, doubled or out of order where numbers written while it was busy are
merged, as a widget merges them."""

import pytest

from simulate.show.own.pulse import SCRIPT

pytestmark = pytest.mark.browser
PANEL = """<div class="workshop-panel">
<div class="workshop-pulse"><input><div class="widget-html-content"><span data-heard="0">0</span></div></div>
<div class="widget-text"><input id="words"></div>
<button id="save">Save</button><button id="open">Open</button><button id="read">Read</button>
<button id="file" class="widget-upload">File</button></div>"""
KERNEL = """() => {
  const number = document.querySelector('.workshop-pulse input'), back = document.querySelector('span');
  window.made = []; window.asked = []; window.holds = true;
  window.pending = null; window.buffer = null; window.sent = 0;
  number.addEventListener('change', () => {
    window.asked.push(JSON.parse(number.value).typed.join());  // while one is under way the newest alone waits
    if (window.pending === null) { window.pending = number.value; } else { window.buffer = number.value; }
  });
  window.answer = () => {
    if (window.pending === null) { return; }
    back.dataset.heard = JSON.parse(window.pending).number;
    if (window.holds) { back.textContent = back.dataset.heard; }
    window.pending = window.buffer; window.buffer = null; window.sent += 1;
  };
  document.querySelectorAll('button').forEach(b => b.addEventListener('click', () => window.made.push(b.id)));
}"""


@pytest.fixture
def panel(browser):
    context = browser.new_context()
    page = context.new_page()
    page.set_content(f"<!DOCTYPE html><html><body>{PANEL}{SCRIPT}</body></html>")
    page.evaluate(KERNEL)
    yield page
    context.close()


def press(page, *names):
    for name in names:
        page.locator(f"#{name}").click()


def made(page, *names):
    """Wait until just these presses were made."""
    page.wait_for_function("names => window.made.join() === names", arg=",".join(names))


def test_presses_while_the_kernel_is_busy_are_made_in_order_and_once(panel):
    panel.locator("#words").fill("typed")
    press(panel, "save", "open", "read", "open")
    assert panel.evaluate("window.made") == []  # nothing overtakes what was typed
    panel.evaluate("window.answer()")
    made(panel, "save")
    while panel.evaluate("window.pending !== null"):
        panel.evaluate("window.answer()")
    made(panel, "save", "open", "read")
    press(panel, "open")  # nothing waits any more: made at once
    made(panel, "save", "open", "read", "open")


def test_a_press_of_an_answer_that_was_passed_over_is_made_by_the_later_one(panel):
    panel.locator("#words").fill("typed")
    press(panel, "save", "open")
    panel.evaluate("() => { window.answer(); window.answer(); }")  # the first stands for no time at all
    made(panel, "save", "open")


def test_a_press_waits_for_a_kernel_that_hears_and_does_not_yet_hold_what_was_typed_and_asks_it_again(panel):
    panel.evaluate("window.holds = false")
    panel.locator("#words").fill("typed")
    press(panel, "save")
    for asked in (2, 3):
        panel.evaluate("window.answer()")
        panel.wait_for_function("n => window.asked.length >= n", arg=asked)
    assert panel.evaluate("window.made") == []
    assert set(panel.evaluate("window.asked")) == {"typed"}
    panel.evaluate("() => { window.holds = true; window.answer(); window.answer(); }")
    made(panel, "save")
    press(panel, "open")
    made(panel, "save", "open")
    assert panel.evaluate("window.asked.at(-1)") == ""  # what was typed is held, and not asked for any more


def test_a_file_is_asked_for_at_once_whatever_was_typed(panel):
    panel.locator("#words").fill("typed")
    press(panel, "save", "file")
    made(panel, "file")


def test_a_kernel_that_is_dead_keeps_the_press_and_says_so(panel):
    panel.locator("#words").fill("typed")
    press(panel, "save", "save")
    panel.locator(".workshop-no-answer").wait_for()
    assert panel.evaluate("window.made") == []
    panel.evaluate("window.answer()")  # it was only busy
    made(panel, "save")
    panel.locator(".workshop-no-answer").wait_for(state="detached")
