"""The course as a site with the kernel in the reader's browser: ``python -m simulate browser OUT_FOLDER [PYODIDE]``.

Any host of plain files can serve it. It needs ``pip install -e '.[browser]'``.
PYODIDE is an archive of the browser's Python as its makers release it, with
one folder ``pyodide`` in it; where it is given, the site holds it, otherwise
readers fetch it from where its makers serve it.
"""

from __future__ import annotations

import importlib.util
import json
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

import nbformat

from simulate.core.refusal import Refusal
from simulate.course.notebook.refresh import LESSONS

ROOT = Path(__file__).resolve().parents[3]
FIRST = """import piplite

await piplite.install(["numpy", "scipy", "highspy", "matplotlib", "pillow", "ipywidgets"])
await piplite.install(["filelock", "jinja2", "nbformat", "fpdf2"])
await piplite.install("threebar-workshop", deps=False)"""
"""What a lesson runs first in a browser: the packages of figures and widgets, then the course itself."""

WAIT_S = 90
"""So long a page waits for its kernel before it says that none came."""

NO_KERNEL = (
    "Python has not loaded after a minute and a half. It is fetched from its makers over the Internet, "
    "and a browser or a school's network may block it. Wait, or load the page again. Otherwise read the course as "
    "static pages, or open it on a computer with Jupyter. This edition is untested: no lesson has been run in it."
)

PURE = (
    "comm",
    "filelock",
    "fpdf2",
    "defusedxml",
    "nbformat",
    "fastjsonschema",
    "jupyter_core",
    "platformdirs",
    "ipywidgets",
    "widgetsnbextension",
    "jupyterlab_widgets",
)
"""Wheels that the site holds itself, for the browser's Python does not bring them."""


def for_browser(notebook: nbformat.NotebookNode) -> nbformat.NotebookNode:
    """Put the cell that fetches the packages in front of a lesson's first one.

    `notebook`: changed in place.

    >>> made = for_browser(nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("1 + 1")]))
    >>> [cell.source.splitlines()[0] for cell in made.cells]
    ['import piplite', '1 + 1']
    """
    place = next((k for k, cell in enumerate(notebook.cells) if cell.cell_type == "code"), len(notebook.cells))
    notebook.cells.insert(place, nbformat.v4.new_code_cell(FIRST, id="in-the-browser"))
    return notebook


def say_where_no_kernel_comes(site: Path) -> list[Path]:
    """Have every page of a built site that opens notebooks say a sentence where its kernel does not come.

    Returns: the pages that were changed.
    """
    script = Path(__file__).with_name("kernel_wait.js").read_text(encoding="utf-8")
    script = script.replace("WAIT_S", str(WAIT_S)).replace('"SENTENCE"', json.dumps(NO_KERNEL))
    pages = [page for page in (site / kind / "index.html" for kind in ("lab", "notebooks")) if page.is_file()]
    if not pages:
        raise Refusal(
            "tools", where="the builder of the browser's edition", found="given no page", must_be="given at least one"
        )
    for page in pages:
        text = page.read_text(encoding="utf-8")
        page.write_text(text.replace("</body>", f"<script>{script}</script></body>", 1), encoding="utf-8")
    return pages


def build(out: Path, pyodide: str | None = None, lessons: Path = LESSONS) -> None:
    """Build the site.

    `out`: a folder that is not there yet, or is empty. `pyodide`: path of an archive of the browser's Python.

    Tried in Chromium with an archive of the browser's Python that held its core and the wheels of pure Python alone:
    the kernel starts with no request to the net, sliders answer, and the course's wheel is put in. numpy and all
    that is compiled for the browser comes from the archive that its makers release, which was not at hand,
    so that no lesson was run.
    """
    if out.exists() and (not out.is_dir() or any(out.iterdir())):
        raise Refusal(
            "file",
            where=f"{out.name!r}",
            found="is a folder that holds something already",
            must_be="an empty or a new folder, such as 'browser'",
        )
    if not importlib.util.find_spec("jupyterlite_core") or not importlib.util.find_spec("jupyterlite_pyodide_kernel"):
        raise Refusal(
            "tools",
            where="the builder of the browser's edition",
            found="not installed",
            must_be="installed",
            do="Install it with pip install -e '.[browser]'",
        )
    if not (ROOT / "pyproject.toml").is_file():
        raise Refusal(
            "tools",
            where="the course",
            found="installed without its sources",
            must_be="a copy of the repository, because the browser's edition is built in one",
        )
    if pyodide and not Path(pyodide).is_file():
        raise Refusal(
            "file",
            where=f"{Path(pyodide).name!r}",
            found="is not there",
            must_be="the path of an archive of the browser's Python",
        )
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        (folder / "contents" / "lessons").mkdir(parents=True)
        for path in sorted(lessons.glob("[0-9][0-9]_*.ipynb")):
            nbformat.write(for_browser(nbformat.read(path, as_version=4)), folder / "contents" / "lessons" / path.name)
        _run(
            [
                sys.executable,
                "-m",
                "pip",
                "wheel",
                "--quiet",
                "--no-deps",
                "-w",
                str(folder / "wheels"),
                str(ROOT),
                *PURE,
            ],
            folder,
        )
        wheels = [
            part for wheel in sorted((folder / "wheels").glob("*.whl")) for part in ("--piplite-wheels", str(wheel))
        ]
        more = ["--pyodide", str(Path(pyodide).resolve())] if pyodide else []
        _run(
            [
                sys.executable,
                "-m",
                "jupyter",
                "lite",
                "build",
                "--contents",
                "contents",
                "--output-dir",
                str(out.resolve()),
                *wheels,
                "--no-sourcemaps",
                *more,
            ],
            folder,
        )
        say_where_no_kernel_comes(out)


def _run(command: Sequence[str], folder: Path) -> None:
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    if done.returncode:
        said = [line for line in (done.stdout + done.stderr).splitlines() if "Error" in line]
        last = (said or ["nothing said"])[-1]
        raise Refusal(
            "tools",
            where=f"{' '.join(command[1:4])}",
            found=f"not done: {last[:300]!r}",
            must_be="free of faults, for the site to be built",
        )
