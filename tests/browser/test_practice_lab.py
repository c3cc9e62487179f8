"""Lesson 22 in a real browser: a short go by keys alone to its debrief, a kernel that dies on the way, and two
screens."""

import json
import urllib.request

import pytest

pytestmark = pytest.mark.browser
TOKEN = "workshop"  # as conftest.py starts the Lab
LESSON = "lessons/22_the_practice_bench.ipynb"

NAME = """() => { const a = document.activeElement;
    return (a.getAttribute('aria-label') || a.textContent || '').trim(); }"""
WORDS = "() => document.querySelector('.workshop-panel .workshop-words').textContent"
CUT = """() => [...document.querySelectorAll('.workshop-panel .widget-label')].filter(e =>
    e.getBoundingClientRect().width > 0 && e.scrollWidth > e.clientWidth + 1).map(e => e.textContent)"""
FITS = """() => {
    const panel = document.querySelector('.workshop-panel:has(img)').getBoundingClientRect();
    const ours = ['button', 'select', 'img'].map(what => '.workshop-panel ' + what).join(', ');
    return [...document.querySelectorAll(ours)].filter(e => {
        const r = e.getBoundingClientRect();
        return r.width > 0 && r.right > panel.right + 1; }).length;
}"""


def tab_to(page, name: str, key: str = "Tab", most: int = 40) -> None:
    """Press Tab until the control of that name has the focus."""
    for _ in range(most):
        if page.evaluate(NAME) == name:
            return
        page.keyboard.press(key)
    raise AssertionError(f"{most} times {key} did not reach {name!r}; the focus is on {page.evaluate(NAME)!r}")


def wait_for(page, words: str) -> str:
    """The words under the picture, once they hold these."""
    page.wait_for_function(f"w => ({WORDS})().includes(w)", arg=words, timeout=30_000)
    return page.evaluate(WORDS)


def press(page, name: str, words: str, key: str = "Tab") -> str:
    tab_to(page, name, key)
    page.keyboard.press("Space")
    return wait_for(page, words)


def begin(lesson):
    """Only the cells up to the panel: a short go needs no film."""
    lesson.open(LESSON).run_all()
    page = lesson.page
    wait_for(page, "So far: 0 actions")
    page.get_by_role("combobox", name="Gauge, below").first.focus()
    return page


def kernel_of(lab) -> str:
    with urllib.request.urlopen(f"{lab.url}/api/sessions?token={TOKEN}") as answer:
        (session,) = json.load(answer)
    return session["kernel"]["id"]


def test_a_short_go_by_keys_alone_through_a_dead_kernel_to_its_debrief_on_two_screens(lesson, lab):
    page = begin(lesson)
    press(page, "Look", "Light: ")
    for name, size in (("laptop", (1366, 768)), ("projector", (1920, 1080))):
        page.set_viewport_size({"width": size[0], "height": size[1]})
        page.wait_for_timeout(300)
        page.evaluate("() => document.querySelector('.workshop-panel:has(img)').scrollIntoView()")
        lesson.shot(f"lesson_22_bench_{name}")
        assert page.evaluate(FITS) == 0, "nothing of the panel is cut off at the right"
        assert page.evaluate(CUT) == [], "every label is there to its last letter"
    press(page, "File where it touches", "2 actions, 6 checks")
    press(page, "Swap the two", "Bar 1, in the vice, lies on bar 2", "Shift+Tab")
    assert "4 actions" in press(page, "Look", "Light: ")

    request = urllib.request.Request(
        f"{lab.url}/api/kernels/{kernel_of(lab)}/restart?token={TOKEN}", method="POST", data=b""
    )
    urllib.request.urlopen(request).close()
    page.wait_for_selector("#jp-main-statusbar >> text=| Idle", timeout=60_000)
    lesson.run_all()
    assert "4 actions, 7 checks" in wait_for(page, "Light: "), "the bench stands as it stood"

    page.get_by_role("combobox", name="Gauge, below").first.focus()
    press(page, "Stop and see the truth", "The truth then, out of straight")
    told = page.locator(".workshop-panel:has(img)").first.text_content()
    for part in ("The plain loop of three", "The best plan", "Fits still valid", "What to try next"):
        assert part in told
    page.evaluate("() => document.querySelector('.workshop-panel:has(img)').scrollIntoView()")
    lesson.shot("lesson_22_debrief_projector")
    page.set_viewport_size({"width": 1366, "height": 768})
    page.wait_for_timeout(300)
    lesson.shot("lesson_22_debrief_laptop")
    assert page.locator(".workshop-panel table caption").first.text_content().startswith("Bars number 1")
    assert lesson.errors() == []
