"""The parts of a static page: a place for every heading, the contents over them, wide tables that slide by themselves,
and the words of each part for the search."""

from __future__ import annotations

import json
import re
from dataclasses import asdict, dataclass
from html import escape, unescape
from html.parser import HTMLParser

_HEADING = re.compile(r"<h([23])([^>]*)>(.*?)</h\1>", re.DOTALL)
_TABLE = re.compile(r"<table\b.*?</table>", re.DOTALL)
_WIDE = '<div class="wide" tabindex="0" role="group" aria-label="Table">'
_UNSAID = {"script", "style", "details", "nav", "button", "fieldset", "title"}
"""What is no word of a lesson: code, switches, links from page to page."""


@dataclass(frozen=True, kw_only=True)
class Place:
    """A part of a lesson that the search finds.

    `page`: the page's file. `anchor`: where the part begins on it; empty for what stands before the first heading.
    """

    page: str
    anchor: str
    title: str
    heading: str
    text: str


def with_places(body: str) -> tuple[str, list[tuple[int, str, str]]]:
    """Give every heading of the second and third level a name to link to.

    Returns `found`: level, name and words of each, in order.

    >>> with_places("<h2>The floor</h2><h3>The floor</h3>")[1]
    [(2, 'the-floor', 'The floor'), (3, 'the-floor-2', 'The floor')]
    """
    found: list[tuple[int, str, str]] = []
    taken = set(re.findall(r'\bid="([^"]+)"', body))

    def named(match: re.Match) -> str:
        words = " ".join(unescape(re.sub(r"<[^>]+>", "", match[3])).split())
        stem = re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-") or "part"
        name = next(n for k in range(1, len(taken) + 2) if (n := stem if k == 1 else f"{stem}-{k}") not in taken)
        taken.add(name)
        found.append((int(match[1]), name, words))
        return f'<h{match[1]}{match[2]} id="{name}">{match[3]}</h{match[1]}>'

    return _HEADING.sub(named, body), found


def contents(found: list[tuple[int, str, str]]) -> str:
    """Return the list of a page's parts, folded, for under its title."""
    lines = "".join(
        f'<li class="level{level}"><a href="#{name}">{escape(words)}</a></li>' for level, name, words in found
    )
    return (
        f'<nav class="contents" aria-label="In this lesson"><details><summary>In this lesson</summary><ul>{lines}</ul>'
        "</details></nav>"
    )


def with_wide_tables(body: str) -> str:
    """Let every table slide in a box of its own, so that a page is never wider than a phone."""
    return _TABLE.sub(lambda match: f"{_WIDE}{match[0]}</div>", body)


class _Words(HTMLParser):
    """The words of a page, part by part."""

    def __init__(self) -> None:
        super().__init__()
        self.parts: list[tuple[str, str, list[str]]] = [("", "", [])]
        self._unsaid, self._within = 0, False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _UNSAID:
            self._unsaid += 1
        elif tag in ("h2", "h3"):
            self.parts.append((dict(attrs).get("id") or "", "", []))
            self._within = True

    def handle_endtag(self, tag: str) -> None:
        if tag in _UNSAID:
            self._unsaid -= 1
        elif tag in ("h2", "h3"):
            self._within = False

    def handle_data(self, data: str) -> None:
        if self._unsaid:
            return
        name, heading, words = self.parts[-1]
        if self._within:
            self.parts[-1] = (name, heading + data, words)
        else:
            words.append(data)


def places(page: str, title: str, html: str) -> list[Place]:
    """Return what the search finds on a page.

    `page`: its file.

    >>> places("04.html", "04 Three bars", '<p>Why</p><h2 id="a">The floor</h2><p>It  stays.</p>')[1].text
    'It stays.'
    """
    reader = _Words()
    reader.feed(html)
    reader.close()
    return [
        Place(
            page=page, anchor=name, title=title, heading=" ".join(head.split()), text=" ".join(" ".join(said).split())
        )
        for name, head, said in reader.parts
        if head or "".join(said).strip()
    ]


def as_script(found: list[Place]) -> str:
    """Return places as JSON that may stand in a page."""
    text = json.dumps([list(asdict(one).values()) for one in found], ensure_ascii=False, separators=(",", ":"))
    return text.replace("<", "\\u003c")
