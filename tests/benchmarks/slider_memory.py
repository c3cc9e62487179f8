"""Memory of one kernel in use, while its sliders are moved: ``python tests/benchmarks/slider_memory.py [CHANGES]
[LESSON ...]``.

Each change moves one control of one panel of the lesson to a random place, as a student would. PSS counts what
processes share once, divided among them, so it hangs on what else runs; RSS, in brackets, counts it in full. Linux
only: it reads /proc.
"""

import sys
from pathlib import Path

import nbformat
from jupyter_client import KernelManager

from simulate.course.notebook.refresh import find

sys.path.append(
    str(Path(__file__).resolve().parent)
)  # run as a script or collected for its examples: its neighbour is found

from kernels import memory_mb  # noqa: E402

MOVE = """
import gc, random
import ipywidgets
from simulate.show.panel.panel import Panel
chance = globals().get("chance") or random.Random(1)
panels = [p for p in gc.get_objects() if isinstance(p, Panel) and getattr(p, "controls", None)]
for _ in range({changes}):
    control = chance.choice([c for p in panels for c in p.controls.values()])
    if isinstance(control, ipywidgets.widget_selection._Selection):
        control.index = chance.randrange(len(control.options))
    elif hasattr(control, "max"):
        steps = round((control.max - control.min) / control.step)
        control.value = min(control.max, control.min + chance.randint(0, steps) * control.step)
"""


def measure(path, changes):
    """PSS and RSS in MiB after the lesson, and after so many changes of its controls."""
    manager = KernelManager(kernel_name="python3")
    manager.start_kernel(cwd=str(path.parent))
    client = manager.client()
    client.start_channels()
    try:
        client.wait_for_ready(timeout=120)
        sources = [c.source for c in nbformat.read(path, as_version=4).cells if c.cell_type == "code"]
        found = []
        for part in (sources, *([MOVE.format(changes=changes // 4)] for _ in range(4))):
            for source in part:
                reply = client.execute_interactive(source, timeout=1800, output_hook=lambda _: None)
                assert reply["content"]["status"] == "ok", (path.name, reply["content"])
            found.append(memory_mb(manager.provisioner.pid))
        return found
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)


def main(arguments):
    changes = int(arguments[0]) if arguments else 800
    heads = ["after Run All", *(f"{changes * k // 4} changes" for k in range(1, 5))]
    print(f"{'lesson':34s} " + " ".join(f"{head:>14s}" for head in heads) + "   MiB PSS (RSS)")
    for path in find(arguments[1:] or ["04", "10"]):
        held = [f"{pss:.0f} ({rss:.0f})" for pss, rss in measure(path, changes)]
        print(f"{path.stem:34s} " + " ".join(f"{one:>14s}" for one in held), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
