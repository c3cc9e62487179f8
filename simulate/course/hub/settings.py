"""What a school sets for its server of the course, each with a figure to begin with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from simulate.core.refusal import Refusal

MOST_IDLE_S = 24 * 3600


@dataclass(frozen=True, kw_only=True)
class HubSettings:
    """Settings of a school's server, from the variables of the environment in brackets.

    `homes`: folder with one home a student, named by the student's word (``HUB_HOMES``). `state`: where the hub keeps
    its own files (``HUB_STATE``). `address`: at which students reach it (``HUB_ADDRESS``); behind a server that
    enciphers, this machine alone. `proxy`: the proxy's command (``HUB_PROXY``). `hub_port`, `proxy_port`: on this
    machine alone (``HUB_PORT``, ``HUB_PROXY_PORT``). `idle_s`: a kernel unused for so long is ended, a server after
    three times as long (``HUB_IDLE_S``). `memory_mb`: of data that one process may hold (``HUB_MEMORY_MB``).
    `most_students`, `starts_at_once`: servers at the same time, and so many starting (``HUB_MOST``, ``HUB_STARTS``).
    `trial_password`: one password for all, for a trial on this machine alone (``HUB_TRIAL_PASSWORD``); empty for real
    accounts.
    """

    homes: Path
    state: Path
    address: str = "http://127.0.0.1:8000"
    proxy: str = "configurable-http-proxy"
    hub_port: int = 8081
    proxy_port: int = 8001
    idle_s: int = 1800
    memory_mb: int = 1500
    most_students: int = 40
    starts_at_once: int = 3
    trial_password: str = ""

    def words(self) -> list[str]:
        """Return the students' words: the names of the homes."""
        return sorted(path.name for path in self.homes.iterdir() if path.is_dir() and not path.is_symlink())


def settings(environment: Mapping[str, str]) -> HubSettings:
    """Read the settings of a school's server.

    >>> settings({"HUB_HOMES": ".", "HUB_STATE": ".", "HUB_IDLE_S": "600"}).idle_s
    600
    """
    given = HubSettings(
        homes=_folder(environment, "HUB_HOMES"),
        state=_folder(environment, "HUB_STATE"),
        address=environment.get("HUB_ADDRESS", HubSettings.address),
        proxy=environment.get("HUB_PROXY", HubSettings.proxy),
        hub_port=_whole(environment, "HUB_PORT", HubSettings.hub_port, 1024, 65535),
        proxy_port=_whole(environment, "HUB_PROXY_PORT", HubSettings.proxy_port, 1024, 65535),
        idle_s=_whole(environment, "HUB_IDLE_S", HubSettings.idle_s, 2, MOST_IDLE_S),
        memory_mb=_whole(environment, "HUB_MEMORY_MB", HubSettings.memory_mb, 500, 64_000),
        most_students=_whole(environment, "HUB_MOST", HubSettings.most_students, 1, 1000),
        starts_at_once=_whole(environment, "HUB_STARTS", HubSettings.starts_at_once, 1, 100),
        trial_password=environment.get("HUB_TRIAL_PASSWORD", ""),
    )
    if given.trial_password and not given.address.startswith("http://127.0.0.1:"):
        raise Refusal(
            "choice",
            where="HUB_ADDRESS",
            found=f"{given.address!r}, with one password for all",
            must_be="http://127.0.0.1: and a port, which this machine alone reaches",
            do="For others, unset HUB_TRIAL_PASSWORD and give everybody an account on the system",
        )
    return given


def _folder(environment: Mapping[str, str], name: str) -> Path:
    path = Path(environment.get(name, "")).resolve()
    if not environment.get(name) or not path.is_dir():
        raise Refusal("file", where=name, found=f"is {environment.get(name, '')!r}", must_be="an existing folder")
    return path


def _whole(environment: Mapping[str, str], name: str, usual: int, low: int, high: int) -> int:
    text = environment.get(name, str(usual))
    if not (text.isascii() and text.isdigit() and low <= int(text) <= high):
        raise Refusal("range", where=name, found=repr(text), must_be=f"a whole number from {low} to {high}")
    return int(text)
