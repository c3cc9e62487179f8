"""How panels and films look where they have the focus, and how the looks of a playing panel rise: a style for a page."""

from __future__ import annotations

from simulate.show.flash import CALM_MS

PAGE_FOCUS = """<style>
.workshop-panel button:focus, .workshop-panel button:focus-visible, .workshop-panel [role=slider]:focus,
.workshop-panel .noUi-handle:focus, .workshop-panel select:focus, .workshop-panel input:focus,
.workshop-panel textarea:focus, .workshop-player button:focus, .workshop-player input:focus {
  outline: 3px solid #D55E00 !important; outline-offset: 2px; }
.workshop-panel .widget-label { font-size: 14px; color: var(--jp-content-font-color0, #000); }
.workshop-panel .widget-readout { font-size: 14px; }
</style>"""
"""For a page without a kernel and for the start of a lesson; it is stored with the lessons."""

FOCUS = PAGE_FOCUS.replace("</style>", f""".workshop-panel .widget-readout:focus {{ outline: 3px solid #D55E00; }}
.workshop-rise {{ display: grid; grid-template-columns: minmax(0, 1fr); }}
.workshop-rise img {{ grid-area: 1 / 1; }}
.workshop-rise img:first-child {{ z-index: 1; }}
@media (prefers-reduced-motion: no-preference) {{
  .workshop-rise img:first-child {{ animation: workshop-rise {CALM_MS}ms linear; }}
}}
@keyframes workshop-rise {{ from {{ opacity: 0; }} }}
</style>""")
"""For live panels, whose readouts take figures as well, and whose looks rise out of each other while they play."""
