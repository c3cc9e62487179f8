"""The wall's pages in their order: the index, the way from page to page, and the presenter's sheet to hold or print."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from simulate.course.notebook.wall_plan import Plan
from simulate.course.wall.wall_sentences import plan_table
from simulate.show.drawing.style import PAGES_CSS
from simulate.show.units.switch import in_both

KEYS = {
    "Space": "play or pause",
    "right or Page Down, left or Page Up": "a step on, a step back; before a question it waits",
    "up, down": "faster, slower",
    "Home, End": "to the ends",
    "N, P": "next page, previous page",
    "I": "this index",
    "D": "dark or light",
    "B or the point": "black, and back",
    "F": "full screen",
}
"""What the keys of a page do; small and capital letters are the same. Hand-held presenters send Page Up and Page Down,
and the point or B for black."""


@dataclass(frozen=True, kw_only=True)
class WallPage:
    """One page of the wall.

    `plan`: what is asked in it.
    """

    file: str
    title: str
    plan: Plan | None


def ways(files: Sequence[str], place: int) -> dict[str, str]:
    """Return where a page leads to: the page before it, the one after it, and the index.

    >>> ways(["a.html", "b.html"], 0)
    {'index': 'index.html', 'next page': 'b.html'}
    """
    found = {"index": "index.html"}
    if place:
        found["previous page"] = files[place - 1]
    if place + 1 < len(files):
        found["next page"] = files[place + 1]
    return found


def index_page(pages: Sequence[WallPage]) -> str:
    """Give the index of the wall: every page with its minutes, and what the keys do."""
    rows = "".join(
        f'<li><a href="{escape(page.file, quote=True)}">{escape(page.title)}</a>{_minutes(page.plan)}</li>'
        for page in pages
    )
    keys = "".join(f'<tr><th scope="row">{escape(key)}</th><td>{does}</td></tr>' for key, does in KEYS.items())
    return _page(
        "The wall",
        f'<ol>{rows}</ol><p><a href="presenter.html">Presenter\'s sheet</a>: what to ask, what is likely to be said, '
        "what to answer. It is for you, and not for the wall.</p><table><caption>Keys</caption>"
        f"{keys}</table>",
    )


def presenter_page(pages: Sequence[WallPage], units: str = "mm") -> str:
    """Give the presenter's sheet: for each page its questions in order, the likely wrong answers, and what to say."""
    parts = [
        f"<h2>{k}. {escape(page.title)}</h2>" + in_both(plan_table(page.plan, k), units)
        for k, page in enumerate(pages, 1)
        if page.plan is not None
    ]
    return _page(
        "Presenter's sheet",
        "<p>On a second screen, or printed. A page stops by itself where it asks; the next key press shows the "
        "answer.</p>" + "".join(parts),
    )


def _minutes(plan: Plan | None) -> str:
    if plan is None:
        return ""
    many = len(plan.asks)
    return f", {plan.minutes} minutes, {many} question{'' if many == 1 else 's'}"


def _page(title: str, body: str) -> str:
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width, initial-scale=1"><title>{escape(title)}</title>'
        f"<style>{PAGES_CSS.read_text(encoding='utf-8')}\n@media print {{ tr, li {{ break-inside: avoid }} h2 {{ "
        f"break-after: avoid }} }}</style></head>\n<body><main><h1>{escape(title)}</h1>{body}</main></body></html>\n"
    )
