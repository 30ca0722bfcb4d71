"""A school's own Markdown stands in its units' notebooks, and its faults are told by line."""
from __future__ import annotations

import json
from pathlib import Path

import nbformat
import pytest
from own_school import hand_in, make_school

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.notebooks.school_lesson import CELL
from acidbase_lib.classroom.school.folder import find_school
from acidbase_lib.classroom.school.lessons import faults_of_lesson, lessons_of
from acidbase_lib.classroom.school.look_over import look_over

TEXT = """# How we do it on Ward 4

Our analyzer stands beside bay 3. Bicarbonate here is <<hco3>>.

Bring it in
-----------

```text
# no heading
<b>no tag</b>
```

### Then

See [the round](https://example.org/round), `<b>` and <https://example.org>.
"""


@pytest.fixture
def school(tmp_path: Path) -> Path:
    folder = make_school(tmp_path / "school", settings="hco3 = [21, 28]\n")
    (folder / "lessons").mkdir()
    (folder / "lessons" / "01_ranges.md").write_text(TEXT, encoding="utf-8")
    return folder


def _cells(path: Path) -> list[tuple[str, str]]:
    return [(cell.metadata.get("nbgrader", {}).get("grade_id", ""), cell.source)
            for cell in nbformat.read(path, as_version=4).cells]


def test_the_text_stands_under_a_heading_that_says_whose_it_is(school: Path) -> None:
    text = lessons_of(find_school(school))["01_ranges"]
    lines = text.splitlines()
    assert lines[0] == "## From your school"
    assert "Harbor Lane School wrote this part" in lines[2]
    assert "For teaching, not for care" in lines[2]
    assert [line for line in lines if line.startswith("#")] == [
        "## From your school", "### How we do it on Ward 4", "#### Bring it in", "# no heading",
        "##### Then"]
    assert "22–26" in text  # no command is running here: the kit's own range


@pytest.mark.parametrize(("text", "line", "says"), [
    ("", 1, "no words"), ("one\n\n<b>two</b>\n", 3, "'<b>'"), ("a <!-- b -->", 1, "web page"),
    ("one\n![a ward](ward.png)\n", 2, "picture"), ("[x](ward.pdf)", 1, "leads nowhere"),
    ("[x](javascript:alert(1))", 1, "leads nowhere"), ("a\n<<hco4>>", 2, "<<hco4"),
    ("a\n\n```\nb\n", 3, "never closed"), ("### Question 1.1 (1 point)\n", 1, "of the kit"),
    ("x" * 30_001, 1, "30,001 characters")])
def test_each_fault_is_told_by_its_line(tmp_path: Path, text: str, line: int, says: str) -> None:
    path = tmp_path / "01_ranges.md"
    path.write_text(text, encoding="utf-8")
    fault, = faults_of_lesson(path)
    assert (fault.file, fault.line) == ("lessons/01_ranges.md", line)
    assert says in fault.sentence


def test_files_that_are_no_units_text_are_told_and_nothing_is_copied(school: Path, tmp_path: Path,
                                                                     capsys) -> None:
    shelf = school / "lessons"
    (shelf / "01_range.md").write_text("x", encoding="utf-8")
    (shelf / "02_primary_disorder.docx").write_bytes(b"PK\x03\x04")
    (shelf / "ward_round.md").write_bytes(b"\xff\xfe\x00")
    found = look_over(school)
    assert {fault.file for fault in found.faults} == {
        "lessons/01_range.md", "lessons/02_primary_disorder.docx", "lessons/ward_round.md"}
    assert "lessons/01_ranges.md: your own text in unit 01_ranges" in found.laid_over
    assert main(["study", "--no-open", "--to", str(tmp_path / "out"), "--school",
                 str(school)]) == 2
    assert "school check" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


@pytest.mark.slow
def test_a_lesson_holds_it_after_the_introduction_and_is_marked(school: Path, tmp_path: Path,
                                                                monkeypatch, capsys) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["form", "01_ranges", "--seed", "3", "--as-lesson", "--school", "school"]) == 0
    for half in ("course", "solutions"):
        cells = _cells(tmp_path / "acidbase-forms" / half / "01_ranges_form_3"
                       / "01_ranges_form_3.ipynb")
        names = [name for name, _ in cells]
        assert names[names.index(CELL) - 1] == "01-setup"
        assert "Bicarbonate here is 21–28 mmol/L." in dict(cells)[CELL]
    hand_in(tmp_path / "acidbase-forms/course/01_ranges_form_3/01_ranges_form_3.ipynb",
            tmp_path / "in" / "n101.ipynb")
    (tmp_path / "roster.csv").write_text("id,name\nn101,Student\n", encoding="utf-8")
    assert main(["collect", "in", "--unit", "01_ranges_form_3", "--course", "acidbase-forms",
                 "--roster", "roster.csv", "--out", "back"]) == 0
    who, points, of, state = (tmp_path / "back" / "grades.csv").read_text("utf-8").splitlines()[
        1].split(",")
    assert (who, points, state) == ("n101", of, "marked")


@pytest.mark.slow
def test_the_copied_course_holds_it_once_also_after_a_second_copy(tmp_path: Path) -> None:
    folder = make_school(tmp_path / "school")
    (folder / "lessons").mkdir()
    for unit in ("01_ranges", "ward_round"):
        (folder / "lessons" / f"{unit}.md").write_text("We say BE.\n", encoding="utf-8")
    for text in ("We say BE.\n", "We say base excess.\n"):
        (folder / "lessons" / "01_ranges.md").write_text(text, encoding="utf-8")
        assert main(["study", "--no-open", "--to", str(tmp_path / "mine"), "--school",
                     str(folder)]) == 0
        for unit in ("01_ranges", "ward_round"):
            sources = [source for name, source in _cells(tmp_path / "mine" / unit / f"{unit}.ipynb")
                       if name == CELL]
            assert len(sources) == 1
    notebook = json.loads((tmp_path / "mine/01_ranges/01_ranges.ipynb").read_text("utf-8"))
    assert any("We say base excess." in "".join(cell["source"]) for cell in notebook["cells"])
