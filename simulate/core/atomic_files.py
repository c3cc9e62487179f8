"""Files that are written whole or not at all, by one notebook at a time."""

from __future__ import annotations

import errno
import os
import secrets
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from simulate.core.refusal import Refusal

LARGEST_BYTES = 50_000_000
PART_AGE_S = 60.0
WAIT_S = 10.0
"""How long one notebook waits for another that is saving."""


class LogbookError(Refusal):
    """A logbook or a report cannot be saved or opened, in one sentence."""


def write_whole(path: str | os.PathLike, data: bytes) -> None:
    """Write a file whole or not at all.

    A new file is written beside the old one, brought to the disk, and then takes the old one's name in one step:
    whoever is killed half way leaves the old file as it was. What such a one left lying is swept away later.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     write_whole(f"{folder}/mine.json", b"{}")
    ...     os.listdir(folder)
    ['mine.json']
    """
    write_all_whole({path: data})


def write_all_whole(files: Mapping[str | os.PathLike, bytes]) -> None:
    """Write several files, all of them or none.

    All new files lie on the disk before the first takes its name; only a power cut between two of those steps,
    which take no room and no time, leaves a new file beside an old one.
    """
    parts: dict[Path, Path] = {}
    target = Path()
    try:
        for path, data in files.items():
            target = _real(path)
            parts[target] = target.with_name(f".{target.name}.{secrets.token_hex(8)}.part")
            if target.is_dir():
                raise IsADirectoryError(errno.EISDIR, "it is a folder")
            _sweep(target)
            _write_through(parts[target], data)
        for target, part in parts.items():
            os.replace(part, target)
        for folder in {target.parent for target in parts}:
            _sync_folder(folder)
    except OSError as error:
        raise not_saved(target.name, error) from None
    finally:
        for part in parts.values():
            try:
                part.unlink(missing_ok=True)
            except OSError:
                pass


@contextmanager
def locked(path: str | os.PathLike, wait_s: float = WAIT_S) -> Iterator[None]:
    """Hold a file for one notebook, from reading it to writing it again.

    The system lets go of the lock of whoever is killed. A small hidden file beside the held one stays behind.

    `wait_s`: how long to wait for another one.

    It holds between notebooks on one machine; a shared folder of a network may know no locks.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder, locked(f"{folder}/mine.json"):
    ...     os.listdir(folder)
    ['.mine.json.lock']
    """
    target = _real(path)
    lock = FileLock(target.with_name(f".{target.name}.lock"), timeout=wait_s)
    try:
        if not target.parent.is_dir():
            raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT))
        lock.acquire()
    except Timeout:
        raise LogbookError(
            "file",
            where=target.name,
            found=f"was not saved: another notebook was writing it for more than {wait_s:g} s, and it is unchanged",
            must_be="written by one notebook at a time",
            do="Save again when the other one is done",
        ) from None
    except OSError as error:
        raise not_saved(target.name, error) from None
    try:
        yield
    finally:
        lock.release()


def read_bytes(path: str | os.PathLike, allowed: str) -> bytes:
    """Read a whole file of at most 50 MB.

    `allowed`: what may stand there, for the sentence.

    >>> read_bytes("no such file", "a logbook")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
        ...
    simulate.core.atomic_files.LogbookError: no such file cannot be opened (no such file or directory); it must be ...
    """
    name = os.path.basename(os.fspath(path))
    try:
        with open(path, "rb") as opened:
            data = opened.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        raise LogbookError("file", where=name, found=f"cannot be opened ({reason(error)})", must_be=allowed) from None
    if len(data) > LARGEST_BYTES:
        raise LogbookError("large", where=name, found=f"larger than {LARGEST_BYTES // 1_000_000} MB", must_be=allowed)
    return data


def typed_path(text: str) -> Path:
    """Read a path as a person types it, ``~`` being the own folder.

    >>> typed_path(" readings/mine.csv ").name
    'mine.csv'
    """
    words = text.strip()
    try:
        path = Path(words).expanduser()
        os.path.realpath(path)
    except (RuntimeError, OSError, ValueError) as error:
        found = "the home folder of nobody here" if isinstance(error, RuntimeError) else "no path of this computer"
        raise Refusal(
            "file", where=f"'{words}'", found=found, must_be="the path of a file", do="Write it out from the root"
        ) from None
    return path


def not_saved(name: str, error: Exception) -> LogbookError:
    """Return the sentence for a folder or a disk that refuses.

    `name`: of the file, without its folder.
    """
    return LogbookError(
        "file",
        where=name,
        found=f"was not saved ({reason(error)}), and the earlier file is unchanged",
        must_be="in a folder that can be written to, with room on the disk",
    )


def _real(path: str | os.PathLike) -> Path:
    try:
        return Path(os.path.realpath(path))
    except (OSError, ValueError) as error:
        raise not_saved(os.path.basename(os.fspath(path)), error) from None


def _write_through(part: Path, data: bytes) -> None:
    descriptor = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    with os.fdopen(descriptor, "wb") as opened:
        opened.write(data)
        opened.flush()
        os.fsync(opened.fileno())


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":  # a folder cannot be opened there
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):  # some shared folders know no such thing
            raise
    finally:
        os.close(descriptor)


def _sweep(target: Path) -> None:
    """Remove what a save that was killed left lying, but not what another is writing now."""
    for left in target.parent.iterdir():
        if not (left.name.startswith(f".{target.name}.") and left.name.endswith(".part")):
            continue
        try:
            if time.time() - left.stat().st_mtime > PART_AGE_S:
                left.unlink()
        except OSError:
            continue


def reason(error: Exception, otherwise: str = "no such path") -> str:
    """Say in the words of the system why a file was refused.

    `otherwise`: where the system says nothing.

    >>> reason(FileNotFoundError(2, "No such file or directory")), reason(ValueError())
    ('no such file or directory', 'no such path')
    """
    return (getattr(error, "strerror", None) or otherwise).lower()
