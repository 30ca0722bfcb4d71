"""Stopped at any write or rename: the old or the new is there, and the next run makes it right."""
from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing, suppress
from functools import partial
from pathlib import Path

import pytest
from handing_in import Notebook, answered, hand_in_to, make_course, released, small_source
from stopping import files, stopped

from acidbase_lib import __version__
from acidbase_lib.classroom.commands import form as form_command
from acidbase_lib.classroom.commands import study
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.intake import take_in
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.write_gradebook import ClassGradebook
from acidbase_lib.classroom.hub import sign_in
from acidbase_lib.classroom.notebooks import build_course as build
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource
from acidbase_lib.classroom.private import others_can_read
from acidbase_lib.teaching.unit import open_unit

pytestmark = pytest.mark.slow

UNIT = "small"
MINE = {"q1-1": "%%chart q1-1\npH: high\nbicarbonate: high\ndisorder: metabolic alkalosis",
        "q1-5": "%%chart q1-5\nexpected PaCO2: 40"}
HOW = pytest.mark.parametrize("how", ["kill", "full"])


def at_each(work: Callable[[], object], state: Path, how: str,
            look: Callable[[], None] = lambda: None,
            after: Callable[[], object] | None = None, step: int = 1, sql: bool = False,
            same: Callable[[Path], object] = files) -> int:
    """Stop the work at each operation; look at what is there; run it again; compare.

    Returns at how many operations it was stopped.
    """
    before = state.with_name("before")
    shutil.copytree(state, before, dirs_exist_ok=True)
    count = int(stopped(work, state, sql=sql))
    (after or work)()
    whole = same(state)
    for at in range(1, count + 1, step):
        shutil.rmtree(state)
        shutil.copytree(before, state)
        said = stopped(work, state, at, how, sql)
        assert said == "" if how == "kill" else "make room" in said or said.isdigit(), (at, said)
        look()
        (after or work)()
        assert same(state) == whole, f"stopped at operation {at} of {count}"
    return count


# --- a learner's folder ---

@pytest.fixture
def kit(tmp_path: Path, source: AssignmentSource) -> Path:
    """A released course of two units."""
    folder = tmp_path / "kit"
    for unit in ("a_unit", UNIT):
        (folder / unit).mkdir(parents=True)
        (folder / unit / f"{unit}.ipynb").write_text(json.dumps(released(source)))
    return folder


@HOW
def test_a_first_copy_of_the_course_is_whole_or_not_there(how: str, kit: Path,
                                                          tmp_path: Path) -> None:
    mine = tmp_path / "mine"
    mine.mkdir()

    def each_unit_is_whole() -> None:
        for path in mine.rglob("*.ipynb"):
            assert path.read_bytes() == (kit / path.relative_to(mine)).read_bytes()

    assert at_each(partial(study.copy_course, kit, mine), mine, how, each_unit_is_whole) >= 6


@HOW
def test_an_update_never_loses_an_answer(how: str, kit: Path, tmp_path: Path,
                                         blank: Notebook) -> None:
    mine = tmp_path / "mine"
    study.copy_course(kit, mine)
    path = mine / UNIT / f"{UNIT}.ipynb"
    path.write_text(json.dumps(answered(blank, MINE)))
    newer = json.loads((kit / UNIT / f"{UNIT}.ipynb").read_text())
    newer["cells"][-1]["source"] = "The end, said better."
    (kit / UNIT / f"{UNIT}.ipynb").write_text(json.dumps(newer))

    def the_answers_are_there() -> None:
        whole = [p.read_text() for p in path.parent.glob("*.ipynb")]
        assert all(json.loads(text)["cells"] for text in whole)
        assert any("metabolic alkalosis" in text for text in whole)

    assert at_each(partial(study.copy_course, kit, mine), mine, how, the_answers_are_there) >= 6


def test_a_unit_that_an_older_kit_left_cut_off_is_copied_again(kit: Path, tmp_path: Path) -> None:
    mine = tmp_path / "mine"
    study.copy_course(kit, mine)
    (mine / study.RECORD).unlink()
    path = mine / UNIT / f"{UNIT}.ipynb"
    for size in (0, 1, 500):
        path.write_bytes(path.read_bytes()[:size])
        study.copy_course(kit, mine)
        assert files(mine / UNIT) == files(kit / UNIT)


@HOW
def test_a_home_on_a_hub_gets_each_unit_whole_and_its_owner_s_alone(
        how: str, kit: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sign_in, "course_folder", lambda: kit)
    home = tmp_path / "anna"
    home.mkdir()

    def each_unit_is_whole() -> None:
        for path in home.glob("[!.]*/*.ipynb"):
            assert path.read_bytes() == (kit / path.relative_to(home)).read_bytes()

    def enter() -> None:
        sign_in.prepare_home(home, __version__, tmp_path / "outbound")

    assert at_each(enter, home, how, each_unit_is_whole,
                   same=lambda place: (files(place), list(others_can_read(place.iterdir())))) >= 6
    assert not list(others_can_read(home.iterdir()))


# --- a form ---

@pytest.fixture
def write_form(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., object]:
    """Write a form of a unit; nbgrader's long part in it is stood for."""
    def release(root: Path, units: list[str], into: Path) -> None:
        for unit in units:
            shutil.copytree(root / "solutions" / unit, into / unit)

    monkeypatch.setattr(build, "generate_release", release)
    unit = open_unit("02_primary_disorder", form=7)
    template = form_command.template_of(unit.id)
    return partial(form_command.write_pair, unit, tmp_path / "forms", template=template)


@pytest.mark.slow
@HOW
def test_half_a_form_is_never_there_already(how: str, write_form: Callable[..., object],
                                            tmp_path: Path) -> None:
    (tmp_path / "forms").mkdir()

    def again() -> None:  # as a person would: without --force, and whole where it says so
        with suppress(form_command.CommandError):
            write_form()

    assert at_each(write_form, tmp_path / "forms", how, after=again) >= 8


@pytest.mark.slow
def test_a_form_written_over_is_the_old_pair_or_the_new(write_form: Callable[..., object],
                                                        tmp_path: Path) -> None:
    forms = tmp_path / "forms"
    write_form()
    for path in forms.rglob("*.ipynb"):
        path.write_text(path.read_text() + "\n")  # as an earlier kit wrote it
    old = files(forms)

    def again() -> None:
        try:
            write_form()
        except form_command.CommandError:
            assert files(forms) == old or files(forms) == new
            write_form(force=True)

    write_form(force=True)
    new = files(forms)
    for path in forms.rglob("*.ipynb"):
        path.write_text(path.read_text() + "\n")
    assert at_each(partial(write_form, force=True), forms, "kill", after=again) >= 8


# --- a bundle ---

@HOW
def test_each_hand_in_is_the_old_or_the_new_and_an_earlier_one_is_kept(
        how: str, course: Path, tmp_path: Path, right: Notebook, blank: Notebook) -> None:
    import datetime

    for learner, text in (("ada", blank), ("ben", right)):
        hand_in_to(course, learner, text)
    bundle = tmp_path / "bundle"
    bundle.mkdir()
    for learner in ("ada", "ben", "cy"):
        (bundle / f"{learner}.ipynb").write_text(json.dumps(right))
    (tmp_path / "roster.csv").write_text("id\nada\nben\ncy\n")
    handed_in = course / "grading" / "submitted"

    def nothing_is_lost() -> None:
        mine = files(handed_in / "ada")
        assert json.dumps(blank).encode() in mine.values()
        assert all(json.loads(text) for name, text in mine.items() if name.endswith(".ipynb"))

    work = partial(take_in, course, UNIT, bundle, tmp_path / "roster.csv",
                   handed_in=datetime.datetime(2031, 3, 1, 9, 0))
    assert at_each(work, handed_in, how, nothing_is_lost) >= 10


# --- a gradebook ---

def tables(grading: Path) -> dict[str, list[tuple[object, ...]]]:
    """What a gradebook holds, but for the ids that are drawn by chance."""
    with closing(sqlite3.connect(grading / "gradebook.db")) as book:
        assert book.execute("pragma integrity_check").fetchone() == ("ok",)
        names = sorted(name for (name,) in book.execute(
            "select name from sqlite_master where type = 'table'"))
        told = {name: book.execute(f"select count(*) from {name}").fetchall() for name in names}
        told["cells"] = book.execute("select name, type from base_cell order by 1, 2").fetchall()
        told["sources"] = book.execute(
            "select name, source, checksum, locked from source_cell order by 1").fetchall()
        told["version"] = book.execute("select version_num from alembic_version").fetchall()
    return told


def set_up(school: Path) -> None:
    folder = CourseFolder.find(school)
    with ClassGradebook(folder, AssignmentSource.from_file(folder.source_notebook(UNIT), UNIT)):
        pass


@pytest.mark.parametrize("step", [31, pytest.param(1, marks=pytest.mark.long)])
def test_a_gradebook_is_set_up_whole_or_the_next_run_does(step: int, tmp_path: Path) -> None:
    """Killed at each statement and each commit: what is left is completed, not refused."""
    school = make_course(tmp_path / "school", UNIT, small_source())
    grading = school / "grading"
    grading.mkdir()
    assert at_each(partial(set_up, school), grading, "kill", step=step, sql=True,
                   same=tables) > 40


@pytest.mark.slow
def test_a_gradebook_that_an_older_kit_left_half_made_is_completed(tmp_path: Path) -> None:
    school = make_course(tmp_path / "school", UNIT, small_source())
    set_up(school)
    whole = tables(school / "grading")
    for harm in ("drop table alembic_version", "drop table grade", "drop table source_cell",
                 "delete from alembic_version",
                 "delete from source_cell where name > 'q1-2-check'",
                 "delete from source_cell", "delete from notebook", "delete from assignment"):
        with closing(sqlite3.connect(school / "grading" / "gradebook.db")) as book:
            book.execute(harm)
            book.commit()
        set_up(school)
        if "notebook" not in harm and "assignment" not in harm:  # ids are new then
            assert tables(school / "grading") == whole, harm
        hand_in_to(school, "ada", b"{}")
        assert [row.state for row in mark_class(school, UNIT).learners] == ["not marked"]
        shutil.rmtree(school / "grading")
        set_up(school)


@pytest.mark.parametrize("room", range(0, 200_000, 20_000))
def test_a_disk_that_is_full_at_set_up_is_told_and_the_next_run_does_it(
        room: int, tmp_path: Path) -> None:
    import resource
    import signal

    school = make_course(tmp_path / "school", UNIT, small_source())

    def with_little_room() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))
        set_up(school)

    said = stopped(with_little_room, school)
    assert said.isdigit() or "make room" in said
    set_up(school)
    assert len(tables(school / "grading")["sources"]) == 19


def test_two_first_collects_at_once_wait_for_each_other(tmp_path: Path, right: Notebook) -> None:
    import os

    school = make_course(tmp_path / "school", UNIT, small_source())
    hand_in_to(school, "ada", right)
    children = []
    for _ in range(4):
        child = os.fork()
        if child == 0:
            try:
                done = mark_class(school, UNIT).learners
                os._exit(0 if [row.score for row in done] == [10.0] else 3)
            finally:
                os._exit(4)
        children.append(child)
    assert [os.waitpid(child, 0)[1] for child in children] == [0] * 4
    assert len(tables(school / "grading")["sources"]) == 19
