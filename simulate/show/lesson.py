"""The start of a lesson: names for the sliders that a screen reader can say, and a focus that can be seen."""

from __future__ import annotations

_STYLE = """<style>
.jp-OutputArea :focus-visible { outline: 3px solid #0072B2 !important; outline-offset: 2px; }
.jp-OutputArea .widget-radio-box label { white-space: normal; height: auto; }
</style>"""

_SCRIPT = """<script>
(function () {
  if (window.lessonLabels) { return; }
  function label() {
    document.querySelectorAll('.jupyter-widgets').forEach(function (box) {
      var said = box.querySelector('.widget-label');
      var hand = box.querySelector('.noUi-handle, input, select, textarea');
      var words = said ? said.textContent.trim() : '';
      if (hand && words && !hand.getAttribute('aria-label')) { hand.setAttribute('aria-label', words); }
    });
    document.querySelectorAll('.widget-play button').forEach(function (button) {
      var words = button.getAttribute('title');
      if (words && !button.getAttribute('aria-label')) { button.setAttribute('aria-label', words); }
    });
  }
  window.lessonLabels = setInterval(label, 1000);
  label();
})();
</script>"""

_WORDS = "The lesson is ready. Run, then Run All Cells, makes every panel live."


class Start:
    """What the first cell of a lesson shows: a sentence, and labels for keyboard and screen reader.

    Examples
    --------
    >>> Start()
    The lesson is ready. Run, then Run All Cells, makes every panel live.
    """

    def __repr__(self) -> str:
        """Return the sentence."""
        return _WORDS

    def _repr_html_(self) -> str:
        """Return the sentence with the style and the script of the labels."""
        return f"<p>{_WORDS}</p>\n{_STYLE}\n{_SCRIPT}"


def start() -> Start:
    """Return what the first cell of a lesson shows.

    Returns
    -------
    Start
        Copies each slider's visible label to where a screen reader looks for
        it, and draws a line round whatever the keyboard is on.

    Examples
    --------
    >>> start()
    The lesson is ready. Run, then Run All Cells, makes every panel live.
    """
    return Start()
