"""A class set into the homes of a server, and what stands in them back for marking; nothing of a student's is lost."""

from __future__ import annotations

import os
import re
import shutil
from pathlib import Path

from simulate.core.atomic_files import write_whole
from simulate.core.refusal import Refusal
from simulate.course.classroom.hand_out import is_there
from simulate.course.classroom.handed_in import LARGEST_BYTES

_WORD = re.compile(r"[a-z]+(-[a-z]+)*")
_TAKEN = ("*.ipynb", "my_answers*.json")


def home_of(homes: Path, word: str) -> Path:
    """Return a student's home.

    >>> home_of(Path("."), "..")
    Traceback (most recent call last):
    ...
    simulate.core.refusal.Refusal: the home is '..'; it must be the word of a student who has a home.
    """
    home = homes / word
    if not _WORD.fullmatch(word) or home.is_symlink() or not home.is_dir():
        raise Refusal("choice", where="the home", found=repr(word), must_be="the word of a student who has a home")
    return home


def fill_homes(students: Path, homes: Path) -> list[Path]:
    """Put each student's folder of a class set into a home of the same name; what is there already stays as it is.

    `students`: what ``class set`` wrote. `homes`: made where it is not there. A home is open to its owner alone, and
    belongs to the account of that name where the system has one and this runs as root. Returns: files that were
    written.
    """
    folders = [path for path in sorted(students.iterdir()) if path.is_dir() and _WORD.fullmatch(path.name)]
    if not folders:
        raise Refusal("missing", where=str(students), found="no folder of a student", must_be="what 'class set' wrote")
    written = []
    for folder in folders:
        home = homes / folder.name
        home.mkdir(parents=True, exist_ok=True, mode=0o700)
        if home.is_symlink():
            raise Refusal("file", where=str(home), found="is a link", must_be="a folder")
        for source in sorted(path for path in folder.rglob("*") if path.is_file()):
            target = home / source.relative_to(folder)
            if not target.parent.resolve().is_relative_to(home.resolve()):
                raise Refusal("file", where=str(target.parent), found="leads out of the home", must_be="a folder in it")
            if not is_there(target):
                target.parent.mkdir(parents=True, exist_ok=True)
                write_whole(target, source.read_bytes())
                written.append(target)
        _given_to_account(home)
    return written


def _given_to_account(home: Path) -> None:
    if os.name != "posix" or os.geteuid() != 0:
        return
    import pwd

    try:
        account = pwd.getpwnam(home.name)
    except KeyError:
        return
    for path in (home, *home.rglob("*")):
        os.chown(path, account.pw_uid, account.pw_gid, follow_symlinks=False)


def collect_homes(homes: Path, out: Path) -> list[Path]:
    """Copy notebooks and answers of every home into a new folder, to be marked; the homes stay as they are.

    `out`: must not be there yet, so that one collection never runs into another. Returns: files that were copied. Links
    are passed over, and so is what is larger than marking reads.
    """
    if out.exists():
        raise Refusal("file", where=str(out), found="is there already", must_be="a new folder, such as handed_in_2")
    found = [
        path
        for home in sorted(homes.iterdir())
        if home.is_dir() and not home.is_symlink() and _WORD.fullmatch(home.name)
        for kind in _TAKEN
        for path in sorted(home.rglob(kind))
        if _plain(path, home)
    ]
    if not found:
        raise Refusal("missing", where=str(homes), found="no notebook and no answers", must_be="homes of a class set")
    copied = []
    for path in found:
        copied.append(out / path.relative_to(homes))
        copied[-1].parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, copied[-1], follow_symlinks=False)
    return copied


def _plain(path: Path, home: Path) -> bool:
    inside = path.resolve().is_relative_to(home.resolve()) and ".ipynb_checkpoints" not in path.parts
    return inside and not path.is_symlink() and path.is_file() and path.stat().st_size <= LARGEST_BYTES
