"""What Windows programs write is read as it was meant: other line ends, an invisible mark."""
from __future__ import annotations

import codecs
import copy
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from acidbase_lib.classroom.gradebook.roster import IntakeError, read_roster
from acidbase_lib.classroom.marking.own_notebook import mark_own_notebook
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource
from acidbase_lib.classroom.notebooks.carry_answers import carry_over
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.teaching.question_check.audit import audit_file
from acidbase_lib.teaching.questions.question_file import UnitError
from acidbase_lib.teaching.unit import open_unit

REPOSITORY = Path(__file__).parents[2]
UNIT = REPOSITORY / "solutions" / "02_primary_disorder" / "02_primary_disorder.ipynb"

SAVED: dict[str, Callable[[str], bytes]] = {
    "Linux": str.encode,
    "Windows": lambda text: text.replace("\n", "\r\n").encode(),
    "Windows, with a mark": lambda text: codecs.BOM_UTF8 + text.replace("\n", "\r\n").encode(),
}
SETTINGS = 'name = "Süd, Klasse 3"\nhco3 = [23, 28]\npaco2 = [34, 46]\n'
OURS = ('id = "our_unit"\ntitle = "Ours"\n[[question]]\nid = "q1-1"\nrecipe = "name the disorder"\n'
        'stem = """\nRead it.\n\n{gas}"""\nwishes = [{disorder = "metabolic alkalosis"}]\n')


@pytest.mark.parametrize("saved", SAVED.values(), ids=SAVED)
def test_a_school_s_own_settings(saved: Callable[[str], bytes], tmp_path: Path) -> None:
    (tmp_path / "school.toml").write_bytes(saved(SETTINGS))
    ours = LabSettings.from_toml(tmp_path / "school.toml")
    assert (ours.name, str(ours.hco3)) == ("Süd, Klasse 3", "23–28")


@pytest.mark.parametrize("saved", SAVED.values(), ids=SAVED)
def test_a_school_s_own_questions(saved: Callable[[str], bytes], tmp_path: Path) -> None:
    (tmp_path / "our_unit.toml").write_bytes(saved(OURS))
    prompt = open_unit("our_unit", form=1, folder=tmp_path).exercises["q1-1"].prompt
    assert "Read it.\n\n" in prompt
    assert "\r" not in prompt


def test_questions_in_another_encoding_are_told(tmp_path: Path) -> None:
    (tmp_path / "our_unit.toml").write_bytes(OURS.replace("Ours", "Üben").encode("cp1252"))
    with pytest.raises(UnitError, match=r"our_unit\.toml is not text in UTF-8"):
        open_unit("our_unit", folder=tmp_path)


@pytest.mark.parametrize("saved", SAVED.values(), ids=SAVED)
def test_a_roster(saved: Callable[[str], bytes], tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_bytes(saved("id,name\na1,Šimková Eva\nb2,Ødegård Jo\n"))
    assert [(line.learner, line.name) for line in read_roster(tmp_path / "r.csv")] == [
        ("a1", "Šimková Eva"), ("b2", "Ødegård Jo")]


@pytest.mark.parametrize("learner", ["con", "NUL.txt", "a:1", "a1.", "what?"])
def test_an_id_that_cannot_name_a_folder_on_windows_is_told_there(
        learner: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "r.csv").write_text(f"id\n{learner}\n", encoding="utf-8")
    assert read_roster(tmp_path / "r.csv")[0].learner == learner
    monkeypatch.setattr(sys.modules[read_roster.__module__], "_WINDOWS", True)
    with pytest.raises(IntakeError, match=r"line 2: .* cannot name a folder"):
        read_roster(tmp_path / "r.csv")


@pytest.mark.parametrize("saved", SAVED.values(), ids=SAVED)
def test_questions_written_by_hand(saved: Callable[[str], bytes], tmp_path: Path) -> None:
    text = next((REPOSITORY / "tests").rglob("sound.txt")).read_text(encoding="utf-8")
    (tmp_path / "q.txt").write_bytes(saved(text))
    (tmp_path / "plain.txt").write_text(text, encoding="utf-8", newline="\n")
    told = audit_file(tmp_path / "q.txt")
    assert len(told.questions) > 5
    assert told.questions == audit_file(tmp_path / "plain.txt").questions


def from_windows(notebook: dict[str, Any]) -> bytes:
    """A notebook as an editor on Windows may leave it: inside its texts, and between its lines."""
    notebook = copy.deepcopy(notebook)
    for cell in notebook["cells"]:
        cell["source"] = "".join(cell["source"]).replace("\n", "\r\n")
    return json.dumps(notebook, indent=1).replace("\n", "\r\n").encode()


@pytest.mark.parametrize("mark", [b"", codecs.BOM_UTF8], ids=["plain", "with a mark"])
def test_a_notebook_earns_the_same_marks_and_needs_no_repair(mark: bytes, tmp_path: Path) -> None:
    notebook = json.loads(UNIT.read_text(encoding="utf-8"))
    (tmp_path / UNIT.name).write_bytes(mark + from_windows(notebook))
    theirs, ours = mark_own_notebook(tmp_path / UNIT.name).marked, mark_own_notebook(UNIT).marked
    assert sum(mark.points for mark in ours.marks) > 0
    assert theirs.marks == ours.marks
    assert (theirs.state, theirs.repairs) == (ours.state, ours.repairs)


def test_an_instructor_s_own_notebook_holds_the_same_questions(tmp_path: Path) -> None:
    (tmp_path / UNIT.name).write_bytes(from_windows(json.loads(UNIT.read_text(encoding="utf-8"))))
    assert AssignmentSource.from_file(tmp_path / UNIT.name).cells == (
        AssignmentSource.from_file(UNIT).cells)


def test_answers_are_carried_into_a_newer_unit() -> None:
    release = REPOSITORY / "course" / "02_primary_disorder" / UNIT.name
    new = release.read_bytes()
    mine = from_windows(json.loads(UNIT.read_text(encoding="utf-8")))
    carried, plain = carry_over(mine, new), carry_over(UNIT.read_bytes(), new)
    assert carried is not None
    assert plain is not None
    assert carried.carried == plain.carried != ()
    assert b"\\r\\n" not in carried.data
