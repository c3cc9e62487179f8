"""Where no browser can open, the address that the README's command prints opens lesson 00."""

import re
import shlex
import shutil
import subprocess
import sys
import time

import pytest
from test_readme import blocks, steps

pytestmark = pytest.mark.browser


def printed_address(log, process, seconds=120) -> str:
    """The first address with its token that the server prints."""
    end = time.monotonic() + seconds
    while time.monotonic() < end and process.poll() is None:
        found = re.findall(r"http://127\.0\.0\.1:\d+/\S+", log.read_text())
        if found:
            return found[0]
        time.sleep(0.2)
    raise AssertionError(f"the server printed no address:\n{log.read_text()[-3000:]}")


def test_the_address_that_a_server_without_a_browser_prints_opens_lesson_00(
    browser, root, tmp_path, quiet_environment, free_port
):
    command = steps(blocks("sh")[0])[2]
    assert command[0] == ".venv/bin/jupyter" and "--no-browser" in (root / "README.md").read_text(encoding="utf-8")
    words = [
        sys.executable,
        "-m",
        "jupyter",
        *command[1:],
        "--no-browser",
        "--allow-root",
        f"--ServerApp.port={free_port()}",
    ]
    (tmp_path / "lessons").mkdir()
    shutil.copy(root / "lessons" / "00_start_here.ipynb", tmp_path / "lessons")
    log = tmp_path / "lab.log"
    with log.open("w") as out:
        process = subprocess.Popen(
            words, env=quiet_environment(tmp_path / "jupyter"), cwd=tmp_path, stdout=out, stderr=out
        )
        try:
            address = printed_address(log, process)
            assert "token=" in address, shlex.join(words)
            page = browser.new_page()
            page.goto(address)
            page.locator(".jp-MarkdownOutput h1", has_text="00 Start here").first.wait_for(timeout=180_000)
            assert page.locator(".lm-TabBar-tab.lm-mod-current", has_text="00_start_here.ipynb").count() == 1
            page.close()
        finally:
            process.terminate()
            try:
                process.wait(20)
            except subprocess.TimeoutExpired:  # a busy machine takes longer over the end of its kernels
                process.kill()
