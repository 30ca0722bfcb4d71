"""Mark written answers: one question over all people, names hidden.

--screen opens them in your browser, one after another, by keyboard if you like.
--out writes the table for a spreadsheet. Fill in points, or the numbers of what
you find in the answer of what is to be looked for (ticks, 0 for none): then the
points follow. A comment is read by the learner. --take looks every row over and
keeps all of them, or none and says why. It is kept in the gradebook as marks by
hand are, and told in the history. An answer that was handed in anew is asked
for again.
"""
from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.short_names import unit_called


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("unit", metavar="UNIT", type=unit_called,
                        help="which sitting, such as 07_clinical_priority or 07")
    parser.add_argument("--out", metavar="FILE.csv", type=Path, help="write the answers there")
    parser.add_argument("--take", metavar="FILE.csv", type=Path, help="take the filled table")
    parser.add_argument("--screen", action="store_true",
                        help="mark them on a screen, in JupyterLab or Notebook")
    parser.add_argument("--no-open", action="store_true",
                        help="with --screen: write its notebook, and open nothing")
    parser.add_argument("--waiting", action="store_true",
                        help="with --out: only answers that nobody has marked as they are now")
    parser.add_argument("--by-person", action="store_true",
                        help="with --out: a person's answers one after another")
    parser.add_argument("--course", metavar="DIR", type=Path, default=Path("."),
                        help="the folder of this kit's course (default: here)")


def run(given: argparse.Namespace) -> int:
    """Write the table, take it, or open the screen."""
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
    from acidbase_lib.classroom.report.by_hand.written_answers import written_answers
    from acidbase_lib.classroom.report.class_pages import unit_of_sitting

    if (given.out is not None) + (given.take is not None) + given.screen != 1:
        raise CommandError("say one of --screen, --out FILE.csv (write the answers) or --take "
                           "FILE.csv (keep what you filled in)")
    folder = CourseFolder.find(given.course)
    answers = written_answers(folder, given.unit, unit_of_sitting(folder, given.unit).exercises)
    if not answers:
        raise CommandError(f"{given.unit} holds no written answers to mark")
    if given.screen:
        return _open_screen(folder, given)
    return _write(given, answers) if given.out is not None else _take(folder, given, answers)


def _write(given: argparse.Namespace, answers: Any) -> int:
    from acidbase_lib.classroom.private import owner_only
    from acidbase_lib.classroom.report.by_hand.written_answers import write_answers

    shown = [one for one in answers if one.waits or not given.waiting]
    if not shown:
        raise CommandError("no answer waits: all of them are marked; leave --waiting out to see "
                           "them")
    if given.by_person:
        shown.sort(key=lambda one: one.person)  # the questions of each stay in their order
    with owner_only():
        path = write_answers(given.out, shown)
    waiting = sum(one.waits for one in shown)
    print(f"{len(shown)} answers, of which {waiting} wait for you: {path}\n"
          "Fill in ticks or points, and comments; then `acidbase written "
          f"{given.unit} --take {path}`. It names nobody, but it holds what learners wrote: keep "
          "it where you keep grades.")
    return 0


def _take(folder: Any, given: argparse.Namespace, answers: Any) -> int:
    from acidbase_lib.classroom.gradebook.by_hand.give_marks import give_marks
    from acidbase_lib.classroom.gradebook.safekeeping.private_course import keeping_private
    from acidbase_lib.classroom.report.by_hand.written_answers import read_answers

    taken = read_answers(given.take, answers)
    if taken.marks:
        with keeping_private(folder):
            give_marks(folder, given.unit, taken.marks, "acidbase written")
    print(f"Kept: points for {taken.points} answers, {taken.comments} comments. "
          f"Nothing new in {taken.left} rows.")
    print("They reach grades, feedback and report with `acidbase collect` without FILES.")
    return 0


def _open_screen(folder: Any, given: argparse.Namespace) -> int:
    """Write the screen's notebook beside the gradebook, and open it."""
    import json
    import subprocess

    from acidbase_lib.classroom.atomic_write import write_whole
    from acidbase_lib.classroom.commands.home_notebook import opening_command
    from acidbase_lib.classroom.gradebook.safekeeping.integrity import grading_folder
    from acidbase_lib.classroom.gradebook.safekeeping.private_course import keeping_private
    from acidbase_lib.classroom.report.by_hand.marking_screen import screen_notebook

    with keeping_private(folder):
        path = write_whole(grading_folder(folder) / f"written-{given.unit}.ipynb",
                           json.dumps(screen_notebook(given.unit), indent=1) + "\n")
    if given.no_open:
        print(f"Open it with: jupyter notebook {path}")
        return 0
    command, environment = opening_command(path, path.parent)
    print(f"Opening {path} in your browser. Run its cell. Close it with Ctrl-C here.", flush=True)
    return subprocess.run(command, env=environment, check=False).returncode
