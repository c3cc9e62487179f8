"""Whether anybody answers: a press of a button that no kernel answers is told on the page itself, and none overtakes
what was typed before it."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator

import ipywidgets as widgets

WAIT_S = 4
"""After so many seconds without an answer the page says so."""
HELD_S = 60
"""So long a press waits at most for a kernel that hears and does not hold what was typed."""
MOST_DIGITS = 15
"""Of a number that comes back; a script counts no further by ones. It is the page's clock in ms, which has 13."""
_TYPED = (widgets.Text, widgets.Textarea)
_COUNTED = (widgets.FloatText, widgets.IntText, widgets.BoundedFloatText, widgets.BoundedIntText)


class Pulse:
    """A hidden field that the page writes a number into at every press, and the number that comes back from the kernel.

    A field that is typed into quickly holds its newest words back until the kernel has taken those before, while a
    press is sent at once; and a kernel that runs a cell takes the messages of some fields before those of others. So
    after typing the number goes first, with what stands in the fields, and comes back once the panel holds just that;
    the press follows then. Until it does the page asks again. Numbers only grow, and a later one that comes back
    answers those before it too: of numbers that are written while the kernel is busy it takes the last alone.

    `panel`: gives the box whose fields are typed into.
    """

    def __init__(self, panel: Callable[[], widgets.Widget]) -> None:
        self._panel = panel
        self.asked, self.answered = widgets.Text(description="pulse"), widgets.HTML(_back("0", "0"))
        self._held = "0"
        self.asked.observe(self._answer, names="value")
        script = {"output_type": "display_data", "metadata": {}, "data": {"text/html": SCRIPT}}
        self.view = widgets.HBox(
            [self.asked, self.answered, widgets.Output(outputs=(script,))], layout=widgets.Layout(display="none")
        )
        self.view.add_class("workshop-pulse")

    def _answer(self, change) -> None:
        try:
            said = json.loads(change.new)
            number, typed = str(said["number"]), [_plain(words) for words in said["typed"]]
        except (ValueError, TypeError, KeyError, RecursionError):
            return  # no page of ours writes such a thing
        heard = "".join(c for c in number if c.isdigit())[:MOST_DIGITS]
        if typed:
            there = {_plain(words) for words in _said(self._panel())}
        if not typed or there.issuperset(typed):
            self._held = heard
        self.answered.value = _back(self._held, heard)


def _back(held: str, heard: str) -> str:
    return f'<span data-heard="{heard}">{held}</span>'


def _said(widget: widgets.Widget) -> Iterator[str]:
    """Give what stands in every field of a box."""
    if isinstance(widget, (*_TYPED, *_COUNTED)):
        yield str(widget.value)
    for child in getattr(widget, "children", ()):
        yield from _said(child)


def _plain(words: object) -> str:
    """Write what is typed as page and kernel both would: a figure as a number, one sign for the end of a line."""
    text = str(words).replace("\r\n", "\n")
    try:
        return repr(float(text))
    except ValueError:
        return text


SCRIPT = """<script>
(function () {
  if (window.workshopPulse) { return; }
  window.workshopPulse = { watch: watch };
  var last = 0, typed = new WeakMap(), upto = new WeakMap(), held = [], timer = 0;
  var FIELDS = '.widget-text input, .widget-textarea textarea';
  var unanswered = 'No answer yet: the kernel is busy, or it has stopped. '
    + 'If this line stays, choose Kernel, then Restart Kernel and Run All Cells: '
    + 'what is in a logbook or kept as a draft comes back.';
  // a browser that leaves the focus where it is has not yet told that the field was changed
  function commit(panel) {
    var field = document.activeElement;
    if (!typed.has(panel) || !typed.get(panel).has(field)) { return; }
    field.dispatchEvent(new Event('change', { bubbles: true }));
  }
  // what stands in the fields that were typed into and are still there
  function words(panel) {
    return Array.from(typed.get(panel) || []).filter(function (field) { return document.contains(field); })
      .map(function (field) { return field.value; });
  }
  // gives the number that the kernel is to send back, 0 where a panel has no pulse
  function write(panel) {
    var input = panel && panel.querySelector('.workshop-pulse input');
    if (!input) { return 0; }
    last = Math.max(last + 1, Date.now());
    input.value = JSON.stringify({ number: last, typed: words(panel) });
    input.dispatchEvent(new Event('input', { bubbles: true }));
    input.dispatchEvent(new Event('change', { bubbles: true }));
    return last;
  }
  function back(panel) { return panel.querySelector('.workshop-pulse .widget-html-content span'); }
  function isHeard(panel, number) { return !!back(panel) && Number(back(panel).dataset.heard) >= number; }
  function isHeld(panel, number) { return !!back(panel) && Number(back(panel).textContent) >= number; }
  function ask(panel) {
    var number = write(panel);
    if (number) { watch(panel, function () { return isHeard(panel, number); }); }
    return number;
  }
  // presses that wait are made in their order, each once, as soon as the kernel holds what was typed before them
  function release() {
    held.slice().forEach(function (press) {
      var there = document.contains(press.button), panel = press.panel;
      if (there && !isHeld(panel, press.number)) {
        press.since = press.since || (isHeard(panel, press.number) && Date.now());
        if (!press.since || Date.now() - press.since < HELD_MS) {
          if (isHeard(panel, press.asked) && Date.now() - press.asked > 200) { press.asked = write(panel); }
          return;
        }
      }
      if (there) {
        if (upto.get(panel) === press.upto) { typed.delete(panel); }
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
        line.textContent = unanswered;
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
      commit(panel);
      var number = ask(panel);
      if (!number || waiting || !typed.has(panel) || pressed.matches('.widget-upload')) { return; }
      var press = { button: pressed, panel: panel, number: number, asked: number, upto: upto.get(panel), made: false };
      held.push(press);
      watch(panel, function () { return held.indexOf(press) < 0; });
      timer = timer || window.setInterval(release, 20);
    }
    event.preventDefault();
    event.stopImmediatePropagation();
  }, true);
  document.addEventListener('input', function (event) {
    var panel = event.target.closest && event.target.closest('.workshop-panel');
    if (!panel || event.target.closest('.workshop-pulse') || !event.target.matches(FIELDS)) { return; }
    if (!typed.has(panel)) { typed.set(panel, new Set()); }
    typed.get(panel).add(event.target);
    upto.set(panel, (upto.get(panel) || 0) + 1);
  }, true);
  document.addEventListener('change', function (event) {
    var given = event.target.matches && event.target.matches('.workshop-panel input[type=file]');
    if (given) { ask(event.target.closest('.workshop-panel')); }
  }, true);
})();
</script>""".replace("WAIT_MS", str(1000 * WAIT_S)).replace("HELD_MS", str(1000 * HELD_S))
