"""Memory and start of one kernel after each lesson, one at a time, and times fifty: ``python
tests/benchmarks/kernels.py [LESSON ...]``.

PSS counts what kernels share once, divided among them; RSS counts it in full.
Linux only: it reads /proc.
"""

import sys
import time
from pathlib import Path

import nbformat
from jupyter_client import KernelManager

from simulate.course.notebook.refresh import find

CLASS = 50


def memory_mb(pid):
    rows = dict(line.split(":", 1) for line in Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()[1:])
    return [int(rows[name].split()[0]) / 1024 for name in ("Pss", "Rss")]


def measure(path):
    """Seconds to a kernel that answers, seconds for the lesson, PSS and RSS in MiB before and after."""
    manager = KernelManager(kernel_name="python3")
    begun = time.monotonic()
    manager.start_kernel(cwd=str(path.parent))
    client = manager.client()
    client.start_channels()
    try:
        client.wait_for_ready(timeout=120)
        ready, empty = time.monotonic() - begun, memory_mb(manager.provisioner.pid)[0]
        for cell in nbformat.read(path, as_version=4).cells:
            if cell.cell_type == "code":
                reply = client.execute_interactive(cell.source, timeout=300, output_hook=lambda _: None)
                assert reply["content"]["status"] == "ok", (path.name, reply["content"])
        return ready, time.monotonic() - begun - ready, empty, *memory_mb(manager.provisioner.pid)
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)


def main(names):
    print(
        f"{'lesson':34s} {'start s':>8s} {'run s':>7s} {'empty MiB':>10s} {'PSS MiB':>8s} {'RSS MiB':>8s} "
        f"{f'x {CLASS}, GiB':>10s}"
    )
    worst = 0.0
    for path in find(names):
        ready, run, empty, pss, rss = measure(path)
        worst = max(worst, pss)
        print(
            f"{path.stem:34s} {ready:8.1f} {run:7.1f} {empty:10.0f} {pss:8.0f} {rss:8.0f} {CLASS * pss / 1024:10.1f}",
            flush=True,
        )
    print(f"{CLASS} kernels, each after the hungriest of these lessons: {CLASS * worst / 1024:.1f} GiB")


if __name__ == "__main__":
    main(sys.argv[1:])
