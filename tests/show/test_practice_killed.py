"""A kernel that dies in the middle of a go costs nothing that was done before: tried with a real kernel and a real
kill."""

import os
import signal
import time

import pytest

from simulate.readings.logbook.practice_log import open_practice
from simulate.show.practice.practice_panel import PracticePanel

jupyter_client = pytest.importorskip("jupyter_client")

PLAY = """
import os
from simulate.show.practice.practice_panel import PracticePanel
panel = PracticePanel(5, log={log!r})
marks = open({marks!r}, "a")
for number in range(10_000):
    (panel.look, panel.file, panel.swap)[number % 3].click()
    marks.write(f"{{len(panel.state.acts)}}\\n")
    marks.flush()
"""


def finished(marks) -> int:
    """Acts that the panel had come back from, by what it wrote down itself."""
    lines = marks.read_text().split("\n")[:-1] if marks.exists() else []
    return int(lines[-1]) if lines else 0


def test_a_kernel_killed_in_the_middle_of_a_go_loses_no_act_that_was_done(tmp_path):
    log, marks, told = tmp_path / "go.json", tmp_path / "marks.txt", 0
    for _kill in range(2):
        manager = jupyter_client.KernelManager()
        manager.start_kernel(cwd=str(tmp_path), env={**os.environ, "IPYTHONDIR": str(tmp_path / "ipython")})
        try:
            client = manager.client()
            client.start_channels()
            client.wait_for_ready(timeout=60)
            client.execute(PLAY.format(log=str(log), marks=str(marks)))
            before, end = finished(marks), time.monotonic() + 60
            while finished(marks) < before + 4 and time.monotonic() < end:
                time.sleep(0.02)
            os.kill(manager.provisioner.process.pid, signal.SIGKILL)
            manager.provisioner.process.wait(20)
            client.stop_channels()
        finally:
            manager.shutdown_kernel(now=True)
        done = finished(marks)
        assert done >= before + 4, "the kernel was killed in the middle of a go"
        (state,) = open_practice(log)
        assert done <= len(state.acts) <= done + 1, "all that was done, and the act under way wholly or not at all"
        told += 1
    panel = PracticePanel(5, log=str(log))
    assert panel.state.acts == state.acts and (panel.state.height_um == state.height_um).all()
    panel.look.click()
    panel.stop.click()
    assert panel.message.value == "" and "Out of straight at the stop" in panel.sheet.value and told == 2
