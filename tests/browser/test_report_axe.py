"""The report's page held against axe-core in a real browser."""

import os

import pytest

pytestmark = pytest.mark.browser


def test_the_report_passes_axe_core_at_every_width(browser, tmp_path):
    if not os.environ.get("CI"):
        pytest.importorskip("axe_playwright_python")
    from axe_playwright_python.sync_playwright import Axe
    from test_report import ENTRIES

    from simulate.show.own.workshop.report import write_report

    page_file, _ = write_report(ENTRIES, tmp_path / "report", "mm")
    looked = 0
    for width in (1366, 420):
        page = browser.new_page(viewport={"width": width, "height": 768})
        asked = []
        page.on("request", lambda request, asked=asked: asked.append(request.url))
        page.goto(page_file.as_uri())
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()
        assert page.evaluate("document.documentElement.scrollWidth") <= width, "nothing sticks out sideways"
        assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
        if os.environ.get("WORKSHOP_SCREENSHOTS"):
            page.screenshot(
                path=os.path.join(os.environ["WORKSHOP_SCREENSHOTS"], f"report_{width}.png"), full_page=True
            )
        page.close()
        looked += 1
    assert looked == 2
