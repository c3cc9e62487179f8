"""Who comes in to the bench page: a code that opens it once, sessions of those who came in, and how much each may
ask."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass, field

LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
"""Of a code that somebody may have to type: none that looks like another."""
CODE_LENGTH = 16
CODE_S = 15 * 60
"""How long a code opens the page."""
WRONG_CODES = 20
"""After so many wrong ones the code is void."""
SESSION_S = 24 * 3600
MOST_PHONES = 8
BURST, PER_S = 80, 20
"""Requests of one address: so many at once, and so many a second in the long run."""
ALL_BURST, ALL_PER_S = 240, 60
"""Of all addresses together."""
_MOST_ADDRESSES = 64


@dataclass(kw_only=True)
class Visitor:
    """A phone that came in.

    `hand`: its name in drafts, of the computer's own making. `came`, `seen`: when it came, and when it asked last, by
    the clock of the door. `told`: one line that its next page shows once.
    """

    hand: str
    came: float
    seen: float
    told: str = ""


@dataclass(kw_only=True)
class _Bucket:
    left: float
    at: float

    def take(self, now: float, most: float, per_s: float) -> bool:
        self.left, self.at = min(most, self.left + (now - self.at) * per_s), now
        if self.left < 1:
            return False
        self.left -= 1
        return True


@dataclass(kw_only=True)
class Door:
    """The door of the bench page.

    `clock`: seconds that never run back.

    >>> door = Door()
    >>> code = door.new_code()
    >>> cookie = door.enter(code)
    >>> door.enter(code), door.visitor(cookie) is not None, door.visitor("another")
    (None, True, None)
    """

    clock: Callable[[], float] = time.monotonic
    _code: str = ""
    _until: float = 0.0
    _wrong: int = 0
    _visitors: dict[str, Visitor] = field(default_factory=dict)
    _buckets: dict[str, _Bucket] = field(default_factory=dict)
    last_asked: float = 0.0
    _every: _Bucket = field(default_factory=lambda: _Bucket(left=ALL_BURST, at=0.0))

    def new_code(self) -> str:
        """Make a code that opens the door once; an earlier one opens it no more."""
        self._code = "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))
        self._until, self._wrong = self.clock() + CODE_S, 0
        return self._code

    def fits(self, code: str) -> bool:
        """Say whether a code would open the door now; it is not used up by that."""
        if self._code and self.clock() < self._until and hmac.compare_digest(code.encode(), self._code.encode()):
            return True
        self._wrong += 1
        if self._wrong >= WRONG_CODES:
            self._code = ""
        return False

    def enter(self, code: str) -> str | None:
        """Use a code up.

        Returns: the word by which whoever came in is known from now on; None where the code does not open the door.
        """
        if not self.fits(code):
            return None
        self._code = ""
        now, word = self.clock(), secrets.token_urlsafe(32)
        while len(self._visitors) >= MOST_PHONES:
            del self._visitors[min(self._visitors, key=lambda name: self._visitors[name].seen)]
        self._visitors[_name_of(word)] = Visitor(hand=secrets.token_hex(8), came=now, seen=now)
        self.last_asked = now
        return word

    def visitor(self, word: str) -> Visitor | None:
        """Return who is known by a word; None where nobody is, or he came too long ago."""
        found = self._visitors.get(_name_of(word))
        now = self.clock()
        if found is None or now - found.came > SESSION_S:
            return None
        found.seen = self.last_asked = now
        return found

    def lets(self, address: str) -> bool:
        """Say whether an address may ask once more now."""
        now = self.clock()
        if address not in self._buckets:
            while len(self._buckets) >= _MOST_ADDRESSES:
                del self._buckets[min(self._buckets, key=lambda name: self._buckets[name].at)]
            self._buckets[address] = _Bucket(left=BURST, at=now)
        own = self._buckets[address].take(now, BURST, PER_S)
        return own and self._every.take(now, ALL_BURST, ALL_PER_S)


def _name_of(word: str) -> str:
    """What is kept of a word: it cannot be told from that."""
    return hashlib.sha256(word.encode("utf-8", "replace")).hexdigest()
