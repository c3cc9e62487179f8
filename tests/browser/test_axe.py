"""What axe-core finds on the static pages, on the wall, and in our outputs in the Lab: nothing serious. It is bundled,
no net."""

import os

import pytest

from simulate.course.notebook.refresh import LESSONS
from simulate.course.notebook.wall_plan import plan_of
from simulate.course.publish.static_pages import build, page
from simulate.course.wall.projector import DPI, projected
from simulate.show.bars.gap import GapPanel

pytestmark = pytest.mark.browser
HARD = {"serious", "critical"}


@pytest.fixture(scope="module")
def axe():
    if not os.environ.get("CI"):
        pytest.importorskip("axe_playwright_python")
    from axe_playwright_python.sync_playwright import Axe

    return Axe()


@pytest.fixture
def window(browser):
    context = browser.new_context(viewport={"width": 1366, "height": 768})
    yield context.new_page()
    context.close()


def faults(axe, window, **where):
    """Serious and critical findings, each with the first place where it was found."""
    answer = axe.run(window, **where).response
    assert len(answer["passes"]) >= 5, "axe looked at something"
    return [(v["id"], v["nodes"][0]["html"][:200]) for v in answer["violations"] if v["impact"] in HARD]


def test_no_static_page_has_a_serious_fault(axe, window, tmp_path):
    looked = 0
    for path in build(tmp_path / "pages", positions=0):
        window.goto(path.as_uri())
        assert faults(axe, window) == [], path.name
        looked += 1
    assert looked == 1 + len(list(LESSONS.glob("[0-9][0-9]_*.ipynb")))


def test_a_page_whose_panel_is_a_film_has_no_serious_fault_before_and_after_a_step(axe, window, tmp_path):
    path = tmp_path / "page.html"
    path.write_text(page(LESSONS / "02_seeing_a_gap.ipynb", positions=2), encoding="utf-8")
    window.goto(path.as_uri())
    assert faults(axe, window) == []
    window.get_by_role("button", name="Next").first.click()
    assert faults(axe, window) == []


def test_the_wall_has_no_serious_fault_light_or_dark_asking_or_not(axe, window, tmp_path):
    path = tmp_path / "wall.html"
    path.write_text(projected(GapPanel(dpi=DPI), "A gap", plan_of("02", "GapPanel")), encoding="utf-8")
    window.goto(path.as_uri())
    looked = 0
    for key in ("Home", "PageDown", "d", "PageDown"):  # as it opens, asking, asking in the dark, gone on in the dark
        window.keyboard.press(key)
        assert faults(axe, window) == [], key
        looked += 1
    assert looked == 4


def test_a_fault_is_found_where_there_is_one(axe, window):
    window.set_content(
        '<html lang="en"><title>t</title><main><h1>t</h1><p style="color:#bbb">pale</p><img src="data:,"></main></html>'
    )
    assert {name for name, _ in faults(axe, window)} == {"color-contrast", "image-alt"}


def test_our_outputs_in_the_lab_have_no_serious_fault(axe, lesson):
    """The Lab's own parts round them are not ours and not counted."""
    lesson.open("lessons/02_seeing_a_gap.ipynb").run_all()
    lesson.handle("Widest gap").press("ArrowLeft")
    lesson.settle("Widest gap")
    assert lesson.page.locator(".jp-OutputArea-output .workshop-panel").count() >= 3
    assert faults(axe, lesson.page, context={"include": [[".jp-OutputArea-output"]]}) == []
