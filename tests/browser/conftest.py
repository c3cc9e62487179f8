"""One real JupyterLab and one real Chromium for the whole session.

Every folder that Jupyter writes to lies in a temporary place, so that no setting of the
person who runs the tests reaches the Lab and nothing of the tests stays behind.
"""

import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from dataclasses import dataclass
from pathlib import Path

import pytest

TOKEN = "workshop"
IDLE = "| Idle"


@dataclass
class Lab:
    """A running JupyterLab: its address, the folder it serves and the folder for screenshots."""

    url: str
    folder: Path
    shots: Path


def free_port() -> int:
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        return door.getsockname()[1]


def quiet_environment(place: Path) -> dict[str, str]:
    """An environment whose Jupyter folders all lie under `place`, with the news pop-up off."""
    folders = {
        "HOME": "home",
        "IPYTHONDIR": "ipython",
        "JUPYTER_CONFIG_DIR": "config",
        "JUPYTER_DATA_DIR": "data",
        "JUPYTER_RUNTIME_DIR": "runtime",
        "JUPYTERLAB_SETTINGS_DIR": "settings",
        "JUPYTERLAB_WORKSPACES_DIR": "workspaces",
        "MPLCONFIGDIR": "matplotlib",
    }
    environment = dict(os.environ)
    for name, folder in folders.items():
        (place / folder).mkdir(parents=True)
        environment[name] = str(place / folder)
    news = place / "settings" / "@jupyterlab" / "apputils-extension" / "notification.jupyterlab-settings"
    news.parent.mkdir(parents=True)
    news.write_text(json.dumps({"fetchNews": "false", "checkForUpdates": False}))
    environment["JUPYTER_PREFER_ENV_PATH"] = "1"
    return environment


def wait_for_server(process: subprocess.Popen, url: str, log: Path, seconds: float = 90) -> None:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if process.poll() is not None:
            break
        try:
            with urllib.request.urlopen(f"{url}/api/status?token={TOKEN}", timeout=5):
                return
        except OSError:
            time.sleep(0.3)
    raise RuntimeError(f"JupyterLab did not come up:\n{log.read_text()[-3000:]}")


@pytest.fixture(scope="session", name="free_port")
def _free_port():
    return free_port


@pytest.fixture(scope="session", name="quiet_environment")
def _quiet_environment():
    return quiet_environment


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """Chromium of the system; without it the browser tests are skipped, but never in CI."""
    path = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if path is None and not os.environ.get("CI"):
        pytest.skip("no chromium on this machine: install Debian's package chromium to run the browser tests")
    assert path is not None, "CI must have a chromium: the browser tests may not be skipped there"
    return path


@pytest.fixture(scope="session")
def lab(tmp_path_factory, chromium_path, root):
    """JupyterLab on a free port, serving a temporary copy of the lessons."""
    place = tmp_path_factory.mktemp("lab")
    folder = place / "served"
    shutil.copytree(root / "lessons", folder / "lessons", ignore=shutil.ignore_patterns(".ipynb_checkpoints"))
    shots = Path(os.environ.get("WORKSHOP_SCREENSHOTS", place / "screenshots")).resolve()
    shots.mkdir(parents=True, exist_ok=True)
    port = free_port()
    url = f"http://127.0.0.1:{port}"
    command = [
        sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root", f"--ServerApp.root_dir={folder}",
        f"--ServerApp.port={port}", "--ServerApp.port_retries=0", "--ServerApp.ip=127.0.0.1",
        f"--IdentityProvider.token={TOKEN}",
    ]  # fmt: skip
    log = place / "lab.log"
    with log.open("w") as out:
        process = subprocess.Popen(command, env=quiet_environment(place), cwd=folder, stdout=out, stderr=out)
        try:
            wait_for_server(process, url, log)
            yield Lab(url, folder, shots)
        finally:
            process.terminate()
            try:
                process.wait(20)
            except subprocess.TimeoutExpired:
                process.kill()


@pytest.fixture(scope="session")
def browser(chromium_path):
    """Chromium driven by Playwright, without a window."""
    playwright = pytest.importorskip("playwright.sync_api") if not os.environ.get("CI") else None
    if playwright is None:
        import playwright.sync_api as playwright
    arguments = ["--no-sandbox", "--disable-dev-shm-usage"]
    with playwright.sync_playwright() as p:
        window = p.chromium.launch(executable_path=chromium_path, args=arguments)
        yield window
        window.close()


class LessonPage:
    """A notebook open in the Lab, with the few moves that the tests make."""

    def __init__(self, page, lab: Lab):
        self.page, self.lab = page, lab

    def open(self, path: str) -> "LessonPage":
        self.page.goto(f"{self.lab.url}/lab/tree/{path}?token={TOKEN}&reset")
        self.page.wait_for_selector(".jp-Notebook", timeout=90_000)
        self.page.wait_for_selector(f"#jp-main-statusbar >> text={IDLE}", timeout=90_000)
        return self

    def roll_to(self, part):
        """Bring the lesson that holds the part to the front, and roll down it as a reader does until the part is seen.

        On a loaded machine the Lab may lay its launcher over a lesson late, and what lies below may have no size yet.
        """
        lesson = part.locator("xpath=ancestor::*[@role='tabpanel']")
        self.page.locator(f".lm-DockPanel .lm-TabBar-tab[data-id='{lesson.get_attribute('id')}']").click()
        lesson.locator(".jp-Notebook").hover(position={"x": 5, "y": 200})
        for _ in range(100):
            if part.is_visible():
                return part
            self.page.mouse.wheel(0, 400)
            self.page.wait_for_timeout(100)
        raise AssertionError(f"{part} is seen nowhere in the lesson")

    def menu(self, *names: str) -> None:
        self.page.get_by_role("menuitem", name=names[0], exact=True).first.click()
        for name in names[1:]:
            self.page.locator(".lm-Menu-item", has_text=name).first.click()

    def run_all(self, timeout_ms: int = 180_000) -> "LessonPage":
        """Run All Cells, then wait until no cell is waiting and the status bar says idle.

        What the Lab had saved of an earlier run is cleared first, or its numbers would pass for those of this one.
        """
        self.menu("Edit", "Clear Outputs of All Cells")
        self.menu("Run", "Run All Cells")
        self.page.wait_for_function(
            """() => {
                const cells = [...document.querySelectorAll('.jp-Notebook .jp-CodeCell .jp-InputPrompt')];
                const busy = cells.some(c => c.textContent.includes('[*]'));
                const bar = document.querySelector('#jp-main-statusbar');
                return !busy && bar && bar.textContent.includes('| Idle') &&
                    cells.some(c => /\\[\\d+\\]/.test(c.textContent));
            }""",
            timeout=timeout_ms,
        )
        self.page.wait_for_timeout(500)
        return self

    def shot(self, name: str) -> Path:
        file = self.lab.shots / f"{name}.png"
        self.page.screenshot(path=str(file))
        return file

    def errors(self) -> list[str]:
        """Tracebacks and broken widgets that a learner would see."""
        bad = self.page.locator(".jp-OutputArea [data-mime-type='application/vnd.jupyter.stderr'], .jp-RenderedError")
        broken = self.page.get_by_text("Error displaying widget")
        return bad.all_text_contents() + broken.all_text_contents()

    def unfold(self, row) -> None:
        """Open the fold that a control lies in."""
        row.wait_for(state="attached")
        row.evaluate("""part => {
            const rest = part.closest('.workshop-rest');
            const more = rest && rest.previousElementSibling.querySelector('.workshop-more:not(.mod-active)');
            if (more) more.click();
        }""")

    def turn_to(self, name: str):
        """Open a page of the own work in the first panel that has one of that name; the panel."""
        self.page.locator(".workshop-tabs").get_by_role("button", name=name, exact=True).first.click()
        return self.page.locator(".workshop-panel:has(.workshop-tabs)").first

    def handle(self, name: str):
        """The handle of the slider whose label begins so, in the first panel that has one."""
        label = self.page.locator(".widget-label", has_text=re.compile(f"^{name}"))
        row = self.page.locator(".jp-OutputArea .widget-hslider").filter(has=label).first
        self.unfold(row)
        row.scroll_into_view_if_needed()
        return row.locator(".noUi-handle").first

    def picture(self, name: str) -> dict:
        """Source, words and place of the largest picture in the cell of that slider."""
        return self.handle(name).evaluate(f"handle => ({PICTURE})(handle)")

    def press(self, name: str, key: str, timeout_s: float = 30) -> float:
        """Press a key on a slider; milliseconds from the key going down to the new picture painted."""
        handle = self.handle(name)
        handle.focus()
        handle.evaluate(WATCH)
        self.page.keyboard.press(key)
        taken = self.page.evaluate(
            "s => Promise.race([window.painted, new Promise(go => setTimeout(() => go(-1), 1000 * s))])", timeout_s
        )
        assert taken >= 0, f"{key} on {name}: no new picture within {timeout_s} s"
        return taken

    def settle(self, name: str) -> dict:
        """Wait until the picture of a slider has stood still for half a second."""
        last, still = self.picture(name), 0
        while still < 5:
            self.page.wait_for_timeout(100)
            now = self.picture(name)
            still = still + 1 if now["src"] == last["src"] else 0
            last = now
        return last


# The picture that belongs to a slider: the largest one in the same cell.
PICTURE = """handle => {
    const all = [...handle.closest('.jp-Cell').querySelectorAll('.jp-OutputArea img')];
    const size = i => i.getBoundingClientRect().width * i.getBoundingClientRect().height;
    const img = all.sort((a, b) => size(b) - size(a))[0];
    if (!img) return null;
    const r = img.getBoundingClientRect();
    return {src: img.src, alt: img.alt, whole: img.complete && img.naturalWidth > 0, wide: img.naturalWidth,
            high: img.naturalHeight, x: r.x, y: r.y, width: r.width, height: r.height};
}"""
# From keydown until the frame after the one in which another whole picture stands in its place.
WATCH = f"""handle => {{
    const picture = () => ({PICTURE})(handle);
    const before = picture().src;
    window.painted = new Promise(done => {{
        let start = null;
        document.addEventListener('keydown', () => {{ start = performance.now(); }}, {{capture: true, once: true}});
        const look = () => {{
            const now = picture();
            if (start !== null && now && now.whole && now.src !== before)
                requestAnimationFrame(() => done(performance.now() - start));
            else requestAnimationFrame(look);
        }};
        look();
    }});
}}"""


@pytest.fixture
def lesson(lab, browser):
    """Open, run and steer one notebook in a folder in which nobody has worked yet; the kernel is shut down
    afterwards."""
    for mine in (lab.folder / "lessons").glob("my_*"):  # drafts, answers, units and practice of a test before
        shutil.rmtree(mine) if mine.is_dir() else mine.unlink()
    context = browser.new_context(viewport={"width": 1700, "height": 1100})
    page = context.new_page()
    page.set_default_timeout(60_000)
    yield LessonPage(page, lab)
    context.close()
    stop_kernels(lab)


def stop_kernels(lab: Lab) -> None:
    """Two cores do not carry the kernel of every lesson that was opened."""
    with urllib.request.urlopen(f"{lab.url}/api/sessions?token={TOKEN}") as answer:
        sessions = json.load(answer)
    for session in sessions:
        request = urllib.request.Request(f"{lab.url}/api/sessions/{session['id']}?token={TOKEN}", method="DELETE")
        urllib.request.urlopen(request).close()


@pytest.fixture
def kill_kernels():
    """What kills every kernel of a Lab as a power cut would, by the signal that nobody can catch, and counts them."""

    def kill(lab: Lab) -> int:
        with urllib.request.urlopen(f"{lab.url}/api/kernels?token={TOKEN}") as answer:
            names = [kernel["id"] for kernel in json.load(answer)]
        killed = 0
        for process in Path("/proc").glob("[0-9]*"):
            try:
                command = (process / "cmdline").read_text()
            except OSError:
                continue
            if any(f"kernel-{name}" in command for name in names):
                os.kill(int(process.name), signal.SIGKILL)
                killed += 1
        return killed

    return kill
