"""How panels and films look where they have the focus, and how the looks of a playing panel rise: a style for a
page."""

from __future__ import annotations

from pathlib import Path

from simulate.show.drawing.flash_limit import CALM_MS

PAGE_FOCUS = """<style>
.workshop-panel button:focus, .workshop-panel button:focus-visible, .workshop-panel [role=slider]:focus,
.workshop-panel .noUi-handle:focus, .workshop-panel select:focus, .workshop-panel input:focus,
.workshop-panel textarea:focus, .workshop-player button:focus, .workshop-player input:focus {
  outline: 3px solid #D55E00 !important; outline-offset: 2px; }
.workshop-panel .widget-label { font-size: 14px; color: var(--jp-content-font-color0, #000); }
.workshop-panel .widget-readout { font-size: 14px; }
</style>"""
"""For a page without a kernel and for the start of a lesson; it is stored with the lessons."""

_ARROW = (
    "data:image/svg+xml,%3Csvg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 18 18'%3E"
    "%3Cpath d='M5.2 5.9 9 9.7l3.8-3.8 1.2 1.2-4.9 5-5-5z' fill='%23fff'/%3E%3C/svg%3E"
)
"""The arrow of a menu, light for the Lab's dark theme, where the widgets' own is black."""

FOCUS = PAGE_FOCUS.replace(
    "</style>",
    f""".workshop-panel .widget-readout:focus {{ outline: 3px solid #D55E00; }}
.workshop-rise {{ display: grid; grid-template-columns: minmax(0, 1fr); }}
.workshop-rise img {{ grid-area: 1 / 1; z-index: var(--at); }}
@media (prefers-reduced-motion: no-preference) {{
  .workshop-rise img {{ animation: workshop-rise {CALM_MS}ms linear calc((var(--at) - 1) * {CALM_MS}ms) backwards; }}
}}
@keyframes workshop-rise {{ from {{ opacity: 0; }} }}
[data-jp-theme-light="false"] .workshop-panel .widget-dropdown > select {{ background-image: url("{_ARROW}"); }}
.jp-RenderedText pre {{ word-break: normal; overflow-wrap: break-word; }}
{Path(__file__).with_name("panel.css").read_text(encoding="utf-8")}</style>""",
)
"""For live panels, whose readouts take figures as well, and whose looks rise out of each other while they play;
lines that a lesson printed break between words. How panels share a small screen stands in ``panel.css``."""
