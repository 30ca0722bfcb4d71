"""Mark your own notebook and print the feedback.

Each answer is read, never run: what you answered, whether it is right, why,
what a wrong answer suggests, and what to practice next. What you left out is
asked for, not told. Your file is not changed.
"""
from __future__ import annotations

import argparse
from pathlib import Path

from acidbase_lib.classroom.errors import CommandError


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("file", metavar="FILE.ipynb", type=Path)
    parser.add_argument("--html", metavar="OUT", type=Path,
                        help="also write the feedback as a page")


def run(given: argparse.Namespace) -> int:
    """Mark, print, and write the page if asked."""
    if not given.file.is_file():
        raise CommandError(f"there is no notebook {given.file}")
    from acidbase_lib.classroom.diagnosis.diagnosis import diagnose, observe
    from acidbase_lib.classroom.marking.own_notebook import mark_own_notebook
    from acidbase_lib.classroom.phrases import to_the_learner
    from acidbase_lib.classroom.private import owner_only
    from acidbase_lib.classroom.report.feedback import feedback_of, write_feedback
    from acidbase_lib.classroom.report.feedback_text import feedback_text
    from acidbase_lib.classroom.report.results import NOT_MARKED, LearnerResult
    from acidbase_lib.teaching.misconceptions.catalog import told_by

    if given.html is not None and given.html.resolve() == given.file.resolve():
        raise CommandError(f"--html {given.html} would overwrite the notebook itself")
    if given.html is not None and given.html.suffix.lower() not in {".html", ".htm"}:
        raise CommandError(f"--html {given.html} is to be a file whose name ends in .html, so that "
                           "no work of yours is written over")
    home = mark_own_notebook(given.file)
    result = LearnerResult.of(given.file.stem, given.file.name, home.marked)
    if result.state == NOT_MARKED:
        raise CommandError(f"{given.file.name} could not be marked. "
                           f"{to_the_learner(result.why)}")
    known = told_by(home.settings)
    found = diagnose(observe(home.exercises, result.marks), tuple(known))
    feedback = feedback_of(result, home.exercises, known, title=home.title,
                           release_keys=True, ideas=found.ideas, ask_first=True)
    print(feedback_text(feedback))
    if given.html is not None:
        with owner_only():
            print(f"\nPage written: {write_feedback(given.html, feedback)}")
    return 0
