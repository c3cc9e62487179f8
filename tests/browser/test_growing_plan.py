"""In a real kernel and browser: a plan answers from the first workshops, grows by itself, and gives way to a slider."""

import nbformat
import pytest

pytestmark = pytest.mark.browser
WHOLE = 10_000
TOLD = r"() => [...document.querySelectorAll('.workshop-words')].at(-1)?.textContent ?? ''"


@pytest.fixture
def panel(lesson):
    """A notebook of one cell, the panel of lesson 21 with little to do."""
    notebook = nbformat.v4.new_notebook(metadata={"kernelspec": {"name": "python3", "display_name": "Python 3"}})
    notebook.cells = [
        nbformat.v4.new_code_cell(
            "from simulate.show.planning.plan_panel import PlanPanel\n\nPlanPanel(start_um=60, rounds=2, workshops=200)"
        )
    ]
    nbformat.write(notebook, lesson.lab.folder / "plan.ipynb")
    return lesson.open("plan.ipynb").run_all()


def said(lesson):
    return lesson.page.evaluate(TOLD)


def wait_until(lesson, part):
    lesson.page.wait_for_function(f"part => (({TOLD})()).startsWith(part)", arg=part, timeout=240_000)


def test_the_bands_grow_by_themselves_and_a_slider_goes_first(panel):
    assert said(panel).startswith("200 workshops simulated.")
    panel.page.locator(".workshop-more").first.click()
    panel.page.locator("select").filter(has_text="10000").select_option("10000")
    wait_until(panel, f"The first 1000 of {WHOLE:,}".replace(",", " "))
    panel.press("Share taken from one bar", "ArrowRight", 60)
    told = said(panel)  # the new setting began anew, with few workshops, and says so
    assert told.startswith("The first ") and int(told.split()[2]) < WHOLE
    wait_until(panel, "The first 2000")
    assert panel.errors() == []
    panel.shot("growing_plan")
