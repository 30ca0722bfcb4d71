"""`acidbase export` on a marked class: whole, in codes, and one learner erased from it."""
from __future__ import annotations

import csv
import stat
import sys
from pathlib import Path

import pytest

from acidbase_lib.classroom.commands import demo
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.report.class_pages import results_of
from acidbase_lib.classroom.research.code_key import codes_kept, key_file

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("class")
    assert main(["demo", "--out", str(root / "made"), "--learners", "12"]) == 0
    assert main(["export", str(root / "out"), "--course", str(root / "made" / "course")]) == 0
    return root


def table(folder: Path) -> list[dict[str, str]]:
    with (folder / "answers.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_points_of_every_learner_come_out_as_the_gradebook_has_them(exported: Path) -> None:
    course = CourseFolder.find(exported / "made" / "course")
    codes = codes_kept(key_file(course))
    wanted = {codes[r.learner]: sum(m.points for m in r.marks)
              for r in results_of(course, demo.UNIT, {}) if r.score is not None}
    found = {(row["learner"], row["item"]): float(row["points"]) for row in table(exported / "out")}
    assert {code: sum(p for (who, _), p in found.items() if who == code)
            for code in codes.values()} == pytest.approx(wanted)


def test_no_id_is_in_any_file_and_the_key_is_for_its_owner_alone(exported: Path) -> None:
    course = CourseFolder.find(exported / "made" / "course")
    for path in (exported / "out").iterdir():
        assert not any(learner in path.read_text("utf-8") for learner in codes_kept(
            key_file(course)))
        if sys.platform != "win32":
            assert stat.S_IMODE(path.stat().st_mode) == 0o600
    if sys.platform != "win32":
        assert stat.S_IMODE(key_file(course).stat().st_mode) == 0o600


def test_an_earlier_export_is_never_written_over(exported: Path,
                                                 capsys: pytest.CaptureFixture[str]) -> None:
    before = (exported / "out" / "answers.csv").read_bytes()
    assert main(["export", str(exported / "out"), "--course",
                 str(exported / "made" / "course")]) == 2
    assert "name a new folder" in capsys.readouterr().err
    assert (exported / "out" / "answers.csv").read_bytes() == before


def test_an_erased_learner_is_gone_from_the_key_and_from_the_export(
        exported: Path, capsys: pytest.CaptureFixture[str]) -> None:
    course = CourseFolder.find(exported / "made" / "course")
    learner, code = sorted(codes_kept(key_file(course)).items())[0]
    others = [row for row in table(exported / "out") if row["learner"] != code]
    assert len(others) < len(table(exported / "out"))
    assert main(["erase", learner, "--course", str(course.root), "--out",
                 str(exported / "made" / "report"), "--out", str(exported / "made")]) in {0, 1}
    said = capsys.readouterr().out
    assert f"they were {code}" in said
    assert "research_codes" not in said
    assert table(exported / "out") == others
    assert learner not in codes_kept(key_file(course))
    assert main(["export", str(exported / "again"), "--course", str(course.root)]) == 0
    assert {row["learner"] for row in table(exported / "again")} == {
        row["learner"] for row in others}
