"""Memory of one kernel in use, while its sliders are moved: ``python tests/benchmarks/slider_memory.py [CHANGES] [LESSON ...]``.

Each change moves one control of one panel of the lesson to a random place, as a student would. PSS counts what kernels share
once, divided among them. Linux only: it reads /proc.
"""

import sys
from pathlib import Path

import nbformat
from jupyter_client import KernelManager

from simulate.show.refresh import find

sys.path.append(str(Path(__file__).resolve().parent))  # run as a script or collected for its examples: its neighbour is found

from kernels import memory_mb  # noqa: E402

MOVE = """
import gc, random
import ipywidgets
from simulate.show.panel import Panel
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
    """PSS in MiB after the lesson, and after so many changes of its controls."""
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
            found.append(memory_mb(manager.provisioner.pid)[0])
        return found
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)


def main(arguments):
    changes = int(arguments[0]) if arguments else 800
    print(f"{'lesson':34s} {'after Run All':>14s} " + " ".join(f"{f'{changes * k // 4} changes':>12s}" for k in range(1, 5)) + "   (MiB PSS)")
    for path in find(arguments[1:] or ["04", "09"]):
        print(f"{path.stem:34s} {{:14.0f}} {{:12.0f}} {{:12.0f}} {{:12.0f}} {{:12.0f}}".format(*measure(path, changes)), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
