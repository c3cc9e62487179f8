"""How a fault of the course shows itself: one line that asks to report it, and the traceback folded below."""

from __future__ import annotations

import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from html import escape

import ipywidgets as widgets

ASKS = (
    "This is a fault of the course, not of what you did. Please report it with the lines folded below; the "
    "README says where."
)


def fault_html(fault: BaseException) -> str:
    """Show an exception that nobody meant as a refusal.

    Returns: HTML; what the exception says is escaped.

    >>> "<details>" in fault_html(TypeError("1 < 2")) and "1 &lt; 2" in fault_html(TypeError("1 < 2"))
    True
    """
    lines = escape("".join(traceback.format_exception(fault)))
    return (
        f'<div role="alert" style="border-left:6px solid currentColor;padding:4px 10px;font-size:15px;line-height:1.4">'
        f"<strong>{ASKS}</strong><details><summary>{escape(type(fault).__name__)}</summary>"
        f'<pre style="overflow:auto;max-height:20em;font-size:13px;line-height:1.3">{lines}</pre></details></div>'
    )


@contextmanager
def faults_shown(box: widgets.HTML) -> Iterator[None]:
    """Show a fault in a box and let it go on up, so that a script, a test and the log of the kernel see it too."""
    try:
        yield
    except Exception as fault:
        box.value = fault_html(fault)
        if ASKS not in getattr(fault, "__notes__", ()):
            fault.add_note(ASKS)
        raise
