"""Labels of controls are read in the Lab's light theme and in its dark one: WCAG 2.2, 4.5 to 1, measured in
Chromium."""

import pytest

pytestmark = pytest.mark.browser

# The least contrast of a label's letters against what lies behind it, with the label, and how many were measured.
CONTRAST = """() => {
  const parts = c => (c.match(/[\\d.]+/g) || []).map(Number);
  const over = (front, back) => { const a = front.length > 3 ? front[3] : 1;
    return [0, 1, 2].map(k => a * front[k] + (1 - a) * back[k]); };
  const behind = e => { const all = [];
    for (let n = e; n; n = n.parentElement) { all.push(parts(getComputedStyle(n).backgroundColor)); }
    return all.reverse().reduce((below, c) => c.length ? over(c, below) : below, [255, 255, 255]); };
  const light = c => {
    const l = c.map(v => v / 255).map(v => v <= 0.04045 ? v / 12.92 : Math.pow((v + 0.055) / 1.055, 2.4));
    return 0.2126 * l[0] + 0.7152 * l[1] + 0.0722 * l[2]; };
  const found = [...document.querySelectorAll('.workshop-panel .widget-label, .workshop-panel .widget-readout')]
    .filter(e => e.offsetWidth > 0 && e.textContent.trim()).map(e => {
      const back = behind(e), letters = over(parts(getComputedStyle(e).color), back);
      const [a, b] = [light(letters), light(back)].sort((x, y) => y - x);
      return [(a + 0.05) / (b + 0.05), e.textContent.trim(), light(back)]; });
  found.sort((x, y) => x[0] - y[0]);
  return {least: found[0], count: found.length};
}"""


@pytest.mark.parametrize(("theme", "dark"), [("JupyterLab Light", False), ("JupyterLab Dark", True)])
def test_labels_are_read_in_both_themes(lesson, theme, dark):
    lesson.open("lessons/02_seeing_a_gap.ipynb")
    lesson.menu("Settings", "Theme", theme)
    try:
        lesson.page.wait_for_function("d => document.body.dataset.jpThemeLight === String(!d)", arg=dark)
        lesson.run_all()
        found = lesson.page.evaluate(CONTRAST)
        lesson.shot(f"labels_{'dark' if dark else 'light'}")
        assert found["count"] >= 4
        assert (found["least"][2] < 0.2) == dark, "the background is what the theme makes it"
        assert found["least"][0] >= 4.5, found["least"]
    finally:
        lesson.menu("Settings", "Theme", "JupyterLab Light")
