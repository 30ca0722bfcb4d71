"""Reading, nbgrader with our steps and plain nbgrader with a kernel give the same marks."""
from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Callable, Mapping, Sequence
from contextlib import closing
from pathlib import Path

import nbformat
import pytest
from handing_in import (
    HERE,
    REPOSITORY,
    RIGHT,
    Notebook,
    answered,
    find,
    hand_in_to,
    make_course,
    released,
)
from lanes import auto_scores, by_nbgrader, by_reading, run_nbgrader

from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.read_gradebook import grades_table
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, blank_chart

pytestmark = pytest.mark.slow  # nbgrader starts a kernel for every submission

UNIT = "02_primary_disorder"
PARTLY = {
    "q1-1": "%%chart q1-1\npH: acidosis\nbicarbonate: raised\ndisorder: resp acidosis",
    "q1-2": "%%chart q1-2\nanswer: B. call",
    "q1-3": "%%chart q1-3\nsigns: drowsiness, muscle cramps",
    "q1-4": "%%chart q1-4\nsteps: pH, PaCO2, name, bicarbonate",
    "q1-5": "%%chart q1-5\nexpected PaCO2: 4,0 kPa",
    "q1-6": "%%chart q1-6\nbecause: carbon dioxide\nstays: in the blood",
}
ODD = {
    "q1-1": "%%chart q1-1\npH: loww\nwhat: ever\n# a note to myself\n\nno colon here",
    "q1-2": "%%chart q1-2\nanswer: Z",
    "q1-3": "%%chart q1-3\nsigns: none",
    "q1-4": "%%chart q1-4",
    "q1-5": "%%chart q1-5\nexpected PaCO2: inf",
    "q1-6": "%%chart q1-6\nbecause: <script>alert(1)</script> {{x}} %%bash ; rm -rf",
}
EXPECTED = {  # by hand from the rules; None waits for a person
    "right": {"q1-1-check": 3, "q1-2-check": 1, "q1-3-check": 2, "q1-4-check": 3, "q1-5-check": 1,
              "q1-6-answer": None},
    "blank": {"q1-1-check": 0, "q1-2-check": 0, "q1-3-check": 0, "q1-4-check": 0, "q1-5-check": 0,
              "q1-6-answer": 0},
    "partly": {"q1-1-check": 2, "q1-2-check": 1, "q1-3-check": 0, "q1-4-check": 1,
               "q1-5-check": 1, "q1-6-answer": None},
    "odd": {"q1-1-check": 0, "q1-2-check": 0, "q1-3-check": 0, "q1-4-check": 0, "q1-5-check": 0,
            "q1-6-answer": None},
    "forged": {"q1-1-check": 3, "q1-2-check": 1, "q1-3-check": 2, "q1-4-check": 3,
               "q1-5-check": 1, "q1-6-answer": None},
    "broken": dict.fromkeys([f"q1-{i}-check" for i in range(1, 6)] + ["q1-6-answer"]),
}


SUBMISSIONS: Mapping[str, Callable[[Notebook], Notebook | bytes]] = {
    "right": lambda blank: answered(blank, RIGHT),
    "blank": lambda blank: blank,
    "partly": lambda blank: answered(blank, PARTLY),
    "odd": lambda blank: answered(blank, ODD),
    "forged": lambda blank: forged(answered(blank, RIGHT)),
    "broken": lambda blank: json.dumps(blank).encode()[:500],
}


def forged(notebook: Notebook) -> Notebook:
    """A learner who helped themselves to points, and left a try of their own."""
    find(notebook, "q1-2-check")["source"] = "1000.0"
    find(notebook, "q1-5-check")["metadata"]["nbgrader"]["points"] = 50
    notebook["cells"].insert(2, {"cell_type": "code", "id": "own", "metadata": {}, "outputs": [],
                                 "execution_count": None, "source": "1/0  # my own try"})
    return notebook


@pytest.fixture(scope="module")
def roads(_fresh_course: Path, source: AssignmentSource,
          tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same class marked by reading, by nbgrader with our steps, and by plain nbgrader."""
    work = tmp_path_factory.mktemp("roads")
    course = Path(shutil.copytree(_fresh_course, work / "school"))
    for learner, made in SUBMISSIONS.items():
        hand_in_to(course, learner, made(released(source)))
    by_reading(course, "small", work)
    by_nbgrader(course, "small", work, plain=False)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PYTHONPATH", str(HERE))  # the kernels import the small unit
        by_nbgrader(course, "small", work, plain=True)
    return work


@pytest.mark.parametrize("road", ["reading", "with_our_steps", "plain"])
def test_every_road_gives_the_marks_that_the_rules_give(road: str, roads: Path) -> None:
    assert auto_scores(roads / road) == EXPECTED


def as_jupyter_reads_it(path: Path) -> Notebook:
    """A notebook with its texts whole; nbgrader's writer splits them into lines."""
    return json.loads(nbformat.writes(nbformat.read(path, 4), split_lines=False))


@pytest.mark.parametrize("learner", ["right", "blank", "partly", "odd", "forged"])
def test_both_reading_roads_leave_the_same_notebook(learner: str, roads: Path) -> None:
    ours, theirs = (as_jupyter_reads_it(roads / road / "grading" / "autograded" / learner / "small"
                                        / "small.ipynb") for road in ("reading", "with_our_steps"))
    assert theirs == ours


@pytest.mark.parametrize("road", ["reading", "with_our_steps"])
def test_the_state_is_kept_whichever_command_marked(road: str, roads: Path) -> None:
    rows = {row.learner: row for row in grades_table(roads / road, "small")}
    assert rows["right"].state == "marked"
    assert rows["forged"].state == "marked after repair"
    assert "q1-2-check was changed" in rows["forged"].why
    assert (rows["broken"].state, rows["broken"].score) == ("not marked", None)


def test_after_plain_nbgrader_a_broken_file_is_still_no_zero(roads: Path) -> None:
    rows = {row.learner: (row.score, row.state) for row in grades_table(roads / "plain", "small")}
    assert rows["broken"] == (None, "not marked")
    assert rows["blank"] == (0.0, "marked")


def test_nbgraders_feedback_page_shows_marks_and_no_key(roads: Path) -> None:
    run_nbgrader("GenerateFeedback", roads / "reading", "small")
    page = (roads / "reading/grading/feedback/partly/small/small.html").read_text("utf-8")
    assert "Score: 5.0 / 12.0" in page
    assert "key=" not in page
    assert "HIDDEN TESTS" not in page


def answers_of(database: Path, asks: Sequence[str]) -> list[list[tuple[object, ...]]]:
    """What a gradebook answers, with the file let go."""
    with closing(sqlite3.connect(database)) as connection:
        return [sorted(connection.execute(ask)) for ask in asks]


def test_nbgraders_release_and_gradebook_are_as_ours(course: Path) -> None:
    """The release keeps field names and no answers; both ways of registering are alike."""
    asks = ("select name, cell_type, locked, source, checksum from source_cell",
            "select name, max_score, cell_type from base_cell natural join grade_cells",
            "select name from base_cell where type = 'SolutionCell'",
            "select name, kernelspec from notebook", "select version_num from alembic_version")
    database = course / "grading" / "gradebook.db"
    ours = answers_of(database, asks)
    database.unlink()
    run_nbgrader("GenerateAssignment", course, "small")
    assert answers_of(database, asks) == ours
    text = (course / "course" / "small" / "small.ipynb").read_text("utf-8")
    release = json.loads(text)
    assert "".join(find(release, "q1-1-answer")["source"]) == blank_chart(RIGHT["q1-1"])
    for secret in ("HIDDEN", "key=", "carbon dioxide"):
        assert secret not in text


def test_the_unit_itself_is_marked_alike_by_reading_and_by_plain_nbgrader(
        tmp_path: Path) -> None:
    """Unit 02: right throughout, untouched, and a learner who names every gas an acidosis."""
    unit = REPOSITORY / "solutions" / UNIT / f"{UNIT}.ipynb"
    source = AssignmentSource.from_file(unit)
    course = make_course(tmp_path / "school", UNIT, json.loads(unit.read_text("utf-8")))
    mark_class(course, UNIT)  # nothing is handed in yet: the gradebook learns the assignment
    key = {str(cell["metadata"]["nbgrader"]["grade_id"]).removesuffix("-answer"):
           "".join(cell["source"]) for cell in json.loads(unit.read_text("utf-8"))["cells"]
           if cell["metadata"].get("nbgrader", {}).get("solution")}
    acid = {question: text.replace("alkalosis", "acidosis").replace("high", "low")
            for question, text in key.items()}
    for learner, answers in (("right", key), ("blank", {}), ("acid", acid)):
        hand_in_to(course, learner, answered(released(source), answers), UNIT)
    reading = by_reading(course, UNIT, tmp_path)
    assert sum(reading["right"].values()) == source.maximum
    assert sum(reading["blank"].values()) == 0
    assert 0 < sum(reading["acid"].values()) < source.maximum
    assert by_nbgrader(course, UNIT, tmp_path, plain=True) == reading


def take_out_the_copy(path: Path) -> None:
    """Leave one cell of each name in a submission."""
    notebook = json.loads(path.read_text("utf-8"))
    named = {cell["metadata"].get("nbgrader", {}).get("grade_id", cell["id"]): cell
             for cell in notebook["cells"]}
    path.write_text(json.dumps(notebook | {"cells": list(named.values())}))


def test_the_demos_whole_class_is_marked_alike(tmp_path: Path) -> None:
    """Twenty-four invented learners with their habits, a broken file among them.

    A copied cell stops plain nbgrader's whole batch, so it is given that one without the copy.
    """
    from acidbase_lib.classroom.commands.demo import make_demo

    make_demo(tmp_path / "demo")
    reading = auto_scores(tmp_path / "demo")
    course = make_course(tmp_path / "school", UNIT, json.loads(
        (tmp_path / "demo" / "solutions" / UNIT / f"{UNIT}.ipynb").read_text("utf-8")))
    mark_class(course, UNIT)
    shutil.copytree(tmp_path / "demo/grading/submitted", course / "grading/submitted")
    copied = [row.learner for row in grades_table(tmp_path / "demo", UNIT)
              if row.state == "marked after repair"]
    for learner in copied:
        take_out_the_copy(course / "grading/submitted" / learner / UNIT / f"{UNIT}.ipynb")
    assert (len(reading), len(copied)) == (24, 1)
    assert by_nbgrader(course, UNIT, tmp_path, plain=True) == reading
