"""The static pages in a real browser: on a phone, searched without a net, and on paper."""

import io
import re
import unicodedata

import pytest
from pypdf import PdfReader

from simulate.course.publish.static_pages import LESSONS, build, page

pytestmark = pytest.mark.browser
PHONE = {"width": 390, "height": 844}
WIDER = """() => {
    const wide = document.documentElement.clientWidth;
    const out = [...document.querySelectorAll('main *')].filter(e => {
        const box = e.getBoundingClientRect();
        return box.width > 0 && box.right > wide + 1 && !e.closest('.wide, .skip');
    });
    return {page: document.documentElement.scrollWidth, wide, out: out.slice(0, 3).map(e => e.outerHTML.slice(0, 80))};
}"""


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    return build(tmp_path_factory.mktemp("site") / "pages", positions=0)


@pytest.fixture
def phone(browser):
    context = browser.new_context(viewport=PHONE, offline=True)
    yield context.new_page()
    context.close()


def page_of(site, number):
    return next(path for path in site if path.name.startswith(number))


def test_no_page_is_wider_than_a_phone(phone, site, tmp_path):
    film = tmp_path / "film.html"
    film.write_text(page(LESSONS / "02_seeing_a_gap.ipynb", positions=2), encoding="utf-8")
    slides = 0
    for path in [*site, film]:
        phone.goto(path.as_uri())
        assert phone.evaluate(WIDER) == {"page": 390, "wide": 390, "out": []}, path.name
        slides += phone.evaluate(
            "() => [...document.querySelectorAll('.wide')].filter(w => w.scrollWidth > 390).length"
        )
    assert slides >= 2, "tables that are wider slide in their own boxes"


def test_the_contents_of_a_lesson_lead_to_each_of_its_parts(phone, site):
    path = page_of(site, "04")
    phone.goto(path.as_uri())
    listed = phone.get_by_role("navigation", name="In this lesson")
    listed.get_by_text("In this lesson", exact=True).click()
    names = listed.get_by_role("link").evaluate_all("links => links.map(a => a.hash.slice(1))")
    assert len(names) >= 9
    for name in names:
        listed.locator(f"a[href='#{name}']").click()
        phone.wait_for_url(f"**/{path.name}#{name}")
        phone.wait_for_function(
            "name => Math.abs(document.getElementById(name).getBoundingClientRect().top - 422) < 425",
            arg=name,
        )


def test_a_word_is_found_without_the_net_and_leads_to_its_part(phone, site):
    phone.goto(site[0].as_uri())
    field = phone.get_by_role("searchbox", name="Search all lessons")
    field.fill("winding strips")
    phone.wait_for_function("() => / parts?/.test(document.getElementById('search-told').textContent)")
    found = phone.locator("#search-found a")
    assert {"12", "16"} <= {text[:2] for text in found.all_text_contents()}
    assert phone.evaluate(WIDER)["out"] == []
    href = found.first.get_attribute("href")
    found.first.click()
    phone.wait_for_url(f"**/{href}")
    assert phone.evaluate("() => document.getElementById(location.hash.slice(1)).matches('h2, h3')")


def test_what_no_lesson_holds_is_told_in_words(phone, site):
    phone.goto(site[0].as_uri())
    phone.get_by_role("searchbox", name="Search all lessons").fill("winding <b>zeppelin</b>")
    phone.get_by_text("No part of a lesson holds all of these words").wait_for()
    assert phone.locator("#search-found li").count() == 0


def test_a_search_from_a_lesson_opens_the_list(phone, site):
    phone.goto(page_of(site, "10").as_uri())
    phone.get_by_role("searchbox", name="Search all lessons").first.fill("Pinwheel")
    phone.get_by_role("button", name="Search").first.click()
    phone.wait_for_url("**/index.html?q=Pinwheel")
    phone.wait_for_function("() => document.querySelectorAll('#search-found a').length > 0")
    assert "11" in {text[:2] for text in phone.locator("#search-found a").all_text_contents()}


def squeezed(text):
    """Text without spaces and without letters that are joined in print."""
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text))


PRINTED = """() => {
    const seen = e => e.getClientRects().length > 0 && !e.closest('nav');
    const all = what => [...document.querySelectorAll(what)].filter(seen).map(e => e.innerText.trim()).filter(Boolean);
    return {heads: all('h1, h2, h3'), cells: all('tbody tr > *'),
        shown: [...document.querySelectorAll('nav, form, input, button, .code details')].filter(
            e => getComputedStyle(e).display !== 'none' && e.getClientRects().length).length,
        folded: [...document.querySelectorAll('details')].filter(
            e => e.checkVisibility() && !e.lastElementChild.checkVisibility()).length};
}"""


@pytest.mark.parametrize("number", ["02", "04", "11", "24"])
def test_on_paper_no_heading_is_alone_no_row_is_torn_and_nothing_is_there_to_be_pressed(browser, site, number):
    context = browser.new_context(offline=True)
    sheet = context.new_page()
    sheet.emulate_media(media="print")
    sheet.goto(page_of(site, number).as_uri())
    told = sheet.evaluate(PRINTED)
    pages = [squeezed(p.extract_text()) for p in PdfReader(io.BytesIO(sheet.pdf(format="A4"))).pages]
    context.close()
    told |= {what: list(map(squeezed, told[what])) for what in ("heads", "cells")}
    assert "Whatthelessonrunshere" not in "".join(pages)
    assert told["shown"] == told["folded"] == 0 and len(told["heads"]) >= 8 and len(pages) >= 2
    for text in pages[:-1]:
        assert not [head for head in told["heads"] if text.endswith(head)], text[-60:]
    for cell in told["cells"]:
        assert any(cell in text for text in pages), f"torn, or not on paper: {cell}"
