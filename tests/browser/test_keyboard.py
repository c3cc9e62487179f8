"""A whole lesson by keyboard alone: run it, reach every control of ours with a focus that can be seen, move, choose,
answer."""

import pytest

pytestmark = pytest.mark.browser

OURS = ".jp-OutputArea-output .workshop-panel, .jp-OutputArea-output .workshop-player"
# The focused element: whether it is ours, what it is called, and how its focus is drawn.
FOCUS = """ours => {
  const now = document.activeElement, panel = now && now.closest('.workshop-panel, .workshop-player');
  if (!panel) { return {ours: false, tag: now ? now.tagName : ''}; }
  const style = getComputedStyle(now), box = now.getBoundingClientRect();
  const all = [...document.querySelectorAll(ours)];
  const name = now.getAttribute('aria-label') || now.textContent.trim()
    || (now.labels && now.labels[0] && now.labels[0].textContent) || '';
  now.dataset.met = '1';
  return {ours: true, panel: all.indexOf(panel), name: name.trim(),
          role: now.getAttribute('role') || now.type || now.tagName,
          outline: style.outlineStyle === 'none' ? 0 : parseFloat(style.outlineWidth),
          seen: box.top >= 0 && box.bottom <= innerHeight && box.width > 0};
}"""
LEFT = """ours => [...document.querySelectorAll(ours)]
  .flatMap(p => [...p.querySelectorAll('[role=slider], button, select, input, textarea')])
  .filter(e => !e.disabled && e.offsetWidth > 0 && e.tabIndex >= 0 && e.type !== 'radio' && !e.dataset.met)
  .map(e => e.outerHTML.slice(0, 120))"""


@pytest.fixture
def by_keyboard(lesson):
    """Lesson 02, run from the command palette."""
    lesson.open("lessons/02_seeing_a_gap.ipynb")
    page = lesson.page
    page.keyboard.press("Control+Shift+C")
    page.keyboard.type("Run All Cells")
    page.locator(".lm-CommandPalette-item.lm-mod-active", has_text="Run All Cells").first.wait_for()
    page.keyboard.press("Enter")
    page.wait_for_function(
        "() => document.querySelectorAll('.jp-OutputArea-output .workshop-panel').length >= 7", timeout=180_000
    )
    page.wait_for_selector("#jp-main-statusbar >> text=| Idle", timeout=180_000)
    page.wait_for_timeout(1000)
    return lesson


def test_tab_reaches_every_control_of_a_lesson_with_a_focus_that_can_be_seen(by_keyboard):
    page, met = by_keyboard.page, []
    page.locator(".jp-Notebook").first.evaluate(
        "n => n.querySelector('.jp-OutputArea-output .workshop-panel').scrollIntoView()"
    )
    page.keyboard.press("Escape")
    for _ in range(160):
        page.keyboard.press("Tab")
        now = page.evaluate(FOCUS, OURS)
        if now["ours"]:
            met.append(now)
        if met and not page.evaluate(LEFT, OURS):
            break
    assert page.evaluate(LEFT, OURS) == []
    assert len(met) >= 15 and len({m["panel"] for m in met}) >= 7
    for control in met:
        assert control["name"], control
        assert control["outline"] >= 3 and control["seen"], control
    by_keyboard.shot("keyboard_focus")


def test_arrows_move_a_slider_and_enter_gives_an_answer(by_keyboard):
    page, moved, answered = by_keyboard.page, False, False
    page.keyboard.press("Escape")
    for _ in range(160):
        page.keyboard.press("Tab")
        now = page.evaluate(FOCUS, OURS)
        if now["ours"] and now["role"] == "slider" and not moved:
            before = by_keyboard.settle("Widest gap")["alt"]
            page.keyboard.press("ArrowLeft")
            moved = by_keyboard.settle("Widest gap")["alt"] != before
        if now["ours"] and now["role"] == "text" and "Answer" in now["name"]:
            page.keyboard.type("4")
            page.keyboard.press("Enter")
            said = page.locator(".workshop-panel [role=status]", has_text="Not yet").or_(
                page.locator(".workshop-panel [role=status]", has_text="Right.")
            )
            said.first.wait_for()
            answered = True
            break
    assert moved and answered


def test_a_fold_and_a_button_that_stays_down_tell_a_screen_reader_their_state(lesson):
    page = lesson.open("lessons/14_square_from_three.ipynb").run_all().page
    panel = page.locator(".workshop-panel:has(.workshop-more)").first
    folded = panel.get_by_role("button", name="Metal removed per pass", expanded=False)
    folded.press("Enter")
    panel.get_by_role("button", name="Metal removed per pass", expanded=True).wait_for()
    assert panel.locator(".workshop-rest").first.is_visible()
    units = page.locator(".workshop-units").first
    assert units.get_by_role("button", pressed=True).count() == 1
    units.get_by_role("button", pressed=False).first.press("Enter")
    page.locator(".workshop-units.workshop-units-inch").first.wait_for(state="attached")
    assert "inch" in units.get_by_role("button", pressed=True).inner_text().lower()
    panel = page.locator(".workshop-panel:has(.workshop-more)").first
    panel.get_by_role("button", name="Metal removed per pass", expanded=False).wait_for()


def wait_for_step(page, number: int) -> None:
    """Wait until the panel holds that step of the list, as the list says it now."""
    page.wait_for_function(
        """n => { const list = Array.from(document.querySelectorAll('.jp-MarkdownOutput')).find(one =>
            Array.from(one.querySelectorAll('h2')).some(head => head.textContent.startsWith('Try it')));
          const steps = list ? Array.from(list.querySelectorAll('ol > li')) : [];
          const told = document.querySelector('.workshop-step > p');
          return told && steps.length
            && told.textContent === `Step ${n} of ${steps.length}: ${steps[n - 1].textContent}`; }""",
        arg=number,
        timeout=30_000,
    )


def test_the_step_of_try_it_stands_in_its_panel_word_for_word_and_goes_on_by_keys(lesson):
    page = lesson.open("lessons/04_three_bars.ipynb").run_all().page
    wait_for_step(page, 1)
    line = page.locator(".workshop-step")
    assert line.count() == 1 and line.locator("p").text_content().startswith("Step 1 of 5: Go through the first round")
    assert line.get_by_role("button", name="Previous step").is_disabled()
    for number in (2, 3, 4, 5):
        line.get_by_role("button", name="Next step").press("Enter")
        wait_for_step(page, number)
    assert line.get_by_role("button", name="Next step").is_disabled()
    page.locator(".workshop-units").first.get_by_role("button", pressed=False).press("Enter")
    page.locator(".workshop-units.workshop-units-inch").first.wait_for(state="attached")
    page.wait_for_function("() => document.querySelector('.workshop-words').innerText.includes(' thou')")
    wait_for_step(page, 5)
    page.wait_for_function("() => !document.querySelector('.workshop-step').previousSibling", timeout=10_000)
