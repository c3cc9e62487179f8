"""Names, keys and marks stay out of every folder that the course's own server shows."""

from __future__ import annotations

import os
from pathlib import Path

from simulate.core.refusal import Refusal

COURSE = Path(__file__).resolve().parents[3]


def served_folders() -> tuple[Path, ...]:
    """Return the folders that a server of the course may show.

    Returns: the course's own folder, where this is one, and the one that the JupyterLab around this terminal serves.
    """
    around = os.environ.get("JUPYTER_SERVER_ROOT", "")
    own = (COURSE,) if (COURSE / "lessons").is_dir() else ()
    return own + ((Path(around).resolve(),) if around else ())


def shown_by_server(path: Path) -> Path | None:
    """Return the folder by which a server shows a file."""
    real = Path(os.path.realpath(path))
    return next((folder for folder in served_folders() if real.is_relative_to(folder)), None)


def keep_private(path: Path, force: bool = False) -> Path:
    """Refuse a place that others may see through the server.

    `path`: of what is to be written. `force`: take it all the same. Returns: the same path.
    """
    folder = shown_by_server(path)
    if folder and not force:
        raise Refusal(
            "place",
            where=str(path),
            found=f"in {str(folder)!r}, which the course's server shows to whoever is on it",
            must_be="outside",
            do=f"Write ../class/{path.name} instead, or add --force if nobody else uses this machine's server",
        )
    return path
