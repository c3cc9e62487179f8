"""What was typed and not yet saved, kept in a file beside the notebook so that no dead kernel and no closed page takes
it."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from simulate.core.atomic_files import write_whole

FORMAT = "workshop-draft"
_AWAY = "put_away"


@dataclass(frozen=True, kw_only=True)
class Draft:
    """What was typed into the fields of a panel.

    `path`: where it is kept. `fields`: name of a field and its text. `written`: when, local time to the minute.
    """

    path: Path
    fields: dict[str, str]
    written: str


def write_draft(path: str | os.PathLike, fields: Mapping[str, str]) -> None:
    """Write a draft whole or not at all.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     write_draft(f"{folder}/my_draft_bars.json", {"typed": "lower,upper"})
    ...     newest_draft("bars", Path(folder)).fields
    {'typed': 'lower,upper'}
    """
    said = {"format": FORMAT, "written": datetime.now().strftime("%Y-%m-%d %H:%M"), "fields": dict(fields)}
    write_whole(path, json.dumps(said, ensure_ascii=True, indent=1).encode())


def read_draft(path: Path) -> Draft | None:
    """Read a draft.

    Returns: none where there is none, or it is damaged.
    """
    try:
        held = json.loads(path.read_bytes())
        fields = {str(name): text for name, text in held["fields"].items() if isinstance(text, str)}
        return (
            Draft(path=path, fields=fields, written=str(held["written"]))
            if held["format"] == FORMAT and fields
            else None
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None


def drafts(kind: str, folder: Path) -> list[Draft]:
    """Give the drafts of one kind of panel, the newest first.

    Returns: without those that were put away or cannot be read.
    """
    try:
        paths = [path for path in folder.glob(f"my_draft_{kind}*.json") if _AWAY not in path.name]
    except OSError:
        return []
    paths.sort(key=_changed, reverse=True)
    return [found for found in map(read_draft, paths) if found]


def _changed(path: Path) -> int:
    """When a file was changed last; 0 for a name that leads nowhere."""
    try:
        return path.stat().st_mtime_ns
    except OSError:
        return 0


def newest_draft(kind: str, folder: Path) -> Draft | None:
    """Give the newest draft of one kind of panel."""
    return next(iter(drafts(kind, folder)), None)


def free_path(kind: str, folder: Path) -> Path:
    """Return a name for a draft that no other panel has."""
    names = [f"my_draft_{kind}.json", *(f"my_draft_{kind}_{k}.json" for k in range(2, 1000))]
    return next(folder / name for name in names if not os.path.lexists(folder / name))


def put_away(path: Path) -> Path:
    """Give a draft another name, under which it is not brought back."""
    names = [path.with_name(f"{path.stem}_{_AWAY}_{k}.json") for k in range(1, 10_000)]
    away = next(name for name in names if not name.exists())
    os.replace(path, away)
    return away
