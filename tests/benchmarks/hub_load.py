"""A class on a real hub behind a real proxy: ``python tests/benchmarks/hub_load.py [USERS] [SECONDS]``.

Half of the students have lesson 04 open and half lesson 10, all cells run; then each moves one slider every 2 s. Told
are how long a change takes until its picture is there (median and 95 %), and what a student costs in memory and in
time of a core, kernel and server apart. Needs JupyterHub (the extra ``hub``) and configurable-http-proxy. Linux only.
"""

import asyncio
import json
import os
import secrets
import shutil
import socket
import statistics
import subprocess
import sys
import time
import uuid
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

import nbformat
import psutil
from tornado.httpclient import AsyncHTTPClient, HTTPRequest
from tornado.websocket import websocket_connect

from simulate.course.classroom.class_list import class_set
from simulate.course.classroom.hand_out import hand_out
from simulate.course.hub import settings
from simulate.course.hub.homes import fill_homes

CONFIG = Path(settings.__file__).with_name("hub_config.py")
PANELS = {"04": "ThreeBarsPanel", "10": "PlatesPanel"}
SLIDERS = {"04": ("error_um", 100, 600, 10), "10": ("error_um", 50, 400, 10)}
FIND = """
import gc, json
from simulate.show.panel.panel import Panel
panel = next(p for p in gc.get_objects() if isinstance(p, Panel) and type(p).__name__ == "{panel}")
slider = panel.controls["{slider}"]
print("FOUND", json.dumps([slider.model_id, panel.picture.model_id]))
"""


@dataclass
class Hub:
    """A running hub: where it is, how to speak to it, and what it runs for whom."""

    url: str
    token: str
    homes: Path
    process: subprocess.Popen
    words: tuple[str, ...]

    async def ask(self, path, method="GET", body=None):
        """Ask the hub, or a student's server through the proxy; returns the code and what came back."""
        request = HTTPRequest(
            f"{self.url}{path}",
            method=method,
            headers={"Authorization": f"token {self.token}", "Content-Type": "application/json"},
            body=json.dumps(body) if body is not None else None,
            allow_nonstandard_methods=True,
            request_timeout=200,
        )
        got = await AsyncHTTPClient().fetch(request, raise_error=False)
        return got.code, json.loads(got.body) if got.body and got.body[:1] in b"[{" else None


def free_ports(count):
    """Ports that nobody listens at."""
    taken = [socket.socket() for _ in range(count)]
    for one in taken:
        one.bind(("127.0.0.1", 0))
    ports = [one.getsockname()[1] for one in taken]
    for one in taken:
        one.close()
    return ports


def missing():
    """What of a hub is not here, in words; empty where all is."""
    try:
        import jupyterhub  # noqa: F401
    except ImportError:
        return "JupyterHub is not installed (the extra hub)"
    return "" if shutil.which("configurable-http-proxy") else "configurable-http-proxy is not on the path (npm)"


@contextmanager
def a_hub(folder, users, idle_s=1800):
    """Start a hub with a home for each of some invented students; end it and all that it started."""
    homes, state, students = (folder / name for name in ("homes", "state", "students"))
    state.mkdir()
    names = [f"Invented {k}" for k in range(1, users + 1)]
    hand_out(students, names, "load", chosen=["04", "10"])
    fill_homes(students, homes)
    port, hub_port, proxy_port = free_ports(3)
    token = secrets.token_hex(16)
    environment = os.environ | {
        "HUB_HOMES": str(homes),
        "HUB_STATE": str(state),
        "HUB_ADDRESS": f"http://127.0.0.1:{port}",
        "HUB_PORT": str(hub_port),
        "HUB_PROXY_PORT": str(proxy_port),
        "HUB_IDLE_S": str(idle_s),
        "HUB_TRIAL_PASSWORD": secrets.token_hex(8),
        "HUB_REPORT_TOKEN": token,
    }
    log = (folder / "hub.log").open("w")
    process = subprocess.Popen(
        [sys.executable, "-m", "jupyterhub", "-f", str(CONFIG)],
        env=environment,
        stdout=log,
        stderr=log,
        cwd=state,
    )
    try:
        yield Hub(f"http://127.0.0.1:{port}", token, homes, process, tuple(class_set(names, "load").values()))
    finally:
        every = [process, *psutil.Process(process.pid).children(recursive=True)] if process.poll() is None else []
        for one in every[::-1]:
            with_grace(one.terminate)
        process.wait(30)
        for one in every[1:]:
            with_grace(one.kill)
        log.close()


def with_grace(act):
    """Do it, and take it that the process has ended meanwhile."""
    try:
        act()
    except psutil.NoSuchProcess:
        pass


async def up(hub, seconds=90):
    """Wait until the hub answers."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        try:
            if (await hub.ask("/hub/api/"))[0] == 200:
                return
        except OSError:
            pass
        await asyncio.sleep(0.5)
    raise RuntimeError("the hub does not answer")


@dataclass
class Student:
    """A student's kernel through the proxy, and how long each change took."""

    hub: Hub
    word: str
    lesson: str
    kernel: str = ""
    took_s: list = field(default_factory=list)
    wrong: list = field(default_factory=list)

    async def come(self):
        """Start the server and a kernel, run the lesson, find slider and picture."""
        code, _ = await self.hub.ask(f"/hub/api/users/{self.word}/server", "POST")
        assert code in (201, 202), (self.word, code)
        while True:
            _, user = await self.hub.ask(f"/hub/api/users/{self.word}")
            server = user["servers"].get("", {})
            if server.get("ready"):
                break
            assert server.get("pending"), f"the server of {self.word} did not start"
            await asyncio.sleep(0.5)
        await self.open_kernel()
        path = next((self.hub.homes / self.word).glob(f"**/{self.lesson}_*.ipynb"))
        for cell in nbformat.read(path, as_version=4).cells:
            if cell.cell_type == "code":
                await self.run(cell.source)
        said = await self.run(FIND.format(panel=PANELS[self.lesson], slider=SLIDERS[self.lesson][0]))
        self.slider, self.picture = json.loads(said.split("FOUND ", 1)[1].splitlines()[0])

    async def open_kernel(self):
        """Start a kernel in the student's home and open its channels."""
        code, kernel = await self.hub.ask(f"/user/{self.word}/api/kernels", "POST", {"name": "python3", "path": ""})
        assert code == 201, (self.word, code)
        self.kernel = kernel["id"]
        address = f"{self.hub.url.replace('http', 'ws', 1)}/user/{self.word}/api/kernels/{self.kernel}/channels"
        request = HTTPRequest(address, headers={"Authorization": f"token {self.hub.token}"}, request_timeout=120)
        self.channels = await websocket_connect(request, max_message_size=2**28)

    def send(self, kind, content):
        """Send a message on the shell channel."""
        name = uuid.uuid4().hex
        header = {"msg_id": name, "msg_type": kind, "username": "", "session": name, "date": "", "version": "5.3"}
        message = {"header": header, "parent_header": {}, "metadata": {}, "content": content, "channel": "shell"}
        self.channels.write_message(json.dumps(message | {"buffers": []}))
        return name

    async def answers(self, name):
        """Give every answer to a message until the kernel has done with it."""
        while True:
            text = await self.channels.read_message()
            if text is None:
                raise RuntimeError("the channels were closed")
            message = json.loads(text)
            if message.get("parent_header", {}).get("msg_id") != name:
                continue
            yield message
            if message["msg_type"] == "status" and message["content"]["execution_state"] == "idle":
                return

    async def run(self, code):
        """Run a cell; what it printed comes back, and an error is kept."""
        said = ""
        name = self.send(
            "execute_request", {"code": code, "silent": False, "store_history": True, "allow_stdin": False}
        )
        async for message in self.answers(name):
            said += message["content"].get("text", "") if message["msg_type"] == "stream" else ""
            if message["msg_type"] == "error":
                self.wrong.append(message["content"]["evalue"])
        return said

    async def change(self, value):
        """Move the slider as the browser does, and wait for the picture."""
        begun = time.monotonic()
        data = {"method": "update", "state": {"value": value}, "buffer_paths": []}
        name, shown = self.send("comm_msg", {"comm_id": self.slider, "data": data}), False
        async for message in self.answers(name):
            if message["msg_type"] == "comm_msg" and message["content"].get("comm_id") == self.picture and not shown:
                self.took_s.append(time.monotonic() - begun)
                shown = True
            if message["msg_type"] == "error":
                self.wrong.append(str(message["content"]))
        if not shown:
            self.wrong.append(f"no picture for {value}")

    async def work(self, seconds, begin_s):
        """Move the slider every 2 s, each time to another place."""
        _, low, high, step = SLIDERS[self.lesson]
        places, k, end = (high - low) // step, 0, time.monotonic() + seconds
        await asyncio.sleep(begin_s)
        while time.monotonic() < end:
            begun = time.monotonic()
            k += 1
            await self.change(float(low + step * (37 * k % places)))
            await asyncio.sleep(max(0.0, 2.0 - (time.monotonic() - begun)))


def parts_of(hub):
    """Every process below the hub by what it is: kernels, servers, the hub with its proxy."""
    found = {"kernel": [], "server": [], "hub and proxy": [psutil.Process(hub.process.pid)]}
    for one in psutil.Process(hub.process.pid).children(recursive=True):
        line = " ".join(one.cmdline())
        kind = "kernel" if "ipykernel" in line else "server" if "singleuser" in line else "hub and proxy"
        found[kind].append(one)
    return found


def cost(parts):
    """Memory in MiB (PSS) and seconds of a core of each kind of process."""
    told = {}
    for kind, of in parts.items():
        seconds = sum(sum(one.cpu_times()[:2]) for one in of)
        told[kind] = len(of), sum(one.memory_full_info().pss for one in of) / 2**20, seconds
    return told


async def measured(hub, seconds):
    """Let everybody come, three at a time, and then work; give the students and what each kind of process cost."""
    await up(hub)
    students = [Student(hub, word, ("04", "10")[k % 2]) for k, word in enumerate(hub.words)]
    door = asyncio.Semaphore(3)

    async def come(one):
        async with door:
            await one.come()

    await asyncio.gather(*map(come, students))
    parts = parts_of(hub)
    before = cost(parts)
    begun = time.monotonic()
    await asyncio.gather(*(one.work(seconds, 2 * k / len(students)) for k, one in enumerate(students)))
    return students, before, cost(parts), time.monotonic() - begun


def told(students, before, after, seconds):
    """The report in lines."""
    took = sorted(1000 * t for one in students for t in one.took_s)
    wrong = [w for one in students for w in one.wrong]
    lines = [
        f"{len(students)} students, {os.cpu_count()} cores, load before {os.getloadavg()[2]:.1f} (15 minutes)",
        f"{len(took)} changes: median {statistics.median(took):.0f} ms, 95 % {took[int(0.95 * len(took))]:.0f} ms, "
        f"worst {took[-1]:.0f} ms, {len(wrong)} errors",
    ]
    for kind, (many, memory, used) in after.items():
        lines.append(
            f"{kind}: {many}, {memory / many:.0f} MiB each ({before[kind][1] / many:.0f} before the sliders moved), "
            f"{100 * (used - before[kind][2]) / seconds / len(students):.1f} % of a core for a student"
        )
    return lines + wrong[:5]


def main():
    """Measure and print."""
    lacks = missing()
    if lacks:
        sys.exit(lacks)
    users, seconds = (int(given) for given in (sys.argv[1:] + ["15", "60"][len(sys.argv) - 1 :])[:2])
    with TemporaryDirectory() as folder, a_hub(Path(folder), users) as hub:
        try:
            print(*told(*asyncio.run(measured(hub, seconds))), sep="\n")
        except BaseException:
            print((Path(folder) / "hub.log").read_text()[-6000:], file=sys.stderr)
            raise


if __name__ == "__main__":
    main()
