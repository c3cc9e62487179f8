"""Goes at the practice bench in one file: seeds and acts, from which the bars come back as they were."""

from __future__ import annotations

import json
import os
from collections.abc import Sequence

from simulate.core.atomic_files import LARGEST_BYTES, LogbookError, locked, read_bytes, write_whole
from simulate.core.refusal import Refusal
from simulate.method.practice.acts import Act, PracticeState, replay, start_practice
from simulate.readings.logbook.file_format import version_of

FORMAT, VERSION = "three-bar practice", 2
_ALLOWED = "a log that the practice bench saved"
_START = ("seed", "error_um", "length_mm", "level", "rules")
_FIRST = {"level": "bars", "rules": 1}
"""What every go of version 1 was: three bars, filed by the rules of then."""


def save_practice(path: str | os.PathLike, goes: Sequence[PracticeState]) -> None:
    """Save all goes, whole or not at all.

    `goes`: the oldest first.

    The file is held from reading it to writing it again, so that of two notebooks that save in the same instant the
    second sees what the first wrote.

    >>> import tempfile
    >>> from simulate.method.practice.acts import look
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     save_practice(f"{folder}/go.json", [look(start_practice(7))])
    ...     open_practice(f"{folder}/go.json")[0].acts[0].kind
    'look'
    """
    name = os.path.basename(os.fspath(path))
    ours = [_plain(state) for state in goes]
    book = {"format": FORMAT, "version": VERSION, "goes": ours}
    data = json.dumps(book, indent=1, allow_nan=False).encode("ascii")
    if len(data) > LARGEST_BYTES:
        raise LogbookError(
            "large",
            where=name,
            found=f"{len(data) / 1e6:.1f} MB",
            must_be=f"at most {LARGEST_BYTES / 1e6:g} MB",
            do="Begin a new file",
        )
    with locked(path):
        if os.path.exists(path):
            theirs = _goes(name, _load(path, name))
            if len(theirs) > len(ours) or any(not _carries_on(new, old) for new, old in zip(ours, theirs)):
                raise LogbookError(
                    "file",
                    where=name,
                    found="was not saved: it holds actions from another notebook, which stay as they are",
                    must_be="the file that this bench opened",
                    do="Open the bench again, or save to another file",
                )
        write_whole(path, data)


def open_practice(path: str | os.PathLike) -> tuple[PracticeState, ...]:
    """Open a log, and do all its acts over again.

    Returns: the bench as every go left it.

    A log of version 1 holds bars only, filed without a belly; its goes come back
    as they were and are played on under those rules.
    """
    name = os.path.basename(os.fspath(path))
    goes = []
    for number, go in enumerate(_goes(name, _load(path, name)), 1):
        acts = [Act(act["do"], {k: v for k, v in act.items() if k != "do"}) for act in go["acts"]]
        try:
            goes.append(replay(start_practice(**{key: go[key] for key in _START}), acts)[-1])
        except Refusal as refusal:
            raise LogbookError(
                "damaged", where=f"{name}, attempt {number}", found=refusal.clause, must_be=_ALLOWED
            ) from None
    return tuple(goes)


def _plain(state: PracticeState) -> dict:
    start = {key: getattr(state, key) for key in _START}
    return {**start, "acts": [{"do": act.kind, **act.given} for act in state.acts]}


def _carries_on(new: dict, old: dict) -> bool:
    same = all(new[key] == old.get(key) for key in _START)
    return same and new["acts"][: len(old["acts"])] == old["acts"]


def _load(path: str | os.PathLike, name: str) -> dict:
    data = read_bytes(path, _ALLOWED)
    try:
        return json.loads(data.decode("utf-8"))
    except (ValueError, RecursionError):
        raise LogbookError("damaged", where=name, found="it cannot be read", must_be=_ALLOWED) from None


def _goes(name: str, book: object) -> list[dict]:
    version, book = version_of(name, book, FORMAT, VERSION, "a practice log", _ALLOWED)
    goes = book.get("goes")
    if type(version) is not int or version < 1 or not isinstance(goes, list):
        raise LogbookError("damaged", where=name, found="it has no version or no attempts", must_be=_ALLOWED)
    for number, go in enumerate(goes, 1):
        if (
            not isinstance(go, dict)
            or not isinstance(go.get("acts"), list)
            or not all(isinstance(act, dict) and "do" in act for act in go["acts"])
        ):
            raise LogbookError(
                "damaged", where=f"{name}, attempt {number}", found="it has no list of acts", must_be=_ALLOWED
            )
    goes = [_FIRST | go for go in goes] if version == 1 else goes
    for number, go in enumerate(goes, 1):
        missing = [key for key in _START if key not in go]
        if missing:
            raise LogbookError(
                "damaged", where=f"{name}, attempt {number}", found=f"it has no {missing[0]}", must_be=_ALLOWED
            )
    return goes
