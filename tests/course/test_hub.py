"""A class on a school's server: settings, homes filled and collected; and, long, a real hub with its proxy."""

import asyncio
import importlib.util
import os
import shutil
from pathlib import Path

import nbformat
import pytest

from simulate.core.refusal import Refusal
from simulate.course.classroom.class_list import class_set
from simulate.course.classroom.grading import mark_class
from simulate.course.classroom.hand_out import hand_out
from simulate.course.exercise.exercise import names, question
from simulate.course.hub.homes import collect_homes, fill_homes, home_of
from simulate.course.hub.settings import settings

CLASS = [f"Invented {k}" for k in range(1, 31)]
LOAD = Path(__file__).parents[1] / "benchmarks" / "hub_load.py"


@pytest.fixture
def homes(tmp_path):
    hand_out(tmp_path / "students", CLASS, "a seed", chosen=["00"])
    fill_homes(tmp_path / "students", tmp_path / "homes")
    return tmp_path / "homes"


def test_a_set_reaches_thirty_homes_and_nobody_else_can_look_in(homes):
    words = class_set(CLASS, "a seed").values()
    assert {path.name for path in homes.iterdir()} == set(words)
    for word in words:
        home = home_of(homes, word)
        assert home.stat().st_mode & 0o777 == 0o700
        assert list(home.rglob("00_*.ipynb"))


def test_nothing_is_written_through_a_link_that_a_student_has_laid(homes, tmp_path):
    elsewhere, home = tmp_path / "elsewhere", next(path for path in sorted(homes.iterdir()))
    elsewhere.mkdir()
    folder = next(path.parent for path in home.rglob("00_*.ipynb"))
    inside = folder if folder != home else home / "images"
    if inside.exists():
        shutil.rmtree(inside)
    inside.symlink_to(elsewhere, target_is_directory=True)
    set_folder = tmp_path / "students" / home.name / inside.relative_to(home)
    set_folder.mkdir(parents=True, exist_ok=True)
    (set_folder / "further.ipynb").write_text("{}")
    with pytest.raises(Refusal, match="leads out of the home"):
        fill_homes(tmp_path / "students", homes)
    assert list(elsewhere.iterdir()) == []


def test_filling_again_writes_only_what_is_missing_and_keeps_a_students_work(homes, tmp_path):
    first, second, *_ = class_set(CLASS, "a seed").values()
    kept = next((homes / first).rglob("00_*.ipynb"))
    kept.write_text("mine", encoding="utf-8")
    gone = next((homes / second).rglob("00_*.ipynb"))
    gone.unlink()
    assert fill_homes(tmp_path / "students", homes) == [gone]
    assert kept.read_text(encoding="utf-8") == "mine" and gone.stat().st_size > 1000


def test_what_is_collected_is_marked_and_the_homes_stay(homes, tmp_path):
    from simulate.course.exercise.hand_in import HandIn

    word = next(iter(class_set(CLASS, "a seed").values()))
    hand = HandIn()
    asked = names("00")[0]
    hand.keep(asked, word, f"{question(asked, word).answer:g}")
    path = next((homes / word).rglob("00_*.ipynb"))
    book = nbformat.read(path, as_version=4)
    shown = nbformat.v4.new_output("stream", name="stdout", text=repr(hand))
    book.cells.append(nbformat.v4.new_code_cell("hand_in()", outputs=[shown]))
    nbformat.write(book, path)
    os.symlink("/etc/hostname", homes / word / "99_a_link.ipynb")
    before = sorted(homes.rglob("*"))
    copied = collect_homes(homes, tmp_path / "handed_in")
    assert sorted(homes.rglob("*")) == before and not [path for path in copied if path.is_symlink()]
    assert len([path for path in copied if path.suffix == ".ipynb"]) == 30
    rows = mark_class(tmp_path / "handed_in", CLASS, "a seed", ["00"]).rows
    assert [(r.name, r.right) for r in rows if r.right] == [("Invented 1", "yes")]
    with pytest.raises(Refusal, match="is there already; it must be a new folder"):
        collect_homes(homes, tmp_path / "handed_in")


@pytest.mark.parametrize("word", ["..", "", "a/b", "/etc", "nobody-there", "Upper"])
def test_a_word_leads_to_no_other_folder(homes, word):
    with pytest.raises(Refusal, match="it must be the word of a student"):
        home_of(homes, word)


def test_folders_without_students_and_homes_without_work_are_refused(tmp_path):
    with pytest.raises(Refusal, match="no folder of a student"):
        fill_homes(tmp_path, tmp_path / "homes")
    with pytest.raises(Refusal, match="no notebook and no answers"):
        collect_homes(tmp_path, tmp_path / "handed_in")


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"HUB_HOMES": ""}, "HUB_HOMES"),
        ({"HUB_STATE": "/not/there"}, "HUB_STATE"),
        ({"HUB_IDLE_S": "soon"}, "HUB_IDLE_S is 'soon'; it must be a whole number from 2 to 86400"),
        ({"HUB_MEMORY_MB": "100"}, "HUB_MEMORY_MB is '100'; it must be a whole number from 500"),
        ({"HUB_ADDRESS": "http://0.0.0.0:8000", "HUB_TRIAL_PASSWORD": "x"}, "one password for all"),
    ],
)
def test_settings_that_cannot_be_are_refused_in_words(tmp_path, given, said):
    with pytest.raises(Refusal, match=said):
        settings({"HUB_HOMES": str(tmp_path), "HUB_STATE": str(tmp_path)} | given)


def loaded():
    spec = importlib.util.spec_from_file_location("hub_load", LOAD)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def no_hub():
    there = importlib.util.find_spec("jupyterhub") and shutil.which("configurable-http-proxy")
    return "" if there else "needs the extra hub, and configurable-http-proxy from npm"


@pytest.mark.long
@pytest.mark.skipif(bool(no_hub()), reason=no_hub())
def test_fifteen_students_move_sliders_for_a_minute_without_an_error(tmp_path):
    """Times are reported by ``python tests/benchmarks/hub_load.py``; here every change has to bring its picture."""
    load = loaded()
    with load.a_hub(tmp_path, 15) as hub:
        students, before, after, seconds = asyncio.run(load.measured(hub, 60))
        print(*load.told(students, before, after, seconds), sep="\n")
    assert not [wrong for one in students for wrong in one.wrong]
    assert len(students) == 15 and all(len(one.took_s) >= 5 for one in students)


@pytest.mark.long
@pytest.mark.skipif(bool(no_hub()), reason=no_hub())
def test_a_kernel_that_is_culled_takes_no_answer_with_it(tmp_path):
    load = loaded()

    async def tried(hub):
        await load.up(hub)
        one = load.Student(hub, hub.words[0], "04")
        await one.come()
        asked = names("04")[0]
        answer = question(asked, one.word).answer
        shown = f"from simulate.course import Exercise\ne = Exercise({asked!r}, {one.word!r})\n"
        await one.run(shown + f"e.field.value = {answer if isinstance(answer, str) else f'{answer:g}'!r}")
        for _ in range(120):
            code, _ = await hub.ask(f"/user/{one.word}/api/kernels/{one.kernel}")
            if code == 404:
                break
            await asyncio.sleep(1)
        assert code == 404, "an idle kernel is ended"
        await one.open_kernel()
        return await one.run(shown + "print('KEPT', e.feedback.value)"), one.wrong

    with load.a_hub(tmp_path, 1, idle_s=8) as hub:
        said, wrong = asyncio.run(tried(hub))
    assert not wrong and "Right." in said.split("KEPT", 1)[1]
