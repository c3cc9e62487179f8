"""Names for screen readers and keys that reach the controls, put out once by a lesson's start."""

from __future__ import annotations

from IPython.display import HTML

from simulate.show.drawing.focus import PAGE_FOCUS

_SCRIPT = """<script>
(function () {
  if (window.workshopAccess) { return; }
  window.workshopAccess = true;
  function put(node, name, value) {
    if (node && value && node.getAttribute(name) !== value) { node.setAttribute(name, value); }
  }
  function name() {
    document.querySelectorAll('.jupyter-widgets').forEach(function (box) {
      var label = box.querySelector(':scope > .widget-label');
      var words = label ? label.textContent.trim() : '';
      box.querySelectorAll('[role=slider], input, select, textarea, .widget-readout').forEach(function (part) {
        if (part.closest('.jupyter-widgets') === box) { put(part, 'aria-label', words); }
      });
    });
    document.querySelectorAll('.workshop-panel button, .workshop-panel [role=slider], .workshop-panel select,'
      + ' .workshop-panel input').forEach(function (part) {
      put(part, 'data-lm-suppress-shortcuts', 'true');
      if (part.tagName === 'BUTTON' && !part.textContent.trim()) { put(part, 'aria-label', part.title); }
    });
    document.querySelectorAll('.jp-OutputArea-output').forEach(function (output) {
      var picture = output.querySelector('.jp-RenderedImage img') ||
        (output.matches('.jp-RenderedImage') ? output.querySelector('img') : null);
      if (picture && !picture.alt) {
        var cell = picture.closest('.jp-Cell');
        var next = cell && cell.nextElementSibling;
        put(picture, 'alt', next && next.matches('.jp-MarkdownCell') ? next.textContent.trim().slice(0, 300)
          : 'picture of this cell');
      }
    });
  }
  var waiting = false;
  new MutationObserver(function () {
    if (waiting) { return; }
    waiting = true;
    window.requestAnimationFrame(function () { waiting = false; name(); });
  }).observe(document.body, { childList: true, subtree: true });
  name();
})();
</script>"""

STATES = """<script>
(function () {
  if (window.workshopStates) { return; }
  window.workshopStates = true;
  function tell(button) {
    var name = button.matches('.workshop-more, .workshop-unfolds') ? 'aria-expanded' : 'aria-pressed';
    button.setAttribute(name, String(button.classList.contains('mod-active')));
  }
  var turned = new MutationObserver(function (changes) { changes.forEach(function (one) { tell(one.target); }); });
  function find() {
    document.querySelectorAll('.workshop-panel .widget-toggle-button:not([aria-expanded], [aria-pressed])')
      .forEach(function (button) {
        tell(button);
        turned.observe(button, { attributes: true, attributeFilter: ['class'] });
      });
  }
  new MutationObserver(find).observe(document.body, { childList: true, subtree: true });
  find();
})();
</script>"""
"""Whether a live button that stays down is down, and whether what it folds away is in sight, which widgets show by
colour alone."""


def accessibility() -> HTML:
    """Give the script that names sliders and buttons for screen readers.

    Returns: visible labels are copied to ``aria-label``, the arrow keys reach the sliders, and the focus is drawn 3 px
    wide. Once in a lesson is enough.

    >>> "aria-label" in accessibility().data
    True
    """
    return HTML(PAGE_FOCUS + _SCRIPT)
