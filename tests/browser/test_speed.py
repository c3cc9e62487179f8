"""How soon a slider of lesson 04 answers in Chromium, against the plain way in the same run.

The plain way is `interact` with the inline backend: a function that makes the same figure of the same numbers with
pyplot and shows it, called for every change. Both stand in one notebook, so that both have the same Lab and the same kernel.
No time on the clock is asserted, only the ratio.
"""

from statistics import median

import nbformat
import pytest

pytestmark = pytest.mark.browser
PRESSES = 9
QUICK = """\
from simulate.show.three_bars import ThreeBarsPanel

def panel_of_1280_by_720():
    panel = ThreeBarsPanel()
    panel.canvas.figure.set_size_inches(12.8, 7.2)
    panel.canvas.invalidate()
    panel.refresh()
    return panel

quick = panel_of_1280_by_720()
quick"""
PLAIN = """\
%matplotlib inline
import ipywidgets
import matplotlib.pyplot as plt
from simulate.show import style
from simulate.show.bench_picture import BenchPicture
from simulate.show.convergence import Convergence

class Paper:
    def moving(self, *artists):
        return artists[0]
    def renew(self):
        pass
    slow, invalidate = moving, renew

history = quick.history

def redraw(place):
    with style.styled():
        figure = plt.figure(figsize=(12.8, 7.2), dpi=100)
        bench = BenchPicture(Paper(), figure.add_axes((0.015, 0.13, 0.575, 0.86)), 3)
        curve = Convergence(Paper(), figure.add_axes((0.655, 0.13, 0.25, 0.78)))
        bench.frame(500.0)
        curve.frame(history)
        bench.show(history.x_mm, history.steps[place])
        curve.show(history, place)
        plt.show()

_ = ipywidgets.interact(redraw, place=ipywidgets.IntSlider(0, 0, len(history.steps) - 1, description="Plain way"))"""


@pytest.fixture
def both_ways(lesson, lab):
    cells = [nbformat.v4.new_code_cell(text) for text in (QUICK, PLAIN)]
    kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
    nbformat.write(nbformat.v4.new_notebook(cells=cells, metadata={"kernelspec": kernel}), lab.folder / "speed.ipynb")
    return lesson.open("speed.ipynb").run_all()


def presses(lesson, name: str) -> list[float]:
    """Milliseconds of each of a row of key presses, after one that does not count."""
    lesson.settle(name)
    times = []
    for _ in range(PRESSES + 1):
        times.append(lesson.press(name, "ArrowRight"))
        lesson.settle(name)
    return times[1:]


def test_a_key_press_is_answered_5_times_quicker_than_in_the_plain_way(both_ways):
    start = both_ways.settle("Step")
    assert (start["wide"], start["high"]) == (1280, 720)
    # The best of five pairs: what else runs on the machine must not decide.
    ratios = []
    while len(ratios) < 5 and max(ratios, default=0) < 5:
        quick, plain = presses(both_ways, "Step"), presses(both_ways, "Plain way")
        assert len(quick) == len(plain) == PRESSES
        ratios.append(median(plain) / median(quick))
        print(f"\nkey press to picture: {median(quick):.0f} ms against {median(plain):.0f} ms in the plain way, "
              f"{ratios[-1]:.1f} times quicker")  # fmt: skip
    both_ways.shot("speed_both_ways")
    assert max(ratios) >= 5
