"""All panels of all lessons on one small laptop: what stands together, how wide the tracks are, what is cut off, and
whether every label is read in both themes. One Lab, one kernel, each panel made once."""

import json
import urllib.request
from itertools import pairwise

import nbformat
import pytest

from simulate.course.notebook.refresh import LESSONS

pytestmark = pytest.mark.browser
LAPTOP, ZOOMED, NARROW = (1366, 658), (683, 329), (390, 700)
"""A screen of 768 px less the browser's own bars; the same at 200 %; a telephone."""
STOPPED = """panel = PracticePanel(log="my_stopped.json")
panel.act("look"), panel.act("stop")
panel"""
"""The practice bench once the truth is shown: no lesson's own cell ends there."""
ROOM_PX, TRACK_PX, CONTRAST = 536, 200, 4.5
IMPORTS = "from simulate.course import *\nfrom simulate.show import *\nfrom simulate import demo_path\nstart()"
TRY_IT = "## Try it\n\n1. " + "Move the first slider to its right end, and say before you let it go what changes. " * 2

LOOK = """() => {
  const parts = c => (c.match(/[\\d.]+/g) || []).map(Number);
  const over = (front, back) => { const a = front.length > 3 ? front[3] : 1;
    return [0, 1, 2].map(k => a * front[k] + (1 - a) * back[k]); };
  const behind = e => { const all = [];
    for (let n = e; n; n = n.parentElement) { all.push(parts(getComputedStyle(n).backgroundColor)); }
    return all.reverse().reduce((below, c) => c.length ? over(c, below) : below, [255, 255, 255]); };
  const light = c => {
    const l = c.map(v => v / 255).map(v => v <= 0.04045 ? v / 12.92 : Math.pow((v + 0.055) / 1.055, 2.4));
    return 0.2126 * l[0] + 0.7152 * l[1] + 0.0722 * l[2]; };
  const seen = e => { const r = e.getBoundingClientRect(); return r.width > 0 && r.height > 0; };
  const all = (panel, what) => [...panel.querySelectorAll(what)].filter(seen);
  return [...document.querySelectorAll('.jp-Notebook .jp-CodeCell')].slice(1).map(cell => {
    const panel = cell.querySelector('.workshop-panel'), at = panel.getBoundingClientRect();
    const words = all(panel, '.workshop-words')[0];
    const images = all(panel, 'img').map(i => i.getBoundingClientRect().bottom - at.top);
    const line = words ? words.getBoundingClientRect().top - at.top + parseFloat(getComputedStyle(words).lineHeight)
      : 0;
    const edge = Math.min(at.right, cell.querySelector('.jp-OutputArea').getBoundingClientRect().right,
      cell.closest('.jp-Notebook').getBoundingClientRect().right);
    const apart = '.workshop-grid-scroll, .workshop-scroll, .workshop-sheet-scroll';
    const out = all(panel, '.noUi-target, button, select, input, img, .widget-readout, .widget-label, p')
      .filter(e => !e.closest(apart) && e.getBoundingClientRect().right > edge + 2);
    const labels = all(panel, '.widget-label, .widget-readout, button, .widget-label-basic, summary, p, td, th, li')
      .filter(e => e.textContent.trim());
    const cut = labels.filter(e => e.scrollWidth > e.clientWidth + 1 && !e.matches('.workshop-more')
      && getComputedStyle(e).display !== 'inline' && getComputedStyle(e).overflowX !== 'visible');
    const ratios = labels.map(e => { const back = behind(e), ink = over(parts(getComputedStyle(e).color), back);
      const [a, b] = [light(ink), light(back)].sort((x, y) => y - x);
      return [(a + 0.05) / (b + 0.05), e.textContent.trim().slice(0, 40)]; }).sort((x, y) => x[0] - y[0]);
    const name = e => e.textContent.trim().slice(0, 40) || e.tagName + '.' + e.className;
    return {paged: !!panel.querySelector('.workshop-tabs'), steps: all(panel, '.workshop-step > p').length,
      high: at.height, need: Math.max(line, ...images),
      pictures: images.length,
      tracks: all(panel, '.workshop-rows .noUi-target').map(e => e.getBoundingClientRect().width),
      out: out.map(name), cut: cut.map(name), least: ratios[0]};
  });
}"""


def panel_cells() -> dict[str, str]:
    """The cells of all lessons that make a panel, each once."""
    found = {}
    for path in sorted(LESSONS.glob("[0-9][0-9]_*.ipynb")):
        for cell in nbformat.read(path, as_version=4).cells:
            if cell.cell_type == "code" and "Panel(" in cell.source and cell.source not in found.values():
                found[f"{path.name[:2]} {cell.source.splitlines()[0 if 'import' not in cell.source else 2]}"] = (
                    cell.source
                )
    return found


def with_steps() -> set[str]:
    """The cells whose panel is directed by a list of steps right above it."""
    books = [nbformat.read(path, as_version=4).cells for path in sorted(LESSONS.glob("[0-9][0-9]_*.ipynb"))]
    return {
        cell.source
        for cells in books
        for above, cell in pairwise(cells)
        if "## Try it" in above.source and "\n1. " in above.source
    }


def set_windowing(lab, **setting: str) -> None:
    """Have the Lab keep every cell on the page, so that all are measured at once; its own way where none is given."""
    address = f"{lab.url}/lab/api/settings/@jupyterlab/notebook-extension:tracker?token=workshop"
    data = json.dumps({"raw": json.dumps(setting)}).encode()
    urllib.request.urlopen(urllib.request.Request(address, method="PUT", data=data)).close()


@pytest.fixture
def all_panels(lesson, lab):
    """A notebook of every panel, run, with a step of two lines over those that have steps."""
    cells, directed = panel_cells() | {"22 stopped": STOPPED}, {*with_steps(), STOPPED}
    assert len(directed) > 20
    book = nbformat.v4.new_notebook(
        cells=[nbformat.v4.new_code_cell(IMPORTS)]
        + [
            make(source)
            for source in cells.values()
            for make in (lambda s: nbformat.v4.new_markdown_cell(TRY_IT * (s in directed)), nbformat.v4.new_code_cell)
        ],
        metadata={"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}},
    )
    path = lab.folder / "lessons" / "all_panels.ipynb"
    nbformat.write(book, path)
    set_windowing(lab, windowingMode="none")
    try:
        lesson.page.set_viewport_size({"width": LAPTOP[0], "height": LAPTOP[1]})
        lesson.open("lessons/all_panels.ipynb").run_all(400_000)
        yield lesson, list(cells)
    finally:
        set_windowing(lab)
        path.unlink()


def look(lesson, names: list[str], size=LAPTOP) -> dict[str, dict]:
    lesson.page.set_viewport_size({"width": size[0], "height": size[1]})
    lesson.page.wait_for_timeout(600)
    return dict(zip(names, lesson.page.evaluate(LOOK), strict=True))


def turn_pages(page, number: int) -> None:
    page.evaluate(
        """k => document.querySelectorAll('.workshop-tabs').forEach(bar => {
            const all = bar.querySelectorAll('button'); if (all[k]) all[k].click(); })""",
        number,
    )
    page.wait_for_timeout(2000)


def test_every_panel_fits_a_small_laptop_and_nothing_is_cut_off_narrower(all_panels):
    lesson, names = all_panels
    assert lesson.errors() == [] and len(names) >= 36
    seen = look(lesson, names)
    assert {n: s["need"] for n, s in seen.items() if not s["pictures"] or s["need"] > ROOM_PX} == {}
    assert {n: min(s["tracks"]) for n, s in seen.items() if s["tracks"] and min(s["tracks"]) < TRACK_PX} == {}
    assert {n: s["cut"] for n, s in seen.items() if s["cut"]} == {}
    assert sum(len(s["tracks"]) for s in seen.values()) >= 60
    for dark in (False, True):
        lesson.menu("Settings", "Theme", f"JupyterLab {'Dark' if dark else 'Light'}")
        lesson.page.wait_for_function("d => document.body.dataset.jpThemeLight === String(!d)", arg=dark)
        lesson.page.wait_for_timeout(1000)
        read = look(lesson, names)
        assert {n: s["least"] for n, s in read.items() if s["least"][0] < CONTRAST} == {}, f"dark: {dark}"
    lesson.menu("Settings", "Theme", "JupyterLab Light")
    for number in (0, 2, 3):
        turn_pages(lesson.page, number)
        paged = {n: s for n, s in look(lesson, names).items() if s["paged"]}
        assert len(paged) >= 13
        directed = [name for name, source in panel_cells().items() if name in paged and source in with_steps()]
        assert {n for n in directed if paged[n]["steps"] != 1} == set() and len(directed) >= 3, f"page {number}"
        assert {n: s["high"] for n, s in paged.items() if s["high"] > ROOM_PX} == {}, f"page {number}"
    turn_pages(lesson.page, 1)
    for size in (ZOOMED, NARROW):
        if size == NARROW:
            lesson.page.keyboard.press("Control+b")  # puts the list of files away
        assert {n: s["out"] for n, s in look(lesson, names, size).items() if s["out"]} == {}, size
