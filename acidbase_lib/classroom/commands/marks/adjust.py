"""Adjust marks after marking: for everyone alike, with a reason, and with undo.

A question can be made void, a second answer accepted, a question's points
changed, and one learner be given points, a question less, or no penalty for
lateness. Without --do nothing is changed: it is shown whose points would
change, from what to what. Without an option the adjustments are listed.

The gradebook keeps what was marked, and so do nbgrader's own pages; adjustments
are kept in the course's history beside it, and applied to grades, feedback and
report each time these are written. Learners read the reason on their pages.

  acidbase adjust UNIT --void 2.3 --reason "two answers were defensible"
  acidbase adjust UNIT --accept 2.3 "disorder: metabolic acidosis" --reason WHY
  acidbase adjust UNIT --points 2.3 2 --reason WHY
  acidbase adjust UNIT --allow 1.5 --for n101 --reason WHY
  acidbase adjust UNIT --undo 3 --reason WHY
"""
from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.short_names import unit_called

from .shown_change import show_change

if TYPE_CHECKING:
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
    from acidbase_lib.classroom.gradebook.safekeeping.adjustments import Adjustment
    from acidbase_lib.classroom.report.results import LearnerResult

MOST_POINTS = 100.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("unit", metavar="UNIT", type=unit_called,
                        help="which sitting, such as 02_primary_disorder or 02")
    parser.add_argument("--void", metavar="QUESTION",
                        help="the question does not count: its points leave score and maximum")
    parser.add_argument("--accept", nargs=2, metavar=("QUESTION", "ANSWER"),
                        help="a second answer is right, such as 'disorder: metabolic acidosis'")
    parser.add_argument("--points", nargs=2, metavar=("QUESTION", "N"),
                        help="the question is worth N points; what was earned goes with it")
    parser.add_argument("--allow", metavar="N", help="N points more for one learner (--for)")
    parser.add_argument("--on-time", action="store_true",
                        help="nothing is taken off for lateness, for one learner (--for)")
    parser.add_argument("--undo", metavar="NUMBER", type=int, help="take an adjustment back")
    parser.add_argument("--for", metavar="LEARNER", dest="learner",
                        help="for one learner only, by id: with --void, --allow or --on-time")
    parser.add_argument("--within", metavar="X",
                        help="of a second number: how far from it still counts")
    parser.add_argument("--reason", metavar="WHY", default="", help="why, as learners will read it")
    parser.add_argument("--do", action="store_true", help="do it; without this it is only shown")
    parser.add_argument("--course", metavar="DIR", type=Path, default=Path("."),
                        help="the folder of this kit's course (default: here)")


def run(given: argparse.Namespace) -> int:
    """Show what would change; with --do, keep it."""
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
    from acidbase_lib.classroom.gradebook.safekeeping.adjustments import (
        adjustments_of,
        reason_of,
        standing,
    )
    from acidbase_lib.classroom.report.class_pages import results_of
    from acidbase_lib.classroom.report.own_numbers_told import where_it_stands

    folder = CourseFolder.find(given.course)
    asked = sum(one is not None for one in (given.void, given.accept, given.points, given.allow,
                                            given.undo, given.on_time or None))
    if asked > 1:
        raise CommandError("one thing at a time, so that each has its own reason and its own undo")
    if not asked:
        if given.do:
            raise CommandError("--do needs something to do; `acidbase adjust --help` shows what")
        return _list(folder, given.unit)
    reason, now = reason_of(given.reason), adjustments_of(folder, given.unit)
    before = results_of(folder, given.unit, {})
    proposed: Adjustment | None = None
    if given.undo is not None:
        gone = standing(folder, given.unit, given.undo)
        then = tuple(one for one in now if one.number != given.undo)
        print(f"Taken back: {gone.what} ({gone.reason}).")
    else:
        proposed = _proposed(folder, given, reason, now, before)
        then = (*now, proposed)
        print(f"{proposed.what[0].upper()}{proposed.what[1:]}.")
        if proposed.question and (stands := where_it_stands(before, proposed.question,
                                                            proposed.learner)):
            print(stands)
    show_change(before, results_of(folder, given.unit, {}, then))
    if not given.do:
        print("\nNothing was changed yet: run it again with --do.")
        return 0
    _do(folder, given, reason, proposed)
    return 0


def _do(folder: CourseFolder, given: argparse.Namespace, reason: str,
        proposed: Adjustment | None) -> None:
    from acidbase_lib.classroom.gradebook.safekeeping.adjustments import adjust, undo
    from acidbase_lib.classroom.gradebook.safekeeping.class_history import noted
    from acidbase_lib.classroom.gradebook.safekeeping.private_course import keeping_private

    with keeping_private(folder):
        if proposed is None:
            undo(folder, given.unit, given.undo, reason)
            print(f"\nDone: adjustment {given.undo} does not hold any more.")
        else:
            made = adjust(folder, proposed)
            print(f"\nDone: adjustment {made.number}. `acidbase adjust {given.unit} --undo "
                  f"{made.number} --reason WHY --do` takes it back.")
        for note in noted(folder, given.unit):
            print(note)
    print("Grades, feedback and report change when they are written again: `acidbase collect` "
          "without FILES.")


def _list(folder: CourseFolder, unit: str) -> int:
    from acidbase_lib.classroom.gradebook.safekeeping.adjustments import decided
    from acidbase_lib.classroom.report.adjusted import worth_of
    from acidbase_lib.classroom.report.class_pages import results_of
    from acidbase_lib.classroom.report.own_numbers_told import where_it_stands

    known = worth_of(folder, unit)
    if not known:
        raise CommandError(f"the gradebook has no assignment {unit!r}; `acidbase collect` marks it")
    there = decided(folder, unit)
    print(f"Adjustments of {unit}:" if there else f"{unit} has no adjustments.")
    results = results_of(folder, unit, {}) if there else ()
    for one in there:
        it = one.adjustment
        print(f"  {it.number}. {it.what}. {it.at[:10]}, {it.by}: {it.reason}"
              + (f"\n     Taken back {one.undone}" if one.undone else ""))
        if it.question and it.learner and (at := where_it_stands(results, it.question, it.learner)):
            print(f"     {at}")
    return 0


def _proposed(folder: CourseFolder, given: argparse.Namespace, reason: str,
              now: Sequence[Adjustment], results: Sequence[LearnerResult]) -> Adjustment:
    """The adjustment that is asked for, looked over."""
    from acidbase_lib.classroom.gradebook.safekeeping.adjustments import Adjustment

    learner = given.learner or ""
    one_alone = given.allow is not None or given.on_time
    if one_alone and not learner:
        raise CommandError("this is for one learner: name whom with --for LEARNER")
    if learner and not one_alone and given.void is None:
        raise CommandError("--for goes with --void, --allow or --on-time; another answer or other "
                           "points are for everyone alike")
    if learner and learner not in {one.learner for one in results}:
        raise CommandError(f"the gradebook knows no learner {learner[:60]!r}; write the id as "
                           "grades.csv has it")
    if given.within is not None and given.accept is None:
        raise CommandError("--within goes with --accept")
    if given.on_time:
        made = Adjustment(given.unit, "on time", reason, learner=learner)
    elif given.allow is not None:
        made = Adjustment(given.unit, "allow", reason, learner=learner,
                          points=_points(given.allow, "--allow"))
    elif given.void is not None:
        made = _void(folder, given, reason, now, results)
    elif given.points is not None:
        made = _worth(folder, given, reason, now)
    else:
        if any(one.own is not None for one in results):
            raise CommandError("everybody has patients of their own here, and what is right of one "
                               "is not of another: make the question void, or allow points")
        made = _second_answer(folder, given, reason)
    if any(_is_same(one, made) for one in now):
        raise CommandError(f"that holds already: {made.what}")
    return made


def _void(folder: CourseFolder, given: argparse.Namespace, reason: str,
          now: Sequence[Adjustment], results: Sequence[LearnerResult]) -> Adjustment:
    from acidbase_lib.classroom.gradebook.safekeeping.adjustments import Adjustment
    from acidbase_lib.classroom.report.adjusted import worth_of
    from acidbase_lib.classroom.report.own_numbers_told import question_at

    worth, learner = worth_of(folder, given.unit), given.learner or ""
    question = _question(given.void, worth, given.unit)
    if learner:  # they say the number that stands on their own sheet
        question = question_at(next(one for one in results if one.learner == learner), question)
    left = set(worth) - {question} - {one.question for one in now if one.kind == "void"
                                      and one.learner in {"", learner}}
    if not any(worth[one] for one in left):
        raise CommandError("no question would be left that counts")
    return Adjustment(given.unit, "void", reason, question, learner)


def _worth(folder: CourseFolder, given: argparse.Namespace, reason: str,
           now: Sequence[Adjustment]) -> Adjustment:
    from acidbase_lib.classroom.gradebook.safekeeping.adjustments import Adjustment
    from acidbase_lib.classroom.report.adjusted import worth_of

    worth = worth_of(folder, given.unit)
    question = _question(given.points[0], worth, given.unit)
    points = _points(given.points[1], "--points")
    held = [one.points for one in now if one.kind == "points" and one.question == question]
    if not worth[question]:
        raise CommandError(f"question {given.points[0]} was given without points: what anyone "
                           "earned in it is not known")
    if points == (held[-1] if held else worth[question]):
        raise CommandError(f"question {given.points[0]} is worth {points:g} already")
    return Adjustment(given.unit, "points", reason, question, points=points)


def _second_answer(folder: CourseFolder, given: argparse.Namespace, reason: str) -> Adjustment:
    from acidbase_lib.classroom.gradebook.safekeeping.adjustments import Adjustment
    from acidbase_lib.classroom.report.class_pages import unit_of_sitting
    from acidbase_lib.teaching.questions.exercise import same
    from acidbase_lib.teaching.questions.typed_value import NotUnderstoodError, read_value

    exercises = unit_of_sitting(folder, given.unit).exercises
    question = _question(given.accept[0], exercises, given.unit)
    asked = exercises[question]
    if asked.kind == "rationale" or asked.key is None:
        raise CommandError(f"question {given.accept[0]} is marked by a person: give the points "
                           "by hand")
    if asked.kind == "first thought":
        raise CommandError(f"question {given.accept[0]} asks for a first thought: every answer "
                           "earns its points")
    field, text = _line(asked, given.accept[1])
    try:
        value = read_value(field, text)
    except NotUnderstoodError as error:
        raise CommandError(str(error)) from None
    usual = asked.within.get(field.name, 0.0)
    if given.within is not None and field.kind != "number":
        raise CommandError(f"--within is for a number; {field.name!r} asks for none")
    within = usual if given.within is None else _points(given.within, "--within", zero=True)
    key = asked.key.get(field.name)
    if same(field, value, key, usual if within <= usual else 0.0):
        raise CommandError(f"{field.name}: {text} is the right answer already")
    return Adjustment(given.unit, "accept", reason, question, field=field.name, value=value,
                      instead_of=key, within=within, rule=asked.kind)


def _line(asked: Any, text: str) -> tuple[Any, str]:
    """The field of a question that an answer names, and the answer alone."""
    name, colon, value = text.partition(":")
    for field in asked.fields:
        if colon and name.strip().casefold() in {one.casefold() for one in
                                                 (field.name, *field.also)}:
            return field, value.strip()
    if len(asked.fields) == 1:
        return asked.fields[0], text.strip()
    lines = ", ".join(repr(field.name) for field in asked.fields)
    raise CommandError(f"name the line that the answer is for, as in 'line: answer'; the lines of "
                       f"this question are {lines}")


def _question(name: str, known: Any, unit: str) -> str:
    """A question by its id or its number, such as q2-3 or 2.3."""
    for one in (name.strip(), name.strip().casefold(),
                "q" + name.strip().removeprefix("q").replace(".", "-")):
        if one in known:
            return one
    from acidbase_lib.classroom.phrases import number_of

    raise CommandError(f"{unit} has no question {name[:40]!r}; its questions are "
                       f"{', '.join(number_of(one) for one in known) or 'none'}")


def _points(text: str, option: str, zero: bool = False) -> float:
    try:
        points = float(text)
    except ValueError:
        raise CommandError(f"{option} {text[:20]!r} is not a number") from None
    least = 0.0 if zero else 0.0001
    if not least <= points <= MOST_POINTS:
        more = " A question that is not to count is made void: --void." if option == "--points" \
            else ""
        raise CommandError(f"{option} {text[:20]} is outside "
                           f"{'0' if zero else 'more than 0'} to {MOST_POINTS:g}.{more}")
    return round(points, 4)


def _is_same(one: Adjustment, other: Adjustment) -> bool:
    return other.kind in {"void", "accept", "on time"} and (
        one.kind, one.question, one.learner, one.field, one.value, one.within) == (
        other.kind, other.question, other.learner, other.field, other.value, other.within)
