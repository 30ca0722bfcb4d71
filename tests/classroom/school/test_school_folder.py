"""A school's folder: made, found from inside, said in the first line, and looked over."""
from __future__ import annotations

import os
import re
import shutil
from pathlib import Path

import pytest
from own_school import WARD_ROUND, make_school

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.school.folder import find_school
from acidbase_lib.classroom.school.look_over import look_over


@pytest.fixture
def school(tmp_path: Path) -> Path:
    return make_school(tmp_path / "school", settings="hco3 = [21, 28]\n")


def test_the_starter_is_without_a_fault_and_is_never_written_over(tmp_path, capsys) -> None:
    folder = tmp_path / "mine"
    assert main(["school", "new", str(folder)]) == 0
    assert main(["school", "check", "--school", str(folder)]) == 0
    assert "unit ward_round: A ward round, 2 questions" in capsys.readouterr().out
    assert look_over(folder).faults == look_over(folder).doubts == look_over(folder).asked_for == ()
    assert look_over(folder).laid_over == ("unit ward_round: A ward round, 2 questions",)
    for name in ("patients/vignettes.toml", "words/own.po"):  # ... until their # is taken away
        path = folder / name
        path.write_text("".join(
            re.sub(r"^# ?(?=\[\[|id|ward|text|cause|gap|fits|msg)", "", line)
            for line in path.read_text("utf-8").splitlines(keepends=True)), encoding="utf-8")
    assert look_over(folder).faults == ()
    assert len(look_over(folder).laid_over) == 3
    (folder / "school.toml").write_text('name = "Ours"\n', encoding="utf-8")
    assert main(["school", "new", str(folder)]) == 2
    assert "nothing was written" in capsys.readouterr().err
    assert find_school(folder).name == "Ours"


def test_it_is_found_from_a_folder_below(school: Path, monkeypatch, capsys) -> None:
    (school / "a" / "b").mkdir(parents=True)
    monkeypatch.chdir(school / "a" / "b")
    assert main(["read", "7.40", "40", "27"]) == 0
    first = capsys.readouterr().out.splitlines()[0]
    assert first.startswith("School: Harbor Lane School (")


def test_two_numbers_are_enough_to_change_a_range(school: Path, capsys) -> None:
    assert main(["read", "7.40", "40", "27"]) == 0
    kits = capsys.readouterr().out
    assert main(["read", "7.40", "40", "27", "--school", str(school)]) == 0
    ours = capsys.readouterr().out
    assert "21–28" in ours
    assert "21–28" not in kits
    assert [line.split() for line in look_over(school).laid_over if "hco3" in line] == [
        ["settings.toml:", "hco3", "21–28", "mmol/L"]]


def test_json_stays_json(school: Path, capsys) -> None:
    import json

    assert main(["read", "7.40", "40", "27", "--json", "--school", str(school)]) == 0
    json.loads(capsys.readouterr().out)


def test_no_school_changes_nothing(tmp_path: Path, monkeypatch, capsys) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["read", "7.40", "40", "24"]) == 0
    assert "School:" not in capsys.readouterr().out


@pytest.mark.parametrize(("name", "text", "file", "line", "says"), [
    ("settings.toml", "\nhco3 = [28, 21]\n", "settings.toml", 2, "not below"),
    ("settings.toml", "hco4 = [21, 28]\n", "settings.toml", 1, "did you mean hco3"),
    ("settings.toml", "# x\nhco3 = 21, 28\n", "settings.toml", 2, "not TOML"),
    ("school.toml", 'name = "a"\ncolor = "b"\n', "school.toml", 2, "'color'"),
    ("school.toml", "name = 3\n", "school.toml", 1, "not a text"),
    ("questions/ward_round.csv", WARD_ROUND, "questions/ward_round.txt", 1, "keep one"),
    ("questions/02_primary_disorder.txt", WARD_ROUND, "questions/02_primary_disorder.txt", 1,
     "another name"),
    ("questions/Round 2.txt", WARD_ROUND, "questions/Round 2.txt", 1, "small letters"),
    ("questions/round.docx", "PK", "questions/round.docx", 1, "plain text"),
    ("questions/own.toml", 'id = "own"\ntitle = "t"\n[[question]]\nid = "q1"\n'
     'recipe = "magic"\nstem = "s"\n', "questions/own.toml", 4, "no recipe 'magic'"),
    ("questions/own.toml", 'id = "own"\ntitle = "t"\n[[question]]\nid = "q1"\n'
     'recipe = "read in parts"\nstem = "s"\nwishes = [{disorder = "green"}]\n',
     "questions/own.toml", 4, "disorder is one of"),
])
def test_each_fault_has_its_file_its_line_and_a_sentence(school, name, text, file, line, says,
                                                         capsys) -> None:
    (school / name).write_text(text, encoding="utf-8")
    assert main(["school", "check", "--school", str(school)]) == 1
    faults = look_over(school).faults
    assert [(one.file, one.line) for one in faults] == [(file, line)], faults
    assert says in faults[0].sentence
    assert faults[0].sentence.endswith((".", "?", '"'))


def test_nothing_is_written_while_the_unit_has_a_fault(school: Path, tmp_path, capsys) -> None:
    path = school / "questions" / "ward_round.txt"
    path.write_text(WARD_ROUND.replace("right: A\n", "right: F\n", 1), encoding="utf-8")
    before = sorted(tmp_path.rglob("*"))
    for words in (["worksheet", "ward_round", "--out"],
                  ["form", "ward_round", "--seed", "3", "--out"],
                  ["study", "--no-open", "--to"]):
        assert main([*words, str(tmp_path / "out"), "--school", str(school)]) == 2
        assert "ward_round.txt, line 10" in capsys.readouterr().err
    assert main(["quiz", "ward_round", "--out", str(tmp_path / "q.zip"),
                 "--school", str(school)]) == 2
    assert [path for path in sorted(tmp_path.rglob("*")) if path not in before] in (
        [], [tmp_path / "out"])


def test_what_the_check_doubts_is_said_on_the_way(school: Path, tmp_path, capsys) -> None:
    (school / "questions" / "ward_round.txt").write_text(
        WARD_ROUND.replace("right: A\n", "right: B\n", 1), encoding="utf-8")
    assert main(["worksheet", "ward_round", "--out", str(tmp_path / "w"),
                 "--school", str(school)]) == 0
    assert "The check doubts ward_round, line 10, must be mended" in " ".join(
        capsys.readouterr().out.split())
    assert main(["school", "check", "--school", str(school)]) == 0
    out = capsys.readouterr().out
    assert "doubts" in out
    assert "sound" not in out


@pytest.mark.slow
def test_worksheet_and_quiz_hold_the_questions_and_the_key(school: Path, tmp_path, capsys) -> None:
    assert main(["worksheet", "ward_round", "--out", str(tmp_path / "w"),
                 "--school", str(school)]) == 0
    sheet = (tmp_path / "w" / "ward_round_form_1_worksheet.html").read_text(encoding="utf-8")
    key = (tmp_path / "w" / "ward_round_form_1_key.html").read_text(encoding="utf-8")
    assert "Mr. Adair" in sheet
    assert "26 mmol/L" in key
    assert "As the questions' author gave it." in key.replace("&#x27;", "'").replace("&#39;", "'")
    assert "PaCO2 is high: a push of the lungs." not in sheet
    assert main(["quiz", "ward_round", "--out", str(tmp_path / "q.zip"),
                 "--school", str(school)]) == 0
    assert "6 questions, 11 points" in capsys.readouterr().out


@pytest.mark.slow
def test_a_moved_folder_writes_the_same_form(school: Path, tmp_path: Path) -> None:
    def setup(folder: Path, out: Path) -> str:
        assert main(["form", "ward_round", "--seed", "3", "--out", str(out),
                     "--school", str(folder)]) == 0
        return (out / "course" / "ward_round_form_3" / "ward_round_form_3.ipynb").read_text("utf-8")

    first = setup(school, tmp_path / "one")
    shutil.move(school, tmp_path / "elsewhere and more")
    assert setup(Path(os.path.relpath(tmp_path / "elsewhere and more")), tmp_path / "two") == first
