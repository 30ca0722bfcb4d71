"""Take in what learners handed in, mark it, and write what goes back to them.

That is a feedback page each, a grade file, and a report for the instructor.
FILES is a folder or a zip of notebooks, as your learning platform gives them.
Whose a file is must be plain from its name and the roster: files that fit
nobody, or more than one person, are listed and left alone, with a number, until
you decide: --decide 41=n102 says whose file 41 is. Answers are read, not run.
Leave FILES out to write the pages again, for example after you have marked the
written answers by hand. Running it again is safe: a file that was taken before
and has been replaced since is not taken again.
"""
from __future__ import annotations

import argparse
import os
import shlex
from collections import Counter
from collections.abc import Sequence
from contextlib import AbstractContextManager, nullcontext, suppress
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.light_imports import import_lightly
from acidbase_lib.classroom.short_names import unit_called

from .marks.platform import add_platform_arguments, check_platform, write_for_platform
from .school.own_lessons import course_here

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
    from acidbase_lib.classroom.gradebook.intake import Intake
    from acidbase_lib.classroom.gradebook.roster import RosterLine
    from acidbase_lib.classroom.report.progress_bar import ShowProgress
    from acidbase_lib.classroom.report.results import LearnerResult
    from acidbase_lib.classroom.report.roll import Roll

MANY = 1_000  # learners from which a second process earns back the time it takes to start
SHOWN = 20  # lines of one kind on the screen; the files have them all


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("files", metavar="FILES", type=Path, nargs="?",
                        help="a folder or a zip of the notebooks that were handed in")
    parser.add_argument("--unit", metavar="UNIT", required=True, type=unit_called,
                        help="which unit, such as 02_primary_disorder or 02, or a form's name")
    parser.add_argument("--roster", metavar="CSV", type=Path, required=True,
                        help="the class list: a column id, and names if files are called by them")
    parser.add_argument("--out", metavar="DIR", type=Path, required=True,
                        help="where grades, feedback and report are written")
    parser.add_argument("--course", metavar="DIR", type=Path, default=Path("."),
                        help="the folder of this kit's course (default: here)")
    parser.add_argument("--decide", metavar="FILE=ID", action="append", default=[],
                        help="whose a file is: its number and an id, such as 41=n102, or "
                             "41=nobody; may be given again to decide otherwise: then whoever had "
                             "the file gets their own earlier one back")
    parser.add_argument("--same", metavar="OLD=NEW", action="append", default=[],
                        help="two ids of one person: an earlier one, and the one on the roster; "
                             "or a CSV file with the columns old and new")
    parser.add_argument("--not-same", metavar="OLD", action="append", default=[],
                        help="take back what was said with --same")
    parser.add_argument("--due", metavar="TIME",
                        help="when FILES were due, such as 2026-12-01T12:00: later ones are told "
                             "to be late, by a time in the file's name or the file's own time")
    parser.add_argument("--release-keys", action="store_true",
                        help="show the right answers on the feedback pages")
    parser.add_argument("--workers", metavar="N", type=int,
                        help=f"mark in N processes (default: 1, or 2 from {MANY:,} learners on)")
    parser.add_argument("--cluster", metavar="tcp://SCHEDULER", default="",
                        help="mark on the workers of a Dask cluster that is there, by its "
                             "scheduler's address, such as tcp://10.0.0.5:8786")
    parser.add_argument("--gradebook", metavar="URL", default="",
                        help="keep the marks on a PostgreSQL server that several share, such as "
                             "postgresql+psycopg2://marker@db.example.org/acidbase; put the "
                             "password into PGPASSWORD or ~/.pgpass rather than here, where "
                             "others on this machine can read it")
    add_platform_arguments(parser)


def run(given: argparse.Namespace) -> int:
    """Take in, mark, write, and say what needs a person."""
    import_lightly("nbgrader.api")
    from acidbase_lib.classroom.atomic_write import drop_drafts
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
    from acidbase_lib.classroom.gradebook.decide import decide
    from acidbase_lib.classroom.gradebook.intake import take_in
    from acidbase_lib.classroom.gradebook.lateness import due_at
    from acidbase_lib.classroom.gradebook.ledger import Ledger, files_of
    from acidbase_lib.classroom.gradebook.letter_case import told_apart
    from acidbase_lib.classroom.gradebook.roster import read_roster
    from acidbase_lib.classroom.gradebook.safekeeping.backups import back_up_once_a_day
    from acidbase_lib.classroom.gradebook.safekeeping.class_history import note_intake
    from acidbase_lib.classroom.gradebook.safekeeping.erased import erased_from
    from acidbase_lib.classroom.gradebook.safekeeping.history import HistoryError
    from acidbase_lib.classroom.gradebook.safekeeping.private_course import keeping_private
    from acidbase_lib.classroom.gradebook.same_person import (
        called_also,
        pairs_of,
        say_not_same,
        say_same,
    )
    from acidbase_lib.classroom.gradebook.shared.server import on_server, what_is_shared
    from acidbase_lib.classroom.report.class_pages import results_of, write_class_pages
    from acidbase_lib.classroom.report.progress_bar import progress
    from acidbase_lib.classroom.report.receipts import tell_history
    from acidbase_lib.classroom.report.roll import roll_of, write_ledger

    if given.workers is not None and not 1 <= given.workers <= 64:
        raise CommandError(f"--workers {given.workers} is outside 1 to 64")
    if given.cluster and given.workers is not None:
        raise CommandError("--workers counts processes here; a --cluster has its own workers")
    check_platform(given)
    due = None if given.due is None else due_at(given.due)
    if due is not None and given.files is None:
        raise CommandError("--due goes with FILES, whose times are looked at")
    if given.out.exists() and not given.out.is_dir():
        raise CommandError(f"{given.out} is a file, not a folder; choose another with --out")
    given.course = course_here(given)
    own = CourseFolder.find(given.course)
    course = on_server(own, given.gradebook) if given.gradebook else own
    unit = _unit(course, given.unit)
    drop_drafts(given.out)  # of a run that was stopped
    roster, erased = read_roster(given.roster), erased_from(course)
    gone = {line.learner for line in roster if line.learner in erased}
    there = next(folder for folder in (given.out, *given.out.absolute().parents) if folder.is_dir())
    if why := told_apart([line.learner for line in roster], [course.root, there]):
        raise CommandError(why)
    with _cluster(given.cluster) as cluster, keeping_private(course):
        back_up_once_a_day(course)
        listed = [line.learner for line in roster if line.learner not in gone]
        for pair in [one for said in given.same for one in pairs_of(said)]:
            print(say_same(course, pair, listed))
        for old in given.not_same:
            print(say_not_same(course, old))
        for decision in given.decide:
            print(decide(course, given.unit, decision, listed))
        if given.files is not None:
            also = called_also(roster, files_of(course, [given.unit])[given.unit].same)
            intake = take_in(course, given.unit, given.files, also, left_out=gone, due=due)
            note_intake(course, given.unit, {**intake.unchanged, **intake.taken},
                        given.files.name)
            with suppress(HistoryError):  # the marking that follows tells of it
                Ledger(course).note(given.unit, intake.offers)
            _tell_intake(intake, due)
        with progress() as step:
            notes = _mark(course, given, step, cluster)
            results = results_of(course, given.unit, {
                line.learner: line.name for line in roster if line.learner not in gone})
            roll = roll_of(results, listed, files_of(course, [given.unit])[given.unit].waiting)
            pages = write_class_pages(given.out, results, unit, release_keys=given.release_keys,
                                      roll=roll, step=step)
            for one in results:  # a decision may have taken away what a page told of
                if not one.handed_in:
                    (pages.feedback / f"{one.learner}.html").unlink(missing_ok=True)
            ledger = write_ledger(given.out, course, given.unit, roll)
        history = tell_history(course, given.unit, given.out)
    for note in (*notes, *what_is_shared(course, own)):
        print(note)
    _tell_states(results)
    _tell_roll(roll, given, ledger, roster)
    if gone:
        print(f"  {len(gone)} on the roster were erased here: their files were passed over. "
              "Take them off the roster too; `acidbase erase ID --allow-again` lets one return.")
    for sentence in history:
        print(f"  {sentence}")
    print(f"\nOpen first:\n  class report  {pages.page}\nThen:\n"
          f"  feedback      {pages.feedback} (a page a learner)\n"
          f"  grades        {pages.grades}")
    with keeping_private(course):  # last: a table that cannot be filled leaves all else done
        for sentence in write_for_platform(given, course, given.unit, given.out, results,
                                           pages.feedback):
            print(f"  {sentence}")
    return 0


def _unit(course: CourseFolder, name: str) -> Any:
    from acidbase_lib.classroom.notebooks.read_notebook import UnreadableNotebookError
    from acidbase_lib.classroom.notebooks.write_questions import FormError
    from acidbase_lib.classroom.report.class_pages import unit_of_sitting

    try:
        return unit_of_sitting(course, name)
    except (UnreadableNotebookError, FormError) as error:
        raise CommandError(f"{course.source_notebook(name)}: {error}") from None


def _cluster(address: str) -> AbstractContextManager[Executor | None]:
    """The cluster that was asked for, reached before anything is taken in."""
    if not address:
        return nullcontext()
    from acidbase_lib.classroom.gradebook.shared.cluster import marking_on

    return marking_on(address)


def _mark(course: CourseFolder, given: argparse.Namespace, step: ShowProgress,
          cluster: Executor | None) -> Sequence[str]:
    from acidbase_lib.classroom.gradebook.mark_class import mark_class
    from acidbase_lib.classroom.report.progress_bar import marking_progress

    tell, workers = marking_progress(step), given.workers
    if cluster is not None:
        return mark_class(course, given.unit, cluster, tell, keep_marks=False).notes
    if workers is None:
        many = sum(1 for _ in course.learners(given.unit)) >= MANY
        workers = min(2, os.cpu_count() or 1) if many else 1
    if workers == 1:
        return mark_class(course, given.unit, progress=tell, keep_marks=False).notes
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as executor:
        return mark_class(course, given.unit, executor, tell, keep_marks=False).notes


def _tell_intake(intake: Intake, due: datetime | None = None) -> None:
    """Print what became of the files of this run."""
    older = f", {len(intake.older)} seen before" if intake.older else ""
    print(f"Files: {len(intake.taken)} taken, {len(intake.unchanged)} the same as before, "
          f"{len(intake.doubtful) + len(intake.unmatched)} left alone{older}. On the roster "
          f"without a file: {len(intake.absent)}.")
    if any(not one.late for one in intake.offers) and due is not None:
        print(f"  of {sum(not one.late for one in intake.offers)} files no time tells whether they "
              "were late: none stands in the name, and the files' own are those of a download")
    if intake.debris:
        print(f"  passed over: {len(intake.debris)} that nobody handed in, such as "
              f"{intake.debris[0]}")
    for name, group in (("doubtful", intake.doubtful), ("nobody's", intake.unmatched)):
        for file, why in list(group.items())[:SHOWN]:
            print(f"  {name}: {file}: {why}")
    for learner, path in list(intake.earlier.items())[:SHOWN]:
        print(f"  handed in again: {learner}; the earlier file is kept as {path}")
    for learner, one in list(intake.older.items())[:SHOWN]:
        print(f"  seen before: {learner}: {one.file}: a later file has taken its place, and counts"
              + (f"; if this one is to count: --decide {one.about or one.number}={learner}"
                 if one.number else ""))


def _tell_roll(roll: Roll, given: argparse.Namespace, ledger: Path,
               lines: Sequence[RosterLine]) -> None:
    """Print who is missing, and what waits for a decision with the words that settle it."""
    from acidbase_lib.classroom.phrases import counted
    from acidbase_lib.classroom.report.roll import (
        decision_for,
        decisions_for,
        ids_that_changed,
        question_of,
    )

    print(roll.sentence)
    if roll.missing:
        more = f" and {len(roll.missing) - SHOWN} more" if len(roll.missing) > SHOWN else ""
        print(f"  handed in nothing: {', '.join(r.learner for r in roll.missing[:SHOWN])}{more}")
    for result in roll.late[:SHOWN]:
        print(f"  {result.learner}: {result.late}")
    if changed := ids_that_changed(roll, lines):
        print(f"  {changed}")
    if roll.files:
        print(f"{counted(len(roll.files), 'file')} wait{'s' * (len(roll.files) == 1)} for your "
              "decision. Settle them by their numbers:")
    for one in roll.files[:SHOWN]:
        print(f"  {one.number:4d}  {one.file}: {one.why}; {question_of(one)}\n"
              f"        {decision_for(one)}")
    if roll.files:
        words = ["acidbase", "collect", "--unit", given.unit, "--roster", str(given.roster),
                 "--out", str(given.out), "--course", str(given.course)]
        if given.gradebook:
            from acidbase_lib.classroom.gradebook.gradebook_error import place_of

            words += ["--gradebook", place_of(given.gradebook)]
        print(f"  all in one line: {shlex.join(words)} {' '.join(decisions_for(roll.files))}")
    print(f"  every file of every run: {ledger}")


def _tell_states(results: Sequence[LearnerResult]) -> None:
    from acidbase_lib.classroom.report.results import NOT_MARKED

    counts = Counter(result.state for result in results)
    print("Learners: " + ", ".join(f"{number} {state}" for state, number in counts.items()) + ".")
    for result in [r for r in results if r.state == NOT_MARKED][:SHOWN]:
        print(f"  not marked: {result.learner}: {result.why}")
    if waiting := [r for r in results if r.waiting]:
        print(f"  {len(waiting)} have written answers that wait for you: mark them in nbgrader's "
              "formgrader or with `acidbase written`, then run this command again without FILES.")
