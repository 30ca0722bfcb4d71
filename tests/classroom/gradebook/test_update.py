"""Nothing a learner or an instructor has is lost when the kit moves on: tried on stored states."""
from __future__ import annotations

import json
import shutil
import sqlite3
import zipfile
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from acidbase_lib.classroom.commands import main as command
from acidbase_lib.classroom.commands import study
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.read_gradebook import (
    GradebookError,
    grades_table,
    marks_by_hand,
    read_marks,
)
from acidbase_lib.classroom.marking.own_notebook import mark_own_notebook
from acidbase_lib.classroom.marking.reading_lane import mark_notebook
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, SourceError
from acidbase_lib.classroom.notebooks.question_versions import same_prompt
from acidbase_lib.classroom.notebooks.read_notebook import chart_cells, is_blank, text_of
from acidbase_lib.classroom.report.class_pages import unit_of_sitting

STORED = Path(__file__).parent / "stored"
UNIT = "02_primary_disorder"
ROOT = Path(__file__).parents[3]
RELEASED = ROOT / "course" / UNIT / f"{UNIT}.ipynb"
SOURCE = ROOT / "solutions" / UNIT / f"{UNIT}.ipynb"


def stored(name: str, into: Path) -> Path:
    """Unpack what somebody had."""
    with zipfile.ZipFile(STORED / f"{name}.zip") as held:
        held.extractall(into / name)
    return into / name


@pytest.fixture
def mine(tmp_path: Path) -> Path:
    """A learner's folder of an early state; one question of unit 02 has changed since."""
    return stored("learner_61478f1", tmp_path)


@pytest.fixture
def school(tmp_path: Path) -> Path:
    """A class of an early state: course, hand-ins and gradebook."""
    return stored("class_61478f1", tmp_path)


def notebook(path: Path) -> dict[str, Any]:
    told: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return told


def charts(path: Path) -> dict[str, str]:
    return {chart.question: chart.text for chart in chart_cells(notebook(path))
            if chart.question.startswith("q")}  # a prose cell is named 00-answer


def prompts(path: Path) -> dict[str, str]:
    return {name.removesuffix("-prompt"): text_of(cell) or "" for cell in notebook(path)["cells"]
            if (name := cell["metadata"].get("nbgrader", {}).get("grade_id", "")).endswith(
                "-prompt")}


def changed_since(path: Path, release: Path) -> set[str]:
    """The answered questions that the newer release asks otherwise."""
    now, answers = prompts(release), charts(path)
    return {q for q, text in prompts(path).items()
            if not same_prompt(now.get(q, ""), text) and not is_blank(answers[q])}


def cells(gradebook: Path) -> list[Any]:
    """Every grade and comment of a gradebook, by learner and cell."""
    with closing(sqlite3.connect(gradebook)) as book:
        return sorted(book.execute(
            "select sa.student_id, c.name, g.auto_score, g.manual_score, null from grade g "
            "join base_cell c on c.id = g.cell_id join submitted_notebook sn on sn.id = "
            "g.notebook_id join submitted_assignment sa on sa.id = sn.assignment_id union all "
            "select sa.student_id, c.name, null, null, m.manual_comment from comment m "
            "join base_cell c on c.id = m.cell_id join submitted_notebook sn on sn.id = "
            "m.notebook_id join submitted_assignment sa on sa.id = sn.assignment_id"), key=str)


# --- a learner ---

def test_answers_are_carried_into_the_new_version_and_the_old_file_stays(mine: Path) -> None:
    path = mine / UNIT / f"{UNIT}.ipynb"
    before, had = path.read_bytes(), charts(path)
    changed = changed_since(path, RELEASED)
    assert changed, "the stored state no longer differs from today's course"
    (copied,) = (c for c in study.copy_course(ROOT / "course", mine, UNIT)
                 if c.path.suffix == ".ipynb")
    assert copied.fate == "updated, your answers carried over"
    (kept,) = path.parent.glob(f"{UNIT} (before *).ipynb")
    assert kept.read_bytes() == before
    assert prompts(path) == prompts(RELEASED)
    now, blank = charts(path), charts(RELEASED)
    for question in blank:
        assert now[question] == (blank[question] if question in changed
                                 or is_blank(had[question]) else had[question])
    assert any("My own note" in (text_of(cell) or "") for cell in notebook(path)["cells"])
    told = " ".join(copied.notes)
    assert all(f"Question {q[1:].replace('-', '.')} asks something else" in told for q in changed)
    assert kept.name in told
    marked = mark_own_notebook(path).marked
    assert (marked.state, marked.repairs) == ("marked", ())


def test_updating_twice_changes_nothing_more(mine: Path) -> None:
    study.copy_course(ROOT / "course", mine, UNIT)
    files = {path: path.read_bytes() for path in mine.rglob("*.ipynb")}
    assert {c.fate for c in study.copy_course(ROOT / "course", mine, UNIT)} == {"kept"}
    assert {path: path.read_bytes() for path in mine.rglob("*.ipynb")} == files


def test_a_stop_while_updating_loses_nothing(mine: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk fills between the two writes: the learner's file is as it was, the copy is there."""
    from acidbase_lib.classroom import atomic_write

    path = mine / UNIT / f"{UNIT}.ipynb"
    before, real = path.read_bytes(), atomic_write.write_whole

    def full(target: Path, data: bytes) -> Path:
        if target == path:
            raise atomic_write.UnwrittenError("no room")
        return real(target, data)

    monkeypatch.setattr(study, "write_whole", full)
    with pytest.raises(atomic_write.UnwrittenError):
        study.copy_course(ROOT / "course", mine, UNIT)
    assert path.read_bytes() == before
    monkeypatch.setattr(study, "write_whole", real)
    study.copy_course(ROOT / "course", mine, UNIT)
    assert len(list(path.parent.glob("*before*.ipynb"))) == 1


def test_the_command_says_what_was_carried_and_what_was_not(
        mine: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["study", "02", "--to", str(mine), "--no-open"]) == 0
    told = capsys.readouterr().out
    assert "carried over. Your earlier file is" in told
    assert "asks something else now. Your answer is in" in told


@pytest.mark.parametrize("unit", ["00_start_here", "01_ranges", "04_beyond_the_shortcut",
                                  "07_clinical_priority"])
def test_every_kind_of_answer_is_carried(unit: str, tmp_path: Path) -> None:
    """Choices, order, grid, number, linked pair, own words: what still fits is there, as it was."""
    mine = stored("learner_e81a9f9", tmp_path)
    path, release = mine / unit / f"{unit}.ipynb", ROOT / "course" / unit / f"{unit}.ipynb"
    had, changed = charts(path), changed_since(path, release)
    study.copy_course(ROOT / "course", mine, unit)
    now = charts(path)
    kept = {q for q in had if q not in changed and q in now}
    assert {q: now[q] for q in kept} == {q: had[q] for q in kept}
    assert any(charts(file) == had for file in path.parent.glob("*.ipynb"))
    assert mark_own_notebook(path).marked.state == "marked"


def test_an_old_copy_is_never_marked_with_another_patients_key_at_home(mine: Path) -> None:
    path = mine / UNIT / f"{UNIT}.ipynb"
    changed = changed_since(path, RELEASED)
    home = mark_own_notebook(path)
    assert {mark.question for mark in home.marked.marks} == set(prompts(path)) - changed
    assert {r.cell.removesuffix("-answer") for r in home.marked.repairs
            if r.kind == "another version"} == changed
    assert home.marked.maximum == sum(e.points for e in home.exercises.values())


# --- an old hand-in against today's course ---

def test_an_old_hand_in_is_not_marked_with_the_new_key(mine: Path) -> None:
    path = mine / UNIT / f"{UNIT}.ipynb"
    marked = mark_notebook(path, SOURCE)
    assert (marked.state, marked.score) == ("not marked", None)
    assert "another version" in marked.why
    assert all(question in marked.why for question in changed_since(path, RELEASED))


def test_once_carried_over_it_is_marked(mine: Path) -> None:
    study.copy_course(ROOT / "course", mine, UNIT)
    marked = mark_notebook(mine / UNIT / f"{UNIT}.ipynb", SOURCE)
    assert (marked.state, marked.repairs) == ("marked", ())


@pytest.mark.parametrize("stripped", [False, True])
def test_a_prompt_that_the_learner_wrote_into_is_the_same_question(tmp_path: Path,
                                                                   stripped: bool) -> None:
    """A note of a learner's own in a locked cell must not cost the mark."""
    nb = notebook(RELEASED)
    for cell in nb["cells"]:
        if cell["metadata"].get("nbgrader", {}).get("grade_id") == "q2-3-prompt":
            cell["source"] = "".join(cell["source"]) + "\n\nMy note: 7.1 would be worse."
        if cell["metadata"].get("nbgrader", {}).get("grade_id") == "q2-3-answer":
            cell["source"] = "%%chart q2-3\npH: low"
        if stripped:
            cell["metadata"] = {}
    marked = mark_notebook(nb, SOURCE)
    assert marked.state == "marked after repair"
    assert marked.scores["q2-3-check"] is not None


def test_another_form_of_the_unit_is_noticed(tmp_path: Path) -> None:
    """A learner who hands in form 9 for form 1 gets no zero, but is told of."""
    from acidbase_lib import open_unit
    from acidbase_lib.teaching.questions.answer_text import write_chart

    other, nb = open_unit(UNIT, form=9), notebook(RELEASED)
    for cell in nb["cells"]:
        name = cell["metadata"].get("nbgrader", {}).get("grade_id", "")
        question, _, part = name.rpartition("-")
        if question not in other.exercises:  # a guess or own words, without points
            continue
        if part == "prompt":
            cell["source"] = other.exercises[question].prompt
            del cell["metadata"]["nbgrader"]["checksum"]
        elif part == "answer":
            exercise = other.exercises[question]
            cell["source"] = write_chart(question, exercise.fields, exercise.key)
    assert mark_notebook(nb, SOURCE).state == "not marked"


# --- an instructor ---

@pytest.mark.slow
def test_an_old_gradebook_opens_and_is_marked_again_without_loss(school: Path) -> None:
    book = school / "grading" / "gradebook.db"
    before = cells(book)
    scores = {row.learner: row.score for row in grades_table(school, UNIT)}
    first = mark_class(school, UNIT)
    assert [row.state for row in first.learners] == ["marked"] * 3
    assert cells(book) == before
    assert {row.learner: row.score for row in grades_table(school, UNIT)} == scores
    assert marks_by_hand(school, UNIT) == {"hl002": {"q2-3-check": 3.5}}
    mark_class(school, UNIT)
    assert cells(book) == before


def test_the_released_question_is_marked_by_its_own_key(school: Path) -> None:
    """The kit asks q2-2 of another patient now; the class's own notebook still has its answer."""
    unit = unit_of_sitting(school, UNIT)
    asked = prompts(school / "course" / UNIT / f"{UNIT}.ipynb")
    assert {q: e.prompt.split() for q, e in unit.exercises.items()} == {
        q: text.split() for q, text in asked.items()}
    path = school / "solutions" / UNIT / f"{UNIT}.ipynb"
    nb = notebook(path)
    for cell in nb["cells"]:  # as if the earlier patient's blood had been acid
        if cell["metadata"].get("nbgrader", {}).get("grade_id") == "q2-2-answer":
            cell["source"] = ("%%chart q2-2\npH: low\nbicarbonate: high\ndirection: opposite\n"
                              "disorder: respiratory acidosis")
    path.write_text(json.dumps(nb))
    source = AssignmentSource.from_file(path)
    right = {c.name: c.solution for c in source.cells if c.solution}
    handed = json.loads(json.dumps(nb))
    for cell in handed["cells"]:
        name = cell["metadata"].get("nbgrader", {}).get("grade_id")
        cell["source"] = right.get(name, cell["source"])
    assert mark_notebook(handed, source).scores["q2-2-check"] == 4.0


def test_a_newer_source_over_an_older_release_stops_before_any_mark(school: Path) -> None:
    """Pulled over the class's own notebook, today's answers are no key to what was released."""
    book = school / "grading" / "gradebook.db"
    before = cells(book)
    shutil.copy(SOURCE, school / "solutions" / UNIT / f"{UNIT}.ipynb")
    with pytest.raises(SourceError, match="Put the notebook"):
        mark_class(school, UNIT)
    assert cells(book) == before


def test_the_report_is_drawn_from_an_old_gradebook(school: Path, tmp_path: Path,
                                                   capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "report"
    assert command.main(["report", str(school), "--unit", UNIT, "--out", str(out)]) == 0
    assert (out / "class_report.html").is_file()
    assert len(tuple(read_marks(school, UNIT))) == 3


def test_formgrader_opens_the_old_gradebook(school: Path) -> None:
    """By nbgrader's own interface: the hand's mark and comment are where they were."""
    from nbgrader.api import Gradebook

    mark_class(school, UNIT)
    with Gradebook(CourseFolder.find(school).db_url, "acidbase") as book:
        there = book.find_submission_notebook(UNIT, UNIT, "hl002")
        assert there.score == sum(grade.score for grade in there.grades)
        (grade,) = [g for g in there.grades if g.manual_score is not None]
        assert (grade.name, grade.manual_score, grade.needs_manual_grade) == (
            "q2-3-check", 3.5, False)
        assert [c.manual_comment for c in there.comments if c.manual_comment] == [
            "Said aloud in class why the PaCO2 is low; half a mark back."]


@pytest.fixture
def revisions() -> list[str]:
    from alembic.script import ScriptDirectory
    from nbgrader.dbutil import ALEMBIC_DIR

    return [script.revision for script in ScriptDirectory(ALEMBIC_DIR).walk_revisions()]


@pytest.mark.parametrize(("version", "says"), [("older", "nbgrader db upgrade"),
                                               ("no such", "a newer nbgrader")])
def test_a_gradebook_of_another_nbgrader_says_what_to_do(
        school: Path, revisions: list[str], version: str, says: str) -> None:
    book = school / "grading" / "gradebook.db"
    with closing(sqlite3.connect(book)) as file:
        file.execute("update alembic_version set version_num = ?",
                     (revisions[-1] if version == "older" else version,))
        file.commit()
    before = book.read_bytes()
    with pytest.raises(GradebookError, match=says):
        mark_class(school, UNIT)
    assert book.read_bytes() == before


def test_half_an_emoji_in_a_cell_of_ones_own_stops_no_update(mine: Path) -> None:
    """A program that cuts text by its own count leaves such halves; JSON can hold them."""
    path = mine / UNIT / f"{UNIT}.ipynb"
    held = notebook(path)
    held["cells"].append({"cell_type": "markdown", "metadata": {}, "id": "own",
                          "source": "my note \ud83d"})
    path.write_text(json.dumps(held))
    (copied,) = (c for c in study.copy_course(ROOT / "course", mine, UNIT)
                 if c.path.suffix == ".ipynb")
    assert copied.fate == "updated, your answers carried over"
    assert "my note ?" in path.read_text(encoding="utf-8")
    assert {c.fate for c in study.copy_course(ROOT / "course", mine, UNIT)} == {"kept"}
