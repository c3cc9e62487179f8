"""Run the lessons and store what they show: ``python -m simulate refresh [LESSON ...]``.

The stored file holds nothing that changes from run to run: no times, no state
of widgets, no version of Python, no view of a widget that a reader without a
running lesson could not see.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from simulate.core.refusal import Refusal

if TYPE_CHECKING:
    import nbformat

WIDGET_VIEW = "application/vnd.jupyter.widget-view+json"
READABLE = ("image/png", "text/html", "text/plain")
LESSONS = Path(__file__).resolve().parents[3] / "lessons"


def strip(notebook: nbformat.NotebookNode) -> nbformat.NotebookNode:
    """Take out of a notebook what changes from run to run.

    `notebook`: changed in place. Returns: the same notebook.

    >>> import nbformat
    >>> cell = nbformat.v4.new_code_cell("1", metadata={"execution": {"iopub.status.busy": "now"}})
    >>> strip(nbformat.v4.new_notebook(cells=[cell], metadata={"widgets": {}})).cells[0].metadata
    {}
    """
    notebook.metadata.pop("widgets", None)
    notebook.metadata["kernelspec"] = {"display_name": "Python 3", "language": "python", "name": "python3"}
    notebook.metadata.get("language_info", {}).pop("version", None)
    for cell in notebook.cells:
        cell.metadata.pop("execution", None)
        for output in cell.get("outputs", ()):
            data = output.get("data", {})
            if WIDGET_VIEW in data and any(kind in data for kind in READABLE):
                del data[WIDGET_VIEW]
    return notebook


def refresh(path: Path, timeout_s: int = 180) -> bool:
    """Run one lesson and store its outputs; return whether the file changed.

    `path`: the lesson's file. It is written whole or not at all. `timeout_s`: the longest that one cell may take.
    """
    import nbformat  # every lesson asks where the lessons lie, and none of them reads a notebook
    from nbclient import NotebookClient

    before = path.read_text(encoding="utf-8")
    notebook = nbformat.reads(before, as_version=4)
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.outputs, cell.execution_count = [], None
    client = NotebookClient(
        notebook,
        timeout=timeout_s,
        kernel_name="python3",
        record_timing=False,
        store_widget_state=False,
        coalesce_streams=True,
        resources={"metadata": {"path": str(path.parent)}},
    )
    client.execute()
    after = nbformat.writes(strip(notebook), version=4).rstrip("\n") + "\n"
    if after == before:
        return False
    part = path.with_name(path.name + ".part")
    part.write_text(after, encoding="utf-8")
    os.replace(part, path)
    return True


def find(names: Sequence[str], folder: Path = LESSONS) -> list[Path]:
    """Return the files of the named lessons, or of all of them.

    `names`: ``"04"``, ``"04_three_bars"`` or a path; empty for all.

    >>> find(["lesson of nobody"])
    Traceback (most recent call last):
        ...
    simulate.core.refusal.Refusal: 'lesson of nobody' is the start of 0 files in lessons/; it must be the start of one.
    """
    every = sorted(folder.glob("*.ipynb"))
    found = []
    for name in names:
        fitting = [p for p in every if p.name.startswith(Path(name).name)]
        if len(fitting) != 1 or not Path(name).name:
            raise Refusal(
                "choice",
                where=f"{name!r}",
                found=f"the start of {len(fitting)} files in lessons/",
                must_be="the start of one",
            )
        found += fitting
    return found if names else every


def refresh_all(lessons: Sequence[str] = ()) -> int:
    """Run and store the named lessons, or all, and tell of each; return how many failed."""
    from nbclient.exceptions import CellExecutionError

    failed = 0
    for path in find(lessons):
        try:
            print(f"{path.name}: {'stored again' if refresh(path) else 'unchanged'}", flush=True)
        except CellExecutionError as error:
            print(f"{path.name}: a cell failed, the file stays as it was.\n{error}", file=sys.stderr)
            failed += 1
    return failed
