"""A notebook a person goes with a school's own questions and with its ranges."""
from __future__ import annotations

from pathlib import Path

import nbformat
import pytest
from kpa_school import TOML
from own_school import make_school

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.marking.own_notebook import unit_of
from acidbase_lib.classroom.notebooks.own_numbers import OwnNumbers
from acidbase_lib.classroom.report.class_pages import results_of
from acidbase_lib.teaching.questions.answer_text import write_chart


@pytest.mark.slow
@pytest.mark.parametrize(("unit", "name"), [("ward_round", "ward_round_form_7"),
                                            ("03", "03_compensation_form_7")])
def test_a_notebook_a_person_by_the_school_is_marked_by_the_school(
        unit: str, name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Right answers to their own numbers earn every point that a machine can give."""
    school = make_school(tmp_path / "school", settings=TOML)
    roster, out = tmp_path / "roster.csv", tmp_path / "course"
    roster.write_text("id,name\nann,Ann\nbo,Bo\n", encoding="utf-8")
    assert main(["form", unit, "--seed", "7", "--for-each", str(roster), "--school", str(school),
                 "--out", str(out)]) == 0
    numbers = OwnNumbers(out / "solutions" / f"{name}.own.zip")
    files = tmp_path / "files"
    files.mkdir()
    prompts = {}
    for learner in ("ann", "bo"):
        (path,) = (out / "each" / name).glob(f"{learner}_*.ipynb")
        notebook = nbformat.read(path, as_version=4)
        sheet = numbers.sheet(learner)
        assert sheet is not None
        asked = sheet.as_seen
        prompts[learner] = {one.prompt for one in asked.values()}
        assert unit_of(notebook).settings.hco3.high == 28
        assert "kPa (" in "".join(cell.source for cell in notebook.cells)
        for cell in notebook.cells:
            gid = cell.metadata.get("nbgrader", {}).get("grade_id", "")
            exercise = asked.get(gid.removesuffix("-answer"))
            if gid.endswith("-answer") and exercise is not None and exercise.key is not None:
                cell.source = write_chart(exercise.id, exercise.fields, exercise.key)
        nbformat.write(notebook, files / path.name)
    assert prompts["ann"] != prompts["bo"]
    capsys.readouterr()
    assert main(["collect", str(files), "--unit", name, "--course", str(out), "--roster",
                 str(roster), "--out", str(tmp_path / "marked")]) == 0
    for result in results_of(CourseFolder.find(out), name, {}):
        earned = {mark.question: mark.points for mark in result.marks}
        for slot, exercise in numbers.sheet(result.learner).by_slot.items():
            if exercise.key is not None:
                assert earned[slot] == exercise.points, (result.learner, slot)
