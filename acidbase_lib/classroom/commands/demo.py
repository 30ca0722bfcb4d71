"""Invent a class, mark what it hands in, and write feedback, grades and a report.

Everything stays in one folder on this computer. No server, browser or network
is needed.
"""
from __future__ import annotations

import argparse
import copy
import json
import shutil
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.private import owner_only
from acidbase_lib.classroom.report.progress_bar import ShowProgress, marking_progress, progress

from .invented_class import InventedLearner, invent_class, submission

if TYPE_CHECKING:
    from acidbase_lib.teaching.unit import Unit

UNIT = "02_primary_disorder"
SIGN = ".acidbase-demo"  # a folder that holds this may be replaced by another demo
FIRST_LINE = "This class is invented: no learner in it exists, and the names are made up."
OURS = ("course", "solutions", "grading", "feedback", "report", "grades.csv", "READ_ME.txt", SIGN)
FEWEST, MOST = 3, 1000


@dataclass(frozen=True, slots=True)
class DemoFiles:
    """Where the demo put things."""

    folder: Path
    report: Path
    grades: Path
    feedback: Path
    submitted: Path
    notes: tuple[str, ...]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("--out", metavar="DIR", type=Path, default=Path("acidbase-demo"),
                        help="the folder to write (default: ./acidbase-demo)")
    parser.add_argument("--learners", metavar="N", type=int, default=24,
                        help=f"how many, {FEWEST} to {MOST} (default: 24)")
    parser.add_argument("--seed", metavar="N", type=int, default=1,
                        help="another number, another class (default: 1)")


def run(given: argparse.Namespace) -> int:
    """Invent, mark, write, and say what to open first."""
    print(FIRST_LINE, flush=True)
    began = time.perf_counter()
    with progress() as step, owner_only():
        files = make_demo(given.out, given.learners, given.seed, step)
    print()
    for note in files.notes:
        print(note)
    print(f"\nDone in {time.perf_counter() - began:.0f} seconds. Open first:\n"
          f"  class report  {files.report}\n"
          f"Then:\n"
          f"  feedback      {files.feedback} (a page a learner)\n"
          f"  grades        {files.grades}\n"
          f"  handed in     {files.submitted}")
    return 0


def make_demo(
    out: Path, size: int = 24, seed: int = 1, step: ShowProgress = lambda *_: None
) -> DemoFiles:
    """Write the whole demo into a folder, all of it or nothing.

    Parameters
    ----------
    out : Path
        A folder that does not exist, is empty, or holds an earlier demo.
    size : int
        How many learners.
    seed : int
        The same seed gives the same class.
    step : callable
        Reasons what is being done, how many are done, and of how many.

    Raises
    ------
    CommandError
        If the folder holds anything else, or the number of learners is out of its limits.
    """
    if not FEWEST <= size <= MOST:
        raise CommandError(f"--learners {size} is outside {FEWEST} to {MOST}")
    if out.exists() and not out.is_dir():
        raise CommandError(f"{out} is a file, not a folder; choose another with --out")
    if out.is_dir() and any(out.iterdir()) and not (out / SIGN).is_file():
        raise CommandError(f"{out} holds files that are not a demo's; nothing was written there, "
                           "choose another folder with --out")
    draft = out.resolve().with_name(f".{out.resolve().name}.part")
    shutil.rmtree(draft, ignore_errors=True)
    try:
        notes = _build(draft, size, seed, step)
        out.mkdir(parents=True, exist_ok=True)
        for name in OURS:
            _replace(draft / name, out / name)
    finally:
        shutil.rmtree(draft, ignore_errors=True)
    return DemoFiles(out, out / "report" / "class_report.html", out / "grades.csv",
                     out / "feedback", out / "grading" / "submitted", notes)


def _build(draft: Path, size: int, seed: int, step: ShowProgress) -> tuple[str, ...]:
    from acidbase_lib.classroom.gradebook.mark_class import mark_class
    from acidbase_lib.classroom.report.class_pages import results_of, write_class_pages
    from acidbase_lib.classroom.report.report import ideas_asked
    from acidbase_lib.classroom.report.report_page import write_report
    from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS

    step("setting up the course", 0, 1)
    release, unit = _lay_out(draft)
    planted = ideas_to_plant(unit.exercises, ideas_asked(unit.exercises, MISCONCEPTIONS))
    learners = invent_class(size, planted, seed)
    step("setting up the course", 1, 1)
    for done, learner in enumerate(learners, 1):
        folder = draft / "grading" / "submitted" / learner.learner / UNIT
        folder.mkdir(parents=True)
        (folder / f"{UNIT}.ipynb").write_bytes(submission(learner, release, unit.exercises, seed))
        step("inventing submissions", done, size)
    mark_class(draft / "course", UNIT, progress=marking_progress(step), keep_marks=False)
    results = results_of(draft / "course", UNIT, {x.learner: x.name for x in learners})
    pages = write_class_pages(draft, results, unit, release_keys=True, invented=True, step=step)
    notes = agreement(learners, pages.report.diagnoses)
    report = replace(pages.report, notes=notes)
    step("writing the report", 0, 1)
    write_report(draft / "report", report)
    _write_notes(draft, learners, notes)
    step("writing the report", 1, 1)
    return notes


def _lay_out(draft: Path) -> tuple[Mapping[str, Any], Unit]:
    """Make a course folder as nbgrader knows it; return the released notebook and its unit."""
    import nbformat

    from acidbase_lib.classroom.notebooks.assignment import blank_chart, without_hidden_tests
    from acidbase_lib.classroom.notebooks.read_notebook import ANSWER
    from acidbase_lib.classroom.notebooks.write_questions import grade_id, opening_of, write_form
    from acidbase_lib.classroom.released_course import course_folder
    from acidbase_lib.teaching.unit import open_unit

    course = course_folder()
    notebook = nbformat.read(course / UNIT / f"{UNIT}.ipynb", as_version=4)
    opening = next(found for cell in notebook.cells if (found := opening_of(cell.source)))
    unit = open_unit(*opening)
    # The instructor's notebook is the release with its right values and its hidden tests.
    source = write_form(notebook, unit)
    release = copy.deepcopy(source)
    for cell in release.cells:
        name = grade_id(cell) or ""
        if name.endswith(ANSWER):
            cell.source = blank_chart(cell.source)
        elif cell.cell_type == "code":
            cell.source = without_hidden_tests(cell.source).strip("\n")
    for folder, written in (("solutions", source), ("course", release)):
        (draft / folder / UNIT).mkdir(parents=True)
        nbformat.write(written, draft / folder / UNIT / f"{UNIT}.ipynb")
    shutil.copyfile(course / "nbgrader_config.py", draft / "course" / "nbgrader_config.py")
    (draft / "grading").mkdir()
    return json.loads(nbformat.writes(release)), unit


def ideas_to_plant(exercises: Mapping[str, Any], asked: Sequence[str], most: int = 4,
                   ) -> tuple[str, ...]:
    """The ideas this sitting shows best: many telling answers, and told apart from one another."""
    from acidbase_lib.classroom.report.report import not_told_apart

    alike = {frozenset((one, other)) for one, other, _ in not_told_apart(exercises, asked, 4)}
    telling = {idea: sum(len(e.predicted.get(idea, {})) for e in exercises.values())
               for idea in asked}
    chosen: list[str] = []
    for idea in sorted(asked, key=lambda i: (-telling[i], i)):
        if len(chosen) < most and not any(frozenset((idea, c)) in alike for c in chosen):
            chosen.append(idea)
    return tuple(chosen)


def agreement(learners: Sequence[InventedLearner], diagnoses: Mapping[str, Any]) -> tuple[str, ...]:
    """How far the report found the habits that were planted, told as counts."""
    known = [(x, diagnoses[x.learner]) for x in learners if x.learner in diagnoses]
    one = [(x, d) for x, d in known if len(x.ideas) == 1]
    two = [(x, d) for x, d in known if len(x.ideas) == 2]
    free = [(x, d) for x, d in known if not x.ideas and x.habit != "guesses"]
    guessing = [(x, d) for x, d in known if x.habit == "guesses"]
    notes = [f"Planted and found: of {len(one)} learners with one planted idea, "
             f"{sum(d.ideas == x.ideas for x, d in one)} were given that idea, "
             f"{sum(bool(d.ideas) and d.ideas != x.ideas for x, d in one)} another or one more, "
             f"and {sum(not d.ideas for _, d in one)} none."]
    if two:
        notes.append(f"Of {len(two)} with two ideas, "
                     f"{sum(set(d.ideas) == set(x.ideas) for x, d in two)} were given both and "
                     f"{sum(len(set(d.ideas) & set(x.ideas)) == 1 for x, d in two)} one of them.")
    notes.append(f"Of {len(free)} without any planted idea, {sum(bool(d.ideas) for _, d in free)} "
                 "were given one.")
    if guessing:
        notes.append(f"Of {len(guessing)} who guessed, {sum(bool(d.ideas) for _, d in guessing)} "
                     "were given an idea.")
    notes.append("These learners answer by the same list of ideas that the report looks for, so "
                 "this shows that the parts fit together, not how it will do in a real class.")
    return tuple(notes)


def _write_notes(draft: Path, learners: Sequence[InventedLearner], notes: Sequence[str]) -> None:
    from acidbase_lib.classroom.atomic_write import write_whole
    from acidbase_lib.classroom.report.grade_file import write_table
    from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS

    write_table(draft / "report" / "planted_habits.csv", ("id", "name", "habit", "ideas"),
                [(x.learner, x.name, x.habit,
                  "; ".join(MISCONCEPTIONS[i].name for i in x.ideas)) for x in learners])
    write_whole(draft / "READ_ME.txt", "\n".join([
        FIRST_LINE, "", "report/class_report.html   open this first",
        "feedback/                  a page for each learner",
        "grades.csv                 id, score, maximum, state; an empty score means not marked",
        "grading/                   what was handed in, the marked notebooks, the gradebook",
        "course/, solutions/        the unit as released and as marked", "", *notes, ""]))
    write_whole(draft / SIGN, "made by `acidbase demo`; another demo may replace it\n")


def _replace(new: Path, old: Path) -> None:
    if not new.exists():
        return
    if old.is_dir() and not old.is_symlink():
        shutil.rmtree(old)
    else:
        old.unlink(missing_ok=True)
    shutil.move(new, old)
