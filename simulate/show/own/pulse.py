"""Whether anybody answers: a press of a button that no kernel answers is told on the page itself, and none overtakes
what was typed before it."""

from __future__ import annotations

import ipywidgets as widgets

WAIT_S = 4
"""After so many seconds without an answer the page says so."""
MOST_DIGITS = 15
"""Of a number that comes back; a script counts no further by ones. It is the page's clock in ms, which has 13."""


class Pulse:
    """A hidden field that the page writes a number into at every press, and the number that comes back from the kernel.

    A field that is typed into quickly holds its newest words back until the kernel has taken those before, while a
    press is sent at once. So after typing the number goes first and the press follows when it comes back: by then the
    page has sent all that was typed. Numbers only grow, and a later one that comes back answers those before it too:
    of numbers that are written while the kernel is busy it takes the last alone.
    """

    def __init__(self) -> None:
        self.asked, self.answered = widgets.Text(description="pulse"), widgets.HTML("<span>0</span>")
        self.asked.observe(self._answer, names="value")
        script = {"output_type": "display_data", "metadata": {}, "data": {"text/html": SCRIPT}}
        self.view = widgets.HBox(
            [self.asked, self.answered, widgets.Output(outputs=(script,))], layout=widgets.Layout(display="none")
        )
        self.view.add_class("workshop-pulse")

    def _answer(self, change) -> None:
        number = "".join(c for c in change.new if c.isdigit())[:MOST_DIGITS]
        self.answered.value = f"<span>{number}</span>"


SCRIPT = """<script>
(function () {
  if (window.workshopPulse) { return; }
  window.workshopPulse = { watch: watch };
  var last = 0, typed = new WeakMap(), held = [], timer = 0;
  var words = 'No answer yet: the kernel is busy, or it has stopped. '
    + 'If this line stays, choose Run, then Run All Cells: what is in a logbook or kept as a draft comes back.';
  // gives whether the kernel has answered, as a function; nothing where a panel has no pulse
  function ask(panel) {
    var input = panel && panel.querySelector('.workshop-pulse input');
    if (!input) { return null; }
    var number = last = Math.max(last + 1, Date.now());
    input.value = String(number);
    input.dispatchEvent(new Event('input', { bubbles: true }));
    input.dispatchEvent(new Event('change', { bubbles: true }));
    function answered() {
      var back = panel.querySelector('.workshop-pulse .widget-html-content span');
      return !!back && Number(back.textContent) >= number;
    }
    watch(panel, answered);
    return answered;
  }
  // presses that wait are made in their order, each once, as soon as their number or a later one is back
  function release() {
    held.slice().forEach(function (press) {
      var there = document.contains(press.button);
      if (there && !press.answered()) { return; }
      if (there) {
        if (typed.get(press.panel) === press.upto) { typed.delete(press.panel); }
        press.made = true;
        press.button.click();
      }
      held.splice(held.indexOf(press), 1);
    });
    if (!held.length) { window.clearInterval(timer); timer = 0; }
  }
  function watch(panel, answered) {
    var start = Date.now();
    var timer = window.setInterval(function () {
      var line = panel.querySelector('.workshop-no-answer');
      if (answered()) {
        window.clearInterval(timer);
        if (line) { line.remove(); }
      } else if (!document.contains(panel)) {
        window.clearInterval(timer);
      } else if (!line && Date.now() - start > WAIT_MS) {
        line = document.createElement('p');
        line.className = 'workshop-no-answer';
        line.setAttribute('role', 'alert');
        line.textContent = words;
        panel.insertBefore(line, panel.firstChild);
      }
    }, 250);
  }
  document.addEventListener('click', function (event) {
    var pressed = event.target.closest && event.target.closest('.workshop-panel button');
    var panel = pressed && pressed.closest('.workshop-panel');
    if (!pressed) { return; }
    var waiting = held.find(function (press) { return press.button === pressed; });
    if (!waiting || waiting.made) {
      var answered = ask(panel);
      if (!answered || waiting || !typed.has(panel) || pressed.matches('.widget-upload')) { return; }
      held.push({ button: pressed, panel: panel, answered: answered, upto: typed.get(panel), made: false });
      timer = timer || window.setInterval(release, 20);
    }
    event.preventDefault();
    event.stopImmediatePropagation();
  }, true);
  document.addEventListener('input', function (event) {
    var panel = event.target.closest && event.target.closest('.workshop-panel');
    if (panel && !event.target.closest('.workshop-pulse')) { typed.set(panel, (typed.get(panel) || 0) + 1); }
  }, true);
  document.addEventListener('change', function (event) {
    var given = event.target.matches && event.target.matches('.workshop-panel input[type=file]');
    if (given) { ask(event.target.closest('.workshop-panel')); }
  }, true);
  var look = document.createElement('style');
  look.textContent = '.workshop-no-answer { border-left: 6px solid #D55E00; padding: 4px 10px; font-size: 15px;'
    + ' line-height: 1.4; position: sticky; top: 0; z-index: 5; background: var(--jp-layout-color1, white);'
    + ' color: var(--jp-content-font-color1, black); }';
  document.head.appendChild(look);
})();
</script>""".replace("WAIT_MS", str(1000 * WAIT_S))
