"""One set of readings in the logbook, with every wording it ever had."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field, fields, replace
from datetime import UTC, datetime
from typing import Any

from simulate.core import checks


def now() -> str:
    """Return the time of day as it is written into a logbook: universal time, to the microsecond.

    >>> now()[10], now()[-6:]
    ('T', '+00:00')
    """
    return datetime.now(UTC).isoformat(timespec="microseconds")


@dataclass(frozen=True, kw_only=True)
class DependsOn:
    """What one body of a set is known from: an earlier set of the logbook, or a certificate.

    Attributes
    ----------
    body : str
        Its name in the readings that are taken against it.
    set : str
        Identity of the earlier set; empty for a certificate.
    earlier : str
        Its name there.
    value, expanded, k : float
        What the certificate says: straightness or flatness in um or angle in urad, expanded uncertainty, coverage
        factor.
    said : str
        Whose certificate and when, in the learner's words.
    kind : str
        Of body that was chosen as known; empty in older logbooks, which do not say it.
    """

    body: str
    set: str = ""
    earlier: str = ""
    value: float = 0.0
    expanded: float = 0.0
    k: float = 2.0
    said: str = ""
    kind: str = ""


@dataclass(frozen=True)
class Entry:
    """One set of readings as it was taken.

    Two entries are equal where they say the same; who they are and what they said earlier is not compared.

    Attributes
    ----------
    readings : str
        The whole text of the readings file, unchanged.
    name : str
        What the file was called.
    note : str
        The learner's own words.
    units : str
        What the figures are in.
    reading_sd_um : float or None
        The spread of one reading, where the learner gave it. For a survey along eight lines it is in seconds of arc.
    taken : str
        When, in the learner's own words or as a date.
    target_um : float or None
        How good the work has to be, where the learner said so.
    struck : bool
        Struck out: it stays in the logbook and in no result.
    depends_on : tuple of DependsOn
        Bodies of these readings that are known already, and from what.
    feel_um, place_mm : float or None
        Of blades: one standard deviation of the gap at which one is felt to go, and of where it went in; None leaves
        them to the readings.
    resolution_um : float or None
        Smallest step of point readings, above 0; None leaves it to the figures.
    written : str
        When this wording was written, universal time.
    identity : str
        Stays the same through every edit.
    earlier : tuple of Entry
        What it said before, the oldest first.
    """

    readings: str
    name: str = "readings.csv"
    note: str = ""
    units: str = "heights in um, positions in mm"
    reading_sd_um: float | None = None
    taken: str = ""
    target_um: float | None = None
    struck: bool = False
    depends_on: tuple[DependsOn, ...] = ()
    feel_um: float | None = None
    place_mm: float | None = None
    resolution_um: float | None = None
    written: str = field(default_factory=now, compare=False)
    identity: str = field(default_factory=lambda: secrets.token_hex(16), compare=False)
    earlier: tuple[Entry, ...] = field(default=(), compare=False, repr=False)


WORDING = tuple(f.name for f in fields(Entry) if f.compare) + ("written",)
"""The fields that one wording consists of."""
_OPEN = tuple(f.name for f in fields(Entry) if f.compare)


def edited(entry: Entry, when: str | None = None, **changes: object) -> Entry:
    """Return an entry that says something else now and still holds what it said before.

    Parameters
    ----------
    entry : Entry
    when : str, optional
        Time of the edit; now by default.
    **changes
        Fields of `Entry` and what they say from now on.

    Returns
    -------
    Entry
        The same one where nothing changes.

    Raises
    ------
    ValueError
        Where no such field may be edited.

    Examples
    --------
    >>> old = Entry("lower,upper,position_mm,gap_um", note="cold shop")
    >>> new = edited(old, note="cold shop, 16 degrees")
    >>> new.note, [was.note for was in history(new)]
    ('cold shop, 16 degrees', ['cold shop', 'cold shop, 16 degrees'])
    """
    for name in changes:
        checks.choice(name, "field of an entry", _OPEN)
    given: dict[str, Any] = {**changes, "written": when or now()}
    new = replace(entry, **given, earlier=(*entry.earlier, replace(entry, earlier=())))
    return entry if new == entry else new


def history(entry: Entry) -> tuple[Entry, ...]:
    """Return every wording of an entry, the oldest first and the present one last.

    Parameters
    ----------
    entry : Entry

    Returns
    -------
    tuple of Entry

    Examples
    --------
    >>> len(history(Entry("")))
    1
    """
    return (*entry.earlier, replace(entry, earlier=()))


def gone_back(entry: Entry, place: int, when: str | None = None) -> Entry:
    """Return an entry that says again what it said once; going back is an edit too, so nothing is lost by it.

    `place`: which wording of ``history(entry)``, 0 the oldest.

    >>> entry = edited(Entry("", note="first"), note="second")
    >>> gone_back(entry, 0).note, len(history(gone_back(entry, 0)))
    ('first', 3)
    """
    was = history(entry)
    checks.whole(place, "place", 0, len(was) - 1)
    return edited(entry, when, **{name: getattr(was[place], name) for name in _OPEN})


def with_history(identity: str, wordings: list[Entry] | tuple[Entry, ...]) -> Entry:
    """Put wordings together to the entry that they are.

    `wordings`: the oldest first.

    >>> with_history("one", [Entry("", note="a"), Entry("", note="b")]).earlier[0].note
    'a'
    """
    own = [replace(wording, identity=identity, earlier=()) for wording in wordings]
    return replace(own[-1], earlier=tuple(own[:-1]))
