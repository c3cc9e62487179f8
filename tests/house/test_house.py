"""The rules of the house: what stands where, who may import whom, which names are kept."""

import ast
import graphlib
import importlib
import inspect
import re
import subprocess
import sys
import tomllib
from collections import Counter
from pathlib import Path

import pytest
import yaml

import simulate

ROOT = Path(__file__).resolve().parents[2]
ROOMS = ["core", "surface", "bench", "method", "readings", "show", "course"]
TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "environment.yml", "lessons", "simulate", "tests"}
PICTURE_PACKAGES = {"matplotlib", "ipywidgets", "IPython"}
FIXED = {
    "straightness": ["x_mm", "height_um", "reference"],
    "flatness": ["x_mm", "y_mm", "height_um", "reference"],
    "rest": ["x_mm", "height_um", "centre_mm"],
    "starting_bars": ["length_mm", "error_um", "points", "bars", "workshops", "seed"],
    "two_bars": ["x_mm", "height_um", "removal_um"],
    "three_bars": ["x_mm", "height_um", "rounds", "removal_um", "share", "seed"],
    "hidden_bar_errors": ["points", "fits", "bars"],
    "hidden_plate_errors": ["points", "fits", "plates"],
    "sag": ["length_mm", "depth_mm", "separation_mm", "material", "points"],
    "heat_bow_um": ["length_mm", "depth_mm", "difference_k", "material"],
    "step_lands": ["intervals", "zero_um", "sd_um"],
    "solve_bars": ["table", "reading_sd_um"],
    "solve_plates": ["table", "reading_sd_um"],
    "solve_squares": ["table", "reading_sd_um"],
    "union_jack": ["table"],
    "read_readings": [],
}


def repository_files() -> list[Path]:
    """Files under version control, or every file that is no by-product where git is not at hand."""
    try:
        names = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
        found = [ROOT / line for line in names.splitlines()]
    except (OSError, subprocess.CalledProcessError):
        waste = re.compile(r"(^|/)(\.venv|\.git|build|__pycache__|\.[a-z]+_cache|\.hypothesis|[^/]+\.egg-info)(/|$)")
        found = [p for p in ROOT.rglob("*") if p.is_file() and not waste.search(p.relative_to(ROOT).as_posix())]
    return [path for path in found if path.exists()]


def modules(room: str) -> list[Path]:
    return sorted((ROOT / "simulate" / room).glob("**/*.py"))


def imported(path: Path) -> set[str]:
    """Full names of every module that a file imports, wherever in the file the import stands."""
    names = set()
    package = path.relative_to(ROOT).with_suffix("").parts[:-1]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            stem = ".".join(package[: len(package) - node.level + 1]) if node.level else ""
            base = ".".join(part for part in (stem, node.module or "") if part)
            names |= {base} | {f"{base}.{alias.name}" for alias in node.names}
    return names


def test_the_top_level_holds_what_the_house_has_and_nothing_else():
    found = {path.relative_to(ROOT).parts[0] for path in repository_files()}
    assert {name for name in found if not name.startswith(".")} == TOP


def test_tests_stand_in_folders_as_the_package_does():
    folders = {path.parent.relative_to(ROOT / "tests").as_posix() for path in (ROOT / "tests").glob("**/test_*.py")}
    assert folders == {*ROOMS, "house", "lessons", "outside", "browser", "benchmarks"}
    assert not list((ROOT / "tests").glob("test_*.py")), "a test stands in the folder of its room"


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_imports_only_from_itself_and_the_rooms_below_it_in_the_building(room):
    allowed = set(ROOMS[: ROOMS.index(room) + 1])
    looked_at = 0
    for path in modules(room):
        looked_at += 1
        ours = {name for name in imported(path) if name.split(".")[0] == "simulate"}
        bare = {name for name in ours if name == "simulate"} if room not in {"show", "course"} else set()
        rooms = {name.split(".")[1] for name in ours if "." in name} & set(ROOMS)
        assert not bare, f"{path.name} imports simulate as a whole; import the module that is meant"
        assert rooms <= allowed, f"{path.name} imports {sorted(rooms - allowed)} from {room}"
    assert looked_at > 0


def folders_imported() -> dict[str, set[str]]:
    """Every folder of the package that holds modules, and the other folders that its modules import from."""
    homes = {}
    for path in (ROOT / "simulate").glob("*/**/*.py"):
        if path.name != "__init__.py":
            homes[".".join(path.relative_to(ROOT).with_suffix("").parts)] = path
    found = {}
    for name, path in homes.items():
        folder = name.rpartition(".")[0]
        others = {there.rpartition(".")[0] for there in imported(path) & set(homes)}
        found.setdefault(folder, set()).update(others - {folder})
    return found


def test_no_folder_imports_in_a_circle():
    found = folders_imported()
    assert len(found) > 20
    tuple(graphlib.TopologicalSorter(found).static_order())  # raises CycleError, which names the circle


def test_a_folder_holds_at_most_fifteen_modules_and_a_name_stands_at_most_three_times():
    paths = [path for path in (ROOT / "simulate").glob("**/*.py") if path.name != "__init__.py"]
    assert max(Counter(path.parent for path in paths).values()) <= 15
    assert max(Counter(path.name for path in paths).values()) <= 3


@pytest.mark.parametrize("room", [room for room in ROOMS if room not in {"show", "course"}])
def test_no_room_of_numbers_imports_a_package_for_pictures(room):
    for path in modules(room):
        tops = {name.split(".")[0] for name in imported(path)}
        assert not tops & PICTURE_PACKAGES, path.name


def test_importing_simulate_loads_no_pictures_and_no_widgets():
    code = "import sys, simulate; print(sorted({'matplotlib', 'ipywidgets', 'IPython'} & set(sys.modules)))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


@pytest.mark.parametrize("name", FIXED)
def test_the_fixed_names_are_importable_and_take_the_fixed_arguments(name):
    function = getattr(simulate, name)
    have = list(inspect.signature(function).parameters)
    assert [argument for argument in have if argument in FIXED[name]] == FIXED[name]
    assert name in simulate.__all__


def test_all_lists_only_names_that_exist():
    assert len(simulate.__all__) == len(set(simulate.__all__)) > 0
    for name in simulate.__all__:
        assert hasattr(simulate, name), name


def test_the_readings_error_is_a_refusal_and_a_refusal_a_value_error():
    assert issubclass(simulate.ReadingsError, simulate.Refusal) and issubclass(simulate.Refusal, ValueError)


def requirement(line: str) -> tuple[str, frozenset[str]]:
    name, bounds = re.fullmatch(r"([A-Za-z0-9._-]+)\s*(.*)", line).groups()
    return name.lower(), frozenset(bound.strip() for bound in bounds.split(",") if bound.strip())


def test_the_conda_environment_equals_pyproject_name_for_name_and_bound_for_bound():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    environment = yaml.safe_load((ROOT / "environment.yml").read_text())
    listed = environment["dependencies"]
    conda = dict(requirement(line) for line in listed if isinstance(line, str))
    python = conda.pop("python")
    assert conda.pop("pip") == frozenset()
    assert conda == dict(requirement(line) for line in project["dependencies"])
    (named,) = python  # one version, or a hub server takes the Python that it likes
    assert re.fullmatch(r"=3\.\d+", named)
    low = re.fullmatch(r">=3\.(\d+)", project["requires-python"])  # and no upper end
    assert int(low[1]) <= int(named.rpartition(".")[2])
    assert [entry for entry in listed if isinstance(entry, dict)] == [{"pip": ["."]}]
    assert environment["channels"] == ["conda-forge"]
    assert environment["name"] == project["name"]


def test_every_requirement_has_a_lower_bound_and_a_cap_only_with_its_reason_beside_it():
    text = (ROOT / "pyproject.toml").read_text()
    project = tomllib.loads(text)["project"]
    lines = project["dependencies"] + sum(project["optional-dependencies"].values(), [])
    assert len(lines) > 5
    for line in lines:
        bounds = re.findall(r"([<>=!~]=?)[\d.]+", line)
        assert ">=" in bounds and set(bounds) <= {">=", "<", "!="}, line
        if len(bounds) > 1:  # a known break, said in a comment on the same line
            assert re.search(re.escape(f'"{line}",') + r"  # \w{4,}", text), line


def test_the_version_stands_once_and_the_changelog_tells_of_it():
    pyproject = tomllib.loads((ROOT / "pyproject.toml").read_text())
    assert pyproject["project"]["dynamic"] == ["version"] and "version" not in pyproject["project"]
    assert pyproject["tool"]["setuptools"]["dynamic"]["version"] == {"attr": "simulate.__version__"}
    changes = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## Changelog")[1]
    assert f"**{simulate.__version__}**" in changes


def test_every_data_file_of_the_package_is_shipped_with_it():
    data = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["package-data"]
    files = [p for p in repository_files() if p.is_relative_to(ROOT / "simulate") and p.suffix != ".py"]
    for path in files:
        package = ".".join(path.parent.relative_to(ROOT).parts)
        assert any(path.match(pattern) for pattern in data.get(package, []) + data["*"]), path.name


def test_every_module_of_the_package_opens_with_a_docstring():
    paths = sorted((ROOT / "simulate").glob("**/*.py"))
    assert len(paths) > 10
    for path in paths:
        assert ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))), path


def test_every_module_can_be_imported():
    for path in sorted((ROOT / "simulate").glob("**/*.py")):
        name = ".".join(path.relative_to(ROOT).with_suffix("").parts)
        importlib.import_module(name.removesuffix(".__init__"))


# Put together here so that this file does not hold what it forbids.
FORBIDDEN = [
    "/" + "work/", "/" + "root/", "/" + "tmp/", "/" + "home/", "C:" + "\\Users", "pypi" + ".org",
    "python" + "hosted", "anaconda" + ".org", "contract" + ".md", "CHECKS" + ".md", "TRADE" + ".md",
    "STACK" + ".md", "DESIGN" + ".md",
]  # fmt: skip


def test_no_file_names_a_path_of_one_machine_or_the_host_of_a_registry():
    looked_at = 0
    for path in repository_files():
        if path.name == "test_lessons.py":  # forbids some of the same words, and so holds them
            continue
        try:
            text = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
        text = re.sub(r"[A-Za-z0-9+/=]{200,}", "", text)  # pictures stored as base64
        looked_at += 1
        for word in FORBIDDEN:
            assert word not in text, f"{path.relative_to(ROOT)} holds {word}"
        assert not re.search(r"\bissue #?\d", text, re.IGNORECASE), path.relative_to(ROOT)
    assert looked_at > 20
