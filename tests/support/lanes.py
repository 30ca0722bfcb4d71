"""The same submissions marked by three roads: reading, nbgrader with our steps, plain nbgrader."""
from __future__ import annotations

import contextlib
import logging
import shutil
import sqlite3
import warnings
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder, put_scripts_on_path
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.teaching.questions.exercise import Mark
from acidbase_lib.teaching.unit import MARK_MIME

Marks = Mapping[str, Mapping[str, float | None]]  # by learner, by grade cell


def by_reading(course: Path, assignment: str, work: Path) -> Marks:
    """Mark a copy of the course by the batch that reads answers."""
    root = Path(shutil.copytree(course, work / "reading"))
    mark_class(root, assignment)
    return auto_scores(root)


def by_nbgrader(course: Path, assignment: str, work: Path, *, plain: bool) -> Marks:
    """Mark a copy of the course by nbgrader autograde: with our steps, or as it comes."""
    root = Path(shutil.copytree(course, work / ("plain" if plain else "with_our_steps")))
    run_nbgrader("Autograde", root, assignment, plain=plain)
    return auto_scores(root)


def run_nbgrader(step: str, root: Path, assignment: str, *, plain: bool = False,
                 **settings: Any) -> None:
    """Run one of nbgrader's commands in this process with the course's own settings."""
    put_scripts_on_path()
    from nbgrader import converters
    from nbgrader.converters import NbGraderException
    from nbgrader.coursedir import CourseDirectory

    config = CourseFolder.find(root).config
    config.CourseDirectory.assignment_id = assignment
    if plain:
        del config["Autograde"]
    for name, value in settings.items():
        setattr(config[step], name, value)
    logging.getLogger("traitlets").setLevel(logging.CRITICAL)
    converter = getattr(converters, step)(coursedir=CourseDirectory(config=config), config=config)
    converter.log.setLevel(logging.CRITICAL)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # nbgrader's own: SQLAlchemy's autoflush, the TCP kernel
        with contextlib.suppress(NbGraderException):  # a broken submission; the others are done
            converter.start()


def auto_scores(root: Path) -> Marks:
    """Every score that a program gave, from the gradebook."""
    with contextlib.closing(sqlite3.connect(root / "grading" / "gradebook.db")) as gradebook:
        rows = gradebook.execute(
            "select sa.student_id, c.name, g.auto_score from grade g "
            "join base_cell c on c.id = g.cell_id "
            "join submitted_notebook sn on sn.id = g.notebook_id "
            "join submitted_assignment sa on sa.id = sn.assignment_id").fetchall()
    marks: dict[str, dict[str, float | None]] = {}
    for learner, cell, score in rows:
        marks.setdefault(learner, {})[cell] = score
    return marks


def marks_in(notebook: Mapping[str, Any]) -> tuple[Mark, ...]:
    """Return the marks that a marked notebook carries, by whichever lane it was marked."""
    return tuple(Mark.from_record(output["data"][MARK_MIME])
                 for cell in notebook["cells"] for output in cell.get("outputs", ())
                 if MARK_MIME in output.get("data", {}))
