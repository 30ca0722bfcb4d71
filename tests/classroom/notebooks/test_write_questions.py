"""Forms: question blocks are written into a notebook, and written again with new patients."""
from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

from acidbase_lib.classroom.notebooks.write_questions import (
    FormError,
    grade_id,
    opening_of,
    write_form,
)
from acidbase_lib.teaching.unit import Unit, open_unit


@pytest.fixture
def unit() -> Unit:
    return open_unit("02_primary_disorder", form=1)


def lesson(unit: Unit, leave_out: str = "") -> nbformat.NotebookNode:
    cells = [new_code_cell("from acidbase_lib import open_unit\n"
                           'unit = open_unit("02_primary_disorder", form=1)', id="setup")]
    cells += [new_markdown_cell(f"{{{{{q}}}}}", id=f"place-{q}") for q in unit.exercises
              if q != leave_out]
    return new_notebook(cells=cells)


def test_each_place_becomes_prompt_chart_and_check(unit: Unit) -> None:
    written = write_form(lesson(unit), unit)
    ids = [grade_id(cell) for cell in written.cells[1:4]]
    assert ids == ["q2-1-prompt", "q2-1-answer", "q2-1-check"]
    assert len(written.cells) == 1 + 3 * len(unit.exercises)


def test_points_in_prose_equal_points_in_metadata(unit: Unit) -> None:
    written = write_form(lesson(unit), unit)
    for cell in written.cells:
        if (grade_id(cell) or "").endswith("-check"):
            question = unit.exercises[grade_id(cell).removesuffix("-check")]  # type: ignore[union-attr]
            assert cell.metadata["nbgrader"]["points"] == question.points
            assert f"({question.points:g} point" in question.prompt


def test_writing_twice_changes_nothing_and_another_form_changes_patients(unit: Unit) -> None:
    once = write_form(lesson(unit), unit)
    assert write_form(once, unit) == once
    other = write_form(once, open_unit("02_primary_disorder", form=7, picks="01234567"))
    assert opening_of(other.cells[0].source) == ("02_primary_disorder", 7, "01234567", "",
                                                 "mended half")
    strict = write_form(once, open_unit("02_primary_disorder", counts="first try"))
    assert opening_of(strict.cells[0].source) == ("02_primary_disorder", 1, "", "", "first try")
    assert write_form(strict, open_unit("02_primary_disorder")) == once
    assert other.cells[1].source != once.cells[1].source
    assert [grade_id(c) for c in other.cells] == [grade_id(c) for c in once.cells]


def test_an_authored_key_in_a_hidden_test_is_kept(unit: Unit) -> None:
    once = write_form(lesson(unit), unit)
    check = next(c for c in once.cells if grade_id(c) == "q2-1-check")
    check.source = check.source.replace('unit.mark("q2-1")', 'unit.mark("q2-1", key="B")')
    again = write_form(once, unit)
    assert 'key="B"' in next(c for c in again.cells if grade_id(c) == "q2-1-check").source


def test_a_question_without_a_place_and_a_place_without_a_question_are_told(unit: Unit) -> None:
    with pytest.raises(FormError, match="no place for 'q2-3'"):
        write_form(lesson(unit, leave_out="q2-3"), unit)
    stray = lesson(unit)
    stray.cells.append(new_markdown_cell("{{q9-9}}", id="stray"))
    with pytest.raises(FormError, match="q9-9"):
        write_form(stray, unit)


@pytest.mark.slow
def test_the_form_command_writes_both_notebooks(tmp_path: Path, capsys: pytest.CaptureFixture[str],
                                                ) -> None:
    from acidbase_lib.classroom.commands.main import main
    from acidbase_lib.classroom.marking.own_notebook import mark_own_notebook

    words = ["form", "02_primary_disorder", "--seed", "7", "--out", str(tmp_path)]
    assert main(words) == 0
    printed = capsys.readouterr().out
    assert "told apart" in printed
    name = "02_primary_disorder_form_7"
    release = (tmp_path / "course" / name / f"{name}.ipynb").read_text(encoding="utf-8")
    assert "HIDDEN TESTS" not in release
    marks = [mark_own_notebook(tmp_path / room / name / f"{name}.ipynb").marked.marks
             for room in ("solutions", "course")]
    assert [sum(mark.points for mark in one) for one in marks] == [
        sum(mark.maximum for mark in marks[0]), 0.0]
    assert main(words) == 2
    assert "--force" in capsys.readouterr().err


def _lesson_07() -> Path:
    """The instructor's notebook of unit 07, with the keys that only it holds."""
    path = Path(__file__).parents[3] / "solutions" / "07_clinical_priority"
    return path / "07_clinical_priority.ipynb"


def test_an_authored_key_follows_its_option_to_another_letter() -> None:
    notebook = nbformat.read(_lesson_07(), as_version=4)
    answers = set()
    for form in range(1, 9):
        unit = open_unit("07_clinical_priority", form=form)
        cells = {grade_id(cell): cell.source for cell in write_form(notebook, unit).cells}
        answers.add(cells["q7-4-answer"])
        key = re.search(r'key=(\{"first".*\})\)', cells["q7-4-check"])
        assert key is not None
        letter = cells["q7-4-answer"].split("first: ")[1][0]
        (option,) = (choice for choice in unit.exercise("q7-4").fields[0].choices
                     if choice.word == letter)
        assert option.nickname in json.loads(key[1])["first"]
        assert f"- {letter}. {option.text}" in cells["q7-4-prompt"].split("**because**")[0]
    assert len(answers) > 3


def test_a_model_answer_goes_with_its_scene_under_the_name_that_is_drawn() -> None:
    notebook = nbformat.read(_lesson_07(), as_version=4)
    texts = {grade_id(cell): cell.source for cell in notebook.cells}
    assert "I am the nurse" in texts["q7-7-answer"]
    assert "Zubin Petrandos" in texts["q7-7-answer"]
    other = write_form(notebook, open_unit("07_clinical_priority", form=2))
    told = {grade_id(cell): cell.source for cell in other.cells}["q7-7-answer"]
    assert "I am the nurse" in told
    assert "Petrandos" not in told
    prompt = next(c for c in notebook.cells if grade_id(c) == "q7-7-prompt")
    prompt.source = prompt.source.replace("PaCO2 57", "PaCO2 51").replace("57", "51")
    moved = write_form(notebook, open_unit("07_clinical_priority", form=2))
    assert "I am the nurse" not in {grade_id(c): c.source for c in moved.cells}["q7-7-answer"]


def test_a_hidden_line_that_is_no_data_is_refused() -> None:
    notebook = nbformat.read(_lesson_07(), as_version=4)
    check = next(c for c in notebook.cells if grade_id(c) == "q7-1-check")
    check.source = check.source.replace('key=["probe",', "key=[open('/etc/passwd').read(),")
    with pytest.raises(FormError, match="read as data"):
        write_form(notebook, open_unit("07_clinical_priority"))
    check.source = check.source.replace("open('/etc/passwd').read()", '"nothing"').replace(
        '"breaths", "look"', '"nor this"')
    with pytest.raises(FormError, match="q7-1"):
        write_form(notebook, open_unit("07_clinical_priority"))


def test_a_form_without_the_instructors_notebook_says_who_holds_the_keys(tmp_path: Path) -> None:
    from acidbase_lib.classroom.commands.form import write_pair
    from acidbase_lib.classroom.errors import CommandError

    release = Path(__file__).parents[3] / "course/07_clinical_priority/07_clinical_priority.ipynb"
    unit = open_unit("07_clinical_priority")
    waits = {name: replace(unit.exercises[name], key=None) for name in ("q7-1", "q7-3")}
    unit.exercises = {**unit.exercises, **waits}  # as a school's own scenes without facts do
    with pytest.raises(CommandError, match=r"q7-1, q7-3.*--source"):
        write_pair(unit, tmp_path, template=release)
    assert list(tmp_path.iterdir()) == []


def test_a_form_that_counts_has_no_cell_that_marks_itself() -> None:
    from acidbase_lib.classroom.notebooks.write_questions import without_self_marking

    path = Path(__file__).parents[3] / "solutions" / "08_sitting" / "08_sitting.ipynb"
    notebook = nbformat.read(path, as_version=4)
    left = without_self_marking(notebook)
    assert {grade_id(c) for c in notebook.cells} - {grade_id(c) for c in left.cells} == {
        "08-result", "08-alone"}
