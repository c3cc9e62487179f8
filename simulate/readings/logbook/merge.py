"""Two notebooks on one logbook: what both have written is kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from simulate.readings.logbook.entry import WORDING, Entry, history, with_history


@dataclass(frozen=True)
class Merged:
    """What a logbook holds after two notebooks wrote into it.

    `came`: how many entries, or wordings of entries, the other notebook had written that this one had not seen. `both`:
    places of the entries that both had edited; they say what this notebook wrote last, and hold both. `sentence`: empty
    where nothing came.
    """

    entries: tuple[Entry, ...]
    came: int
    both: tuple[int, ...]
    sentence: str


def merge(theirs: Sequence[Entry], ours: Sequence[Entry]) -> Merged:
    """Put together what stands in the file and what this notebook holds.

    `theirs`: as they stand in the file. Returns: the file's entries in their order, then ours that it had not. Every
    wording of either is in it; a wording counts as the same where it says the same and was written at the same time.

    >>> here, there = Entry("a"), Entry("b")
    >>> merge([there], [here]).sentence
    'Another notebook had saved 1 set or edit in the meantime; it was kept, beside yours.'
    >>> merge([there], [there, here]).sentence
    ''
    """
    mine = {entry.identity: entry for entry in ours}
    found, both, came = [], [], 0
    for place, entry in enumerate(theirs):
        own = mine.pop(entry.identity, None)
        stood, held = history(entry), history(own) if own else ()
        new = _beyond(held, stood)
        unseen = len(_beyond(stood, held))
        came += unseen
        if own and new and unseen:
            both.append(place)
        found.append(with_history(entry.identity, (*stood, *new)))
    found += [entry for entry in ours if mine.pop(entry.identity, None) is not None]
    return Merged(tuple(found), came, tuple(both), _sentence(came, both))


def _beyond(wordings: Sequence[Entry], known: Sequence[Entry]) -> list[Entry]:
    stands = {(wording.written, _content(wording)) for wording in known}
    return [wording for wording in wordings if (wording.written, _content(wording)) not in stands]


def _content(wording: Entry) -> tuple:
    return tuple(getattr(wording, field) for field in WORDING if field != "written")


def _sentence(came: int, both: Sequence[int]) -> str:
    if not came:
        return ""
    said = (
        f"Another notebook had saved {came} set{'s' if came > 1 else ''} or edit{'s' if came > 1 else ''} in the "
        f"meantime; {'they were' if came > 1 else 'it was'} kept, beside yours."
    )
    if both:
        said += (
            f" Entry {', '.join(str(place + 1) for place in both)} was edited in both: it says what you wrote, and its "
            "history keeps what the other one says."
        )
    return said
