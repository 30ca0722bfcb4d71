"""Files of learners, marks and keys are readable by their owner only."""
from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest
from handing_in import HandIn, Notebook

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.safekeeping.backups import back_up, restore
from acidbase_lib.classroom.gradebook.safekeeping.check_course import check_course
from acidbase_lib.classroom.private import others_can_read, owner_only, tighten

pytestmark = pytest.mark.skipif(os.name == "nt", reason="Windows has no such rights")


@pytest.fixture(autouse=True)
def usual_mask():
    before = os.umask(0o022)
    yield
    os.umask(before)


def open_ones(*places: Path) -> list[str]:
    """Everything in some places that others could read, were the folders above it open."""
    return [str(path) for place in places for path in [place, *place.rglob("*")]
            if path.stat().st_mode & (stat.S_IRWXG | stat.S_IRWXO)]


def test_everything_that_marking_writes_is_the_owners(course: Path, hand_in: HandIn,
                                                      right: Notebook) -> None:
    hand_in("ada", right)
    mark_class(course, "small")
    grading = course / "grading"
    assert stat.S_IMODE(grading.stat().st_mode) == 0o700  # what was put there by hand lies within
    assert open_ones(grading / "gradebook.db", grading / "autograded", grading / "history") == []


def test_what_was_open_before_is_closed(course: Path, hand_in: HandIn, right: Notebook) -> None:
    """A course of an earlier kit."""
    hand_in("ada", right)
    for path in [course / "grading", *(course / "grading").rglob("*")]:
        path.chmod(0o755 if path.is_dir() else 0o644)
    assert any("can be read by others" in one.sentence
               for one in check_course(CourseFolder.find(course)) if not one.well)
    mark_class(course, "small")
    assert open_ones(course / "grading") == []


def test_backups_and_what_is_put_aside_too(course: Path, hand_in: HandIn, right: Notebook) -> None:
    hand_in("ada", right)
    mark_class(course, "small")
    back_up(CourseFolder.find(course))
    aside = restore(CourseFolder.find(course)).aside
    assert aside is not None
    assert open_ones(aside, *(course / "grading" / name for name in (
        "gradebook.db", "backups", "history"))) == []


def test_a_course_shared_by_a_group_stays_shared(course: Path, hand_in: HandIn,
                                                 right: Notebook) -> None:
    config = course / "course" / "nbgrader_config.py"
    config.write_text(config.read_text() + "\nc.CourseDirectory.groupshared = True\n")
    hand_in("ada", right)
    (course / "grading").chmod(0o2770)
    mark_class(course, "small")
    assert stat.S_IMODE((course / "grading").stat().st_mode) == 0o2770
    marked = course / "grading" / "autograded"
    assert {stat.S_IMODE(path.stat().st_mode) for path in [marked, *marked.rglob("*")]} == {
        0o2770, 0o660}


@pytest.mark.slow
def test_pages_grades_and_keys_of_every_command(tmp_path: Path) -> None:
    made = tmp_path / "made"
    assert main(["demo", "--out", str(made), "--learners", "3"]) == 0
    assert open_ones(made / "grading", made / "feedback", made / "report", made / "grades.csv",
                     made / "solutions") == []
    assert main(["report", str(made / "course"), "--unit", "02_primary_disorder", "--out",
                 str(tmp_path / "again")]) == 0
    assert open_ones(tmp_path / "again") == []
    assert main(["form", "02_primary_disorder", "--seed", "5", "--out",
                 str(tmp_path / "form")]) == 0
    (key,) = (tmp_path / "form" / "solutions").rglob("*.ipynb")
    assert open_ones(key) == []
    assert main(["worksheet", "02_primary_disorder", "--seed", "5", "--out",
                 str(tmp_path / "paper")]) == 0
    assert open_ones(*(tmp_path / "paper").glob("*_key.html")) == []
    assert open_ones(*(tmp_path / "paper").glob("*_worksheet.html")) != []  # for learners
    assert main(["quiz", "02_primary_disorder", "--seed", "5", "--out",
                 str(tmp_path / "quiz.zip")]) == 0
    assert main(["mark", str(made / "grading" / "submitted" / next(
        path.name for path in (made / "grading" / "submitted").iterdir()) / "02_primary_disorder"
        / "02_primary_disorder.ipynb"), "--html", str(tmp_path / "mine.html")]) in {0, 2}
    assert open_ones(tmp_path / "quiz.zip", *tmp_path.glob("mine.html")) == []


@pytest.mark.slow
@pytest.mark.parametrize("words", [
    ["worksheet", "02_primary_disorder", "--out", "{}/out"],
    ["quiz", "02_primary_disorder", "--out", "{}/out.zip"]], ids=lambda words: words[0])
def test_a_key_is_never_open_not_for_a_moment(words: list[str], tmp_path: Path) -> None:
    """Whatever the mask: at each renaming the file that gets its name is the owner's alone."""
    import sys

    seen: list[int] = []

    def look(event: str, args: tuple[object, ...]) -> None:
        if event == "os.rename" and str(args[1]).startswith(str(tmp_path)) and str(
                args[1]).endswith(("_key.html", ".zip")):
            seen.append(stat.S_IMODE(os.stat(str(args[0])).st_mode))
    sys.addaudithook(look)
    before = os.umask(0)
    try:
        assert main([word.format(tmp_path) for word in words]) == 0
    finally:
        os.umask(before)
    assert seen == [0o600]


def test_the_mask_is_put_back_also_after_a_trouble() -> None:
    def fail() -> None:
        raise ValueError

    with pytest.raises(ValueError), owner_only():  # noqa: PT011
        fail()
    assert os.umask(0o022) == 0o022


def test_a_closed_folder_is_not_looked_into_and_links_are_not_followed(tmp_path: Path) -> None:
    for name in ("open", "closed", "elsewhere"):
        (tmp_path / name).mkdir(mode=0o700 if name == "closed" else 0o755)
        (tmp_path / name / "file").touch(0o644)
    (tmp_path / "open" / "link").symlink_to(tmp_path / "elsewhere")
    places = [tmp_path / "open", tmp_path / "closed"]
    assert set(others_can_read(places)) == {tmp_path / "open", tmp_path / "open" / "file"}
    tighten(places)
    assert list(others_can_read(places)) == []
    assert stat.S_IMODE((tmp_path / "elsewhere" / "file").stat().st_mode) == 0o644
