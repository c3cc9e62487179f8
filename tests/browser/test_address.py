"""What the README's command starts: its address opens lesson 00, and kernels of lessons that were left are ended."""

import json
import re
import shlex
import shutil
import subprocess
import sys
import time
import urllib.parse
import urllib.request
from contextlib import contextmanager, suppress

import nbformat
import pytest
from playwright.sync_api import TimeoutError
from test_readme import blocks, steps

pytestmark = pytest.mark.browser
COMMAND = steps(blocks("sh")[0])[2]


def printed_address(log, process, seconds=120) -> str:
    """The first address with its token that the server prints."""
    end = time.monotonic() + seconds
    while time.monotonic() < end and process.poll() is None:
        found = re.findall(r"http://127\.0\.0\.1:\d+/\S+", log.read_text())
        if found:
            return found[0]
        time.sleep(0.2)
    raise AssertionError(f"the server printed no address:\n{log.read_text()[-3000:]}")


@pytest.fixture(name="started")
def _started(root, tmp_path, quiet_environment, free_port):
    """What starts a server by a command of the README's kind, on some lessons, and gives the address that it prints."""

    @contextmanager
    def started(command, *lessons):
        (tmp_path / "lessons").mkdir()
        for name in lessons:
            shutil.copy(root / "lessons" / name, tmp_path / "lessons")
        more = ["--no-browser", "--allow-root", f"--ServerApp.port={free_port()}"]
        log = tmp_path / "lab.log"
        with log.open("w") as out:
            process = subprocess.Popen(
                [sys.executable, "-m", "jupyter", *command[1:], *more],
                env=quiet_environment(tmp_path / "jupyter"), cwd=tmp_path, stdout=out, stderr=out,
            )  # fmt: skip
            try:
                yield printed_address(log, process)
            finally:
                process.terminate()
                try:
                    process.wait(20)
                except subprocess.TimeoutExpired:  # a busy machine takes longer over the end of its kernels
                    process.kill()

    return started


def test_the_address_that_a_server_without_a_browser_prints_opens_lesson_00(browser, root, started):
    assert COMMAND[0] == ".venv/bin/jupyter" and "--no-browser" in (root / "README.md").read_text(encoding="utf-8")
    with started(COMMAND, "00_start_here.ipynb") as address:
        assert "token=" in address, shlex.join(COMMAND)
        page = browser.new_page()
        page.goto(address)
        page.locator(".jp-MarkdownOutput h1", has_text="00 Start here").first.wait_for(timeout=180_000)
        assert page.locator(".lm-TabBar-tab.lm-mod-current", has_text="00_start_here.ipynb").count() == 1
        page.close()


def notebooks_with_kernels(address: str) -> set[str]:
    at = urllib.parse.urlsplit(address)
    with urllib.request.urlopen(f"{at.scheme}://{at.netloc}/api/sessions?{at.query}") as answer:
        return {session["path"].rpartition("/")[2] for session in json.load(answer)}


def test_a_lesson_left_open_loses_its_kernel_but_one_at_work_does_not_and_the_lesson_comes_back(
    browser, started, tmp_path
):
    """The command as it stands, but for seconds in place of minutes."""
    command = [re.sub(r"(cull_idle_timeout)=\d+$", r"\1=25", word) for word in COMMAND]
    assert command != COMMAND
    with started([*command, "--MappingKernelManager.cull_interval=1"], "01_what_straight_means.ipynb") as address:
        cells = [nbformat.v4.new_code_cell("import time; time.sleep(100)")]
        kernel = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
        nbformat.write(nbformat.v4.new_notebook(cells=cells, metadata=kernel), tmp_path / "lessons" / "at_work.ipynb")
        page = browser.new_page(viewport={"width": 1366, "height": 768})
        page.set_default_timeout(60_000)
        for name in ("at_work", "01_what_straight_means"):
            page.goto(address.replace("00_start_here", name) + "&reset")
            page.locator("#jp-main-statusbar", has_text="| Idle").wait_for(timeout=90_000)
            page.get_by_role("menuitem", name="Run", exact=True).first.click()
            page.locator(".lm-Menu-item", has_text="Run All Cells").first.click()
            if name == "at_work":  # a lesson on a warm machine has run before anybody looks
                page.locator(".jp-InputPrompt", has_text="[*]").first.wait_for()
        panel = page.locator(".workshop-panel:has(img)").first
        panel.locator("[role=slider]").first.wait_for(state="attached")
        said = "panel => getComputedStyle(panel, '::before').content"
        assert panel.evaluate(said) == "none"

        page.wait_for_function(
            f"() => [...document.querySelectorAll('.workshop-panel:has(img)')].some(one => ({said})(one) !== 'none')",
            timeout=90_000,
        )
        assert "Restart Kernel and Run All Cells" in panel.evaluate(said)
        page.screenshot(path=str(tmp_path / "ended.png"))
        assert notebooks_with_kernels(address) == {"at_work.ipynb"}

        panel.evaluate("panel => { panel.dataset.ended = 'yes'; }")
        page.add_locator_handler(page.locator(".jp-Dialog"), lambda dialog: dialog.get_by_role("button").last.click())
        # While the Lab takes note of the end it may ask once more, or fail to begin: one chooses again.
        for _ in range(3):
            page.get_by_role("menuitem", name="Kernel", exact=True).first.click()
            page.locator(".lm-Menu-item", has_text="Restart Kernel and Run All Cells").first.click()
            with suppress(TimeoutError):
                page.wait_for_function(  # a panel that a later output replaces says nothing at all
                    f"""() => {{
                        const panel = document.querySelector('.workshop-panel:has(img):not([data-ended])');
                        return panel !== null && ({said})(panel) === 'none';
                    }}""",
                    timeout=30_000,
                )
                break
            page.screenshot(path=str(tmp_path / "not_back.png"))
        else:
            raise AssertionError(f"the lesson did not come back: {page.locator('.jp-Dialog').all_inner_texts()}")
        page.close()
