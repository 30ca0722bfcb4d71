"""Write a term: every sitting of everybody on the class list, in one view.

The page says who is falling behind and on what evidence, which ideas came, went
and returned, and holds a plan for the next hour. Beside it stand a table with a
row for each person of the class list, and a page for each learner of their own
term, to hand out or not. Nothing is marked and nothing is sent. With --codes no
name and no id is written, for passing on.
"""
from __future__ import annotations

import argparse
from pathlib import Path

from acidbase_lib.classroom.errors import CommandError

SHOWN = 10  # people on the screen; the page has them all


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("--course", metavar="FOLDER", type=Path, default=Path("."),
                        help="the folder of this kit's course, with its gradebook (default: here)")
    parser.add_argument("--roster", metavar="CSV", type=Path, required=True,
                        help="the class list: a column id, names and a column section if you "
                             "have them; everybody on it is counted")
    parser.add_argument("--out", metavar="DIR", type=Path, required=True,
                        help="where term.html, term.csv and the learners' pages are written")
    parser.add_argument("--codes", action="store_true",
                        help="leave every name and id out and write codes in their place")


def run(given: argparse.Namespace) -> int:
    """Read the gradebook, write the term, and say in a few lines what it found."""
    from acidbase_lib.classroom.atomic_write import drop_drafts
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
    from acidbase_lib.classroom.gradebook.letter_case import told_apart
    from acidbase_lib.classroom.gradebook.roster import read_roster
    from acidbase_lib.classroom.gradebook.safekeeping.class_history import note_pages
    from acidbase_lib.classroom.gradebook.safekeeping.erased import erased_from
    from acidbase_lib.classroom.private import owner_only
    from acidbase_lib.classroom.report.class_pages import today
    from acidbase_lib.classroom.school.folder import by_its_settings
    from acidbase_lib.classroom.term.gather import gather, sittings_of
    from acidbase_lib.classroom.term.term_page import term_report, write_term

    if not given.course.is_dir():
        raise CommandError(f"there is no course folder {given.course}")
    if given.out.exists() and not given.out.is_dir():
        raise CommandError(f"{given.out} is a file, not a folder; choose another with --out")
    if given.codes and (given.out / "learners").exists():
        raise CommandError(f"{given.out} holds pages of named learners; choose another folder for "
                           "what is to be passed on")
    course = CourseFolder.find(given.course)
    roster, erased = read_roster(given.roster), erased_from(course)
    there = next(folder for folder in (given.out, *given.out.absolute().parents) if folder.is_dir())
    if why := told_apart([line.learner for line in roster], [there]):
        raise CommandError(why)
    if not sittings_of(course):
        raise CommandError(f"nothing has been marked in {given.course} yet; `acidbase collect` "
                           "marks a class")
    drop_drafts(given.out)  # of a run that was stopped
    term = gather(course, roster, [line.learner for line in roster if line.learner in erased])
    with by_its_settings(given.school):  # the plan for the next hour; the past stays as it was
        report = term_report(term, today(), passed_on=given.codes)
        with owner_only():
            page = write_term(given.out, report, names=not given.codes)
    if not given.codes:
        note_pages(course, "term", given.out)
    missing = [f"{sum(not p.entries[one.name].handed_in for p in term.people)} in {one.name}"
               for one in term.begun]
    print(f"On the roster: {len(term.people)}. Sittings: {len(term.sittings)}, of which "
          f"{len(term.begun)} have begun.")
    if missing:
        print(f"  handed in nothing: {', '.join(missing)}")
    if term.strangers:
        print(f"  {len(term.strangers)} handed in and are not on the roster: "
              "see term_not_on_roster.csv")
    called = {p.learner: report.codes[p.learner] if given.codes else p.name or p.learner
              for p in term.people}
    for one in report.behind[:SHOWN]:
        print(f"  {called[one.learner]}: {' '.join(sign.sentence for sign in one.signs)}")
    if len(report.behind) > SHOWN:
        print(f"  and {len(report.behind) - SHOWN} more with a sign of falling behind")
    print(f"\nOpen first:\n  term          {page}\nThen:\n"
          f"  as a table    {given.out / 'term.csv'}")
    if not given.codes:
        print(f"  for learners  {given.out / 'learners'} (a page each, to hand out or not)")
    return 0
