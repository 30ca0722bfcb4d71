"""`acidbase report` makes the report again from the gradebook; `form --for-class` acts on it."""
from __future__ import annotations

import csv
import shutil
from pathlib import Path

import pytest

from acidbase_lib.classroom.commands import demo
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.commands.report import NO_LIST, report_of
from acidbase_lib.classroom.report.class_pages import unit_of_sitting
from acidbase_lib.classroom.report.report import ideas_to_test_again
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[3]


@pytest.fixture(scope="module")
def marked(tmp_path_factory):
    folder = tmp_path_factory.mktemp("class") / "made"
    assert main(["demo", "--out", str(folder), "--learners", "12"]) == 0
    return folder


def test_the_report_made_again_says_what_the_first_one_said(marked, tmp_path, capsys):
    assert main(["report", str(marked / "course"), "--unit", demo.UNIT, "--out",
                 str(tmp_path)]) == 0
    assert "class_report.html" in capsys.readouterr().out

    def ideas(folder):
        with (folder / "learners.csv").open(encoding="utf-8-sig", newline="") as file:
            return {row["id"]: (row["score"], row["ideas"]) for row in csv.DictReader(file)}

    assert ideas(tmp_path) == ideas(marked / "report")


def test_with_codes_no_id_is_in_any_file(marked, tmp_path):
    assert main(["report", str(marked / "course"), "--unit", demo.UNIT, "--codes", "--before",
                 demo.UNIT, "--out", str(tmp_path)]) == 0
    for path in tmp_path.iterdir():
        assert "hl0" not in path.read_text("utf-8")
    assert "Progress since the last sitting" in (tmp_path / "class_report.html").read_text("utf-8")


@pytest.mark.parametrize("codes", [False, True])
def test_with_a_class_list_everybody_on_it_is_counted(marked, tmp_path, capsys, codes):
    with (marked / "report" / "learners.csv").open(encoding="utf-8-sig", newline="") as file:
        listed = [f"{row['id']},{row['name']}" for row in csv.DictReader(file)]
    (tmp_path / "r.csv").write_text("\n".join(["id,name", *listed[1:], "zz9,Nora Gone\n"]), "utf-8")
    assert main(["report", str(marked / "course"), "--unit", demo.UNIT, "--roster",
                 str(tmp_path / "r.csv"), "--out", str(tmp_path / "out"),
                 *(["--codes"] if codes else [])]) == 0
    said = "On the class list: 12; 11 handed in, 1 did not. Not on it: 1 who handed in."
    assert said in capsys.readouterr().out
    page = (tmp_path / "out" / "class_report.html").read_text("utf-8")
    assert said in page
    assert ("Nora Gone" in page) != codes
    assert not codes or "zz9" not in page


def test_without_a_class_list_it_says_what_it_cannot_count(marked, tmp_path, capsys):
    assert main(["report", str(marked / "course"), "--unit", demo.UNIT, "--out",
                 str(tmp_path)]) == 0
    assert f"{NO_LIST} Add --roster roster.csv." in capsys.readouterr().out
    page = (tmp_path / "class_report.html").read_text("utf-8")
    assert "whoever handed in nothing is not counted" in page


def test_an_earlier_sitting_may_be_in_another_course_folder(marked, tmp_path, capsys):
    other = shutil.copytree(marked, tmp_path / "other")
    asked = ["report", str(other / "course"), "--unit", demo.UNIT, "--out", str(tmp_path / "out"),
             "--before"]
    assert main([*asked, "03_compensation"]) == 2
    said = capsys.readouterr().err
    assert "the earlier sitting 03_compensation was not found in" in said
    assert "name that with --before-in FOLDER" in said
    assert main([*asked, demo.UNIT, "--before-in", str(marked / "course")]) == 0
    assert "sat both this and" in (tmp_path / "out" / "class_report.html").read_text("utf-8")


def test_a_form_that_is_written_beside_the_course_here_says_so(tmp_path, capsys, monkeypatch):
    (tmp_path / "course").mkdir()
    (tmp_path / "solutions").mkdir()
    shutil.copy(ROOT / "course" / "nbgrader_config.py", tmp_path / "course")
    monkeypatch.chdir(tmp_path)
    source = ROOT / "solutions" / demo.UNIT / f"{demo.UNIT}.ipynb"
    words = ["form", demo.UNIT, "--seed", "5", "--as-lesson", "--source", str(source)]
    assert main(words) == 0
    assert "a course of its own" not in capsys.readouterr().out
    assert main([*words, "--out", "OUT"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "OUT is a course of its own, beside the one here" in said
    assert f"acidbase report OUT --unit {demo.UNIT}_form_5 --before UNIT --before-in ." in said


@pytest.mark.slow
def test_a_form_for_the_class_tests_again_what_was_found(marked, tmp_path, capsys):
    wanted = ideas_to_test_again(report_of(marked / "course", demo.UNIT))
    assert wanted
    assert main(["form", demo.UNIT, "--seed", "5", "--for-class", str(marked / "course"),
                 "--source", str(marked / "solutions" / demo.UNIT / f"{demo.UNIT}.ipynb"),
                 "--out", str(tmp_path)]) == 0
    told = capsys.readouterr().out
    assert "Chosen to test these again" in told
    again = {line.strip()[2:].strip(): int(line.split()[0]) for line in told.splitlines()
             if line.split() and line.split()[0].isdigit()}
    assert set(again) == {MISCONCEPTIONS[idea].name for idea in wanted}
    assert min(again.values()) >= 1  # each would show


@pytest.mark.parametrize(("words", "why"), [
    (["report", "nowhere", "--unit", demo.UNIT], "there is no course folder nowhere"),
    (["report", "nowhere", "--unit", demo.UNIT, "--before-in", "."], "name it with --before"),
    (["form", demo.UNIT, "--seed", "1", "--last", demo.UNIT], "name the course folder"),
])
def test_what_cannot_be_done_is_one_sentence(words, why, capsys):
    assert main(words) == 2
    assert why in capsys.readouterr().err


def test_the_report_knows_the_keys_of_judgment(tmp_path):
    """Without them a choice of what to do first would tell the report nothing."""
    unit = "07_clinical_priority"
    course = Path(shutil.copytree(ROOT / "course", tmp_path / "course")).parent
    shutil.copytree(ROOT / "solutions" / unit, tmp_path / "solutions" / unit)
    asked = unit_of_sitting(course, unit)
    assert [e.id for e in asked if e.key is None] == [e.id for e in asked if e.kind == "rationale"]
    assert any(e.predicted for e in asked if e.judged)
