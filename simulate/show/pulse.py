"""Whether anybody answers: a press of a button that no kernel answers is told on the page itself."""

from __future__ import annotations

import ipywidgets as widgets

WAIT_S = 4
"""After so many seconds without an answer the page says so."""


class Pulse:
    """A hidden field that the page writes a number into at every press, and the number that comes back from the kernel."""

    def __init__(self) -> None:
        self.asked, self.answered = widgets.Text(description="pulse"), widgets.HTML("<span>0</span>")
        self.asked.observe(self._answer, names="value")
        script = {"output_type": "display_data", "metadata": {}, "data": {"text/html": SCRIPT}}
        self.view = widgets.HBox([self.asked, self.answered, widgets.Output(outputs=(script,))], layout=widgets.Layout(display="none"))
        self.view.add_class("workshop-pulse")

    def _answer(self, change) -> None:
        number = "".join(c for c in change.new if c.isdigit())[:9]
        self.answered.value = f"<span>{number}</span>"


SCRIPT = """<script>
(function () {
  if (window.workshopPulse) { return; }
  window.workshopPulse = true;
  var count = 0;
  var words = 'No answer yet: the kernel is busy, or it has stopped. If this line stays, choose Run, then Run All Cells: '
    + 'what is in a logbook or kept as a draft comes back.';
  function ask(panel) {
    var input = panel.querySelector('.workshop-pulse input');
    var back = panel.querySelector('.workshop-pulse .widget-html-content span');
    if (!input) { return; }
    var number = String(++count + Date.now() % 100000 * 1000);
    input.value = number;
    input.dispatchEvent(new Event('input', { bubbles: true }));
    input.dispatchEvent(new Event('change', { bubbles: true }));
    var start = Date.now();
    var timer = window.setInterval(function () {
      back = panel.querySelector('.workshop-pulse .widget-html-content span');
      var line = panel.querySelector('.workshop-no-answer');
      if (back && back.textContent === number) {
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
    if (pressed) { ask(pressed.closest('.workshop-panel')); }
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
