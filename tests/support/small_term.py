"""A term of three sittings with every kind of trouble, marked; and terms written down by hand."""
from __future__ import annotations

import json
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from handing_in import REPOSITORY, hand_in_to

from acidbase_lib.classroom.commands.demo import ideas_to_plant
from acidbase_lib.classroom.commands.invented_class import Habit, invent_class, submission
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.report.class_pages import NOT_HANDED_IN, unit_of_sitting
from acidbase_lib.classroom.report.report import ideas_asked
from acidbase_lib.classroom.report.results import MARKED
from acidbase_lib.classroom.term.gather import Entry, Person, Sitting, Term
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS

UNITS = ("02_primary_disorder", "03_compensation", "04_beyond_the_shortcut")
NOTHING = "hl_nothing"  # on the roster, and never handed in
STRANGER = "hl999"
ODD: Mapping[int, Habit] = {5: "broken file", 6: "copied cell"}
DUE = "2031-05-01 12:00:00.000000 UTC"


def make_term(root: Path, units: Sequence[str] = UNITS, size: int = 12,
              forms: Sequence[tuple[str, int]] = ()) -> Path:
    """Lay out a course with units and forms of them, hand in, mark; the roster lies beside it.

    The first learner misses the first sitting, the second the second and so on; the third is late
    in the first sitting, of which the gradebook has a time; one broken file is in each; a stranger
    hands in; one of the roster never does.
    """
    for unit in units:
        for part in ("course", "solutions"):
            shutil.copytree(REPOSITORY / part / unit, root / part / unit)
    shutil.copy(REPOSITORY / "course" / "nbgrader_config.py", root / "course")
    course = root / "course"
    for unit, seed in forms:
        assert main(["form", unit, "--seed", str(seed), "--out", str(root)]) == 0
    units = (*units, *(f"{unit}_form_{seed}" for unit, seed in forms))
    lines: list[str] = []
    for at, name in enumerate(units):
        unit = unit_of_sitting(course, name)
        release = json.loads((course / name / f"{name}.ipynb").read_text("utf-8"))
        asked = ideas_asked(unit.exercises, MISCONCEPTIONS)
        planted = ideas_to_plant(unit.exercises, asked)
        learners = [replace(one, habit=ODD.get(n, one.habit))
                    for n, one in enumerate(invent_class(size, planted, seed=3))]
        lines = lines or [f"{one.learner},{one.name},{'AB'[n % 2]}"
                          for n, one in enumerate(learners)]
        for n, one in enumerate(learners):
            if n != at:
                file = hand_in_to(root, one.learner, submission(one, release, unit.exercises), name)
                if at == 0:
                    (file.parent / "timestamp.txt").write_text(
                        "2031-05-01 12:00:01.000000 UTC" if n == 2 else DUE)
        hand_in_to(root, STRANGER, submission(learners[-1], release, unit.exercises), name)
        mark_class(course, name, keep_marks=False)
        if at == 0:
            set_due(course, name)
    (root / "roster.csv").write_text("\n".join(["id,name,section", *lines,
                                                f"{NOTHING},Nona Zerrin,A"]) + "\n", "utf-8")
    return root


def set_due(course: Path, name: str) -> None:
    """Tell nbgrader when an assignment was due, as its own screen does."""
    from nbgrader.api import Gradebook

    with Gradebook(CourseFolder.find(course).db_url) as book:
        book.update_or_create_assignment(name, duedate=datetime(2031, 5, 1, 12))


# --- by hand --------------------------------------------------------------------------------------

def sitting(number: int, ideas: tuple[str, ...] = ()) -> Sitting:
    return Sitting(f"0{number}_unit", f"Unit {number}", 20.0, ideas)


def entry(points: float | None, *, left_out: int = 0,
          stands: Mapping[str, str] | None = None) -> Entry:
    """One person in one sitting of 20 points; None has handed in nothing."""
    if points is None:
        return Entry(NOT_HANDED_IN, maximum=20.0)
    return Entry(MARKED, True, points, 20.0, 20.0, 10, left_out, stands=stands or {})


def term_of(rows: Mapping[str, Sequence[Entry]]) -> Term:
    """A term from everyone's entries, in order."""
    sittings = tuple(sitting(n + 1) for n in range(len(next(iter(rows.values())))))
    people = tuple(Person(learner, f"Name {learner}", "", dict(zip(
        (one.name for one in sittings), entries, strict=True))) for learner, entries in
        rows.items())
    return Term(people, (), sittings)
