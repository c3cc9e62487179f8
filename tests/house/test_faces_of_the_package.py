"""Three ways in: numbers from simulate, panels from simulate.show, the course from simulate.course; lazily, and nothing
deeper."""

import ast
import importlib
import pkgutil
import re
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest

import simulate
import simulate.course
import simulate.show
from simulate.core.lazy import attach

ROOT = Path(__file__).resolve().parents[2]
FACES = {"simulate": simulate, "simulate.show": simulate.show, "simulate.course": simulate.course}
LESSONS = sorted((ROOT / "lessons").glob("*.ipynb"))
HEAVY = ["scipy", "highspy", "matplotlib", "ipywidgets", "IPython", "nbformat", "nbconvert", "fpdf", "jinja2", "PIL"]


def imported(source: str) -> list[tuple[str, str]]:
    """Every (module, name) that a piece of code imports of the package; `import simulate.x` counts as all of it."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found += [(alias.name, "*") for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            found += [(node.module or "", alias.name) for alias in node.names]
    return [one for one in found if one[0].split(".")[0] == "simulate"]


def sources():
    """The code of every lesson, of README and of the pages, each with where it stands."""
    for path in LESSONS:
        for cell in nbformat.read(path, as_version=4).cells:
            if cell.cell_type == "code":
                yield path.name, cell.source
    for document in ("README.md", "DEVELOPERS.md"):
        for block in re.findall(r"^```python\n(.*?)^```", (ROOT / document).read_text(encoding="utf-8"), re.M | re.S):
            yield document, block


def test_lessons_and_documents_import_from_the_three_faces_and_from_nothing_deeper():
    looked_at = 0
    for where, source in sources():
        for module, name in imported(source):
            looked_at += 1
            assert module in FACES and name in FACES[module].__all__, f"{where}: from {module} import {name}"
    assert looked_at > 100


@pytest.mark.parametrize("face", FACES)
def test_a_face_gives_out_every_name_that_it_lists_and_lists_what_it_gives_out(face):
    module = FACES[face]
    assert module.__all__ == sorted(set(module.__all__)) and len(module.__all__) > 4
    for name in module.__all__:
        assert getattr(module, name) is getattr(module, name)
        assert name in dir(module)
    with pytest.raises(AttributeError, match=f"module '{face}' has no attribute 'nothing_of_the_kind'"):
        module.nothing_of_the_kind  # noqa: B018


@pytest.mark.parametrize("face", FACES)
def test_no_name_of_a_face_is_the_name_of_a_module_below_it(face):
    # Loading the module would put it where the name was.
    modules = {info.name for info in pkgutil.iter_modules(FACES[face].__path__)}
    assert not modules & set(FACES[face].__all__)


def test_two_modules_with_one_name_are_refused():
    with pytest.raises(RuntimeError, match="here exports one name from two modules"):
        attach("here", {"math": ["sqrt"], "cmath": ["sqrt"]})


def loaded(code: str) -> set[str]:
    """Which packages, heavy or numpy, a fresh Python holds after this code."""
    ask = f"import sys; {code}; print(*({set(HEAVY + ['numpy'])!r} & set(sys.modules)))"
    return set(subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True).stdout.split())


@pytest.mark.parametrize("face", FACES)
def test_a_face_loads_nothing_until_it_is_asked(face):
    assert loaded(f"import {face}") == set()


def test_two_functions_of_numbers_load_numpy_and_no_heavy_part_of_another_library():
    code = "from simulate import straightness, three_bars; heavy = [m for m in sys.modules if m.startswith('scipy.')]"
    assert loaded(code) - {"scipy"} == {"numpy"}
    parts = "; ".join([code, "assert not {'scipy.stats', 'scipy.optimize', 'scipy.sparse'} & set(heavy), heavy"])
    loaded(parts)


def test_a_panel_loads_only_what_draws_it():
    ask = (
        "from simulate.show import ThreeBarsPanel; bad = {'scipy.stats', 'scipy.optimize', 'highspy', "
        "'nbconvert', 'fpdf', 'nbformat'}"
    )
    loaded(f"{ask} & set(sys.modules); assert not bad, bad")


def test_a_lesson_starts_and_asks_without_loading_what_reads_notebooks():
    """It takes as long to load as all else that a lesson's first cell needs."""
    ask = (
        "from simulate.course import Before, Exercise, start; Exercise('two-gap', 'bench 1'); Before('03', 'bench 1'); "
        "bad = {'nbformat', 'jsonschema', 'nbclient', 'nbconvert'} & set(sys.modules); assert not bad, bad"
    )
    loaded(ask)


def test_heavy_libraries_stand_at_the_top_of_no_module_that_a_number_or_a_panel_needs():
    # scipy loads its parts when they are first asked for, so `import scipy` is cheap and `from scipy.stats import` is
    # not.
    for info in pkgutil.walk_packages(simulate.__path__, "simulate."):
        path = Path(importlib.import_module(info.name).__file__)
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            names = (
                [a.name for a in node.names]
                if isinstance(node, ast.Import)
                else [node.module or ""]
                if isinstance(node, ast.ImportFrom) and not node.level
                else []
            )
            for name in names:
                assert not name.startswith("scipy.") and name not in {"highspy"}, (
                    f"{info.name} imports {name} at its top"
                )
