"""Write a form of a unit to sit as a test: its questions dealt anew, new patients.

The order, what each question asks this time, and the order of its options are
drawn by the seed, so that the answers of one form do not fit another. The
patients are chosen to tell wrong ideas apart. Two notebooks are written: yours
with the right answers in `solutions/`, and the learners' in `course/`. The same
seed writes the same form again. With --for-class they are chosen to
test again what your class's last sitting found, and to tell apart what it could
not. With --for-each everybody on a class list has patients and an order of
their own: another person's answers do not fit.
"""
from __future__ import annotations

import argparse
import os
import tempfile
import textwrap
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.atomic_write import copy_whole, heal, replace_folder, write_whole
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.folder_lock import one_at_a_time
from acidbase_lib.classroom.form_told import describe as describe
from acidbase_lib.classroom.form_told import ideas_asked as ideas_asked
from acidbase_lib.classroom.form_told import named
from acidbase_lib.classroom.light_imports import import_lightly
from acidbase_lib.classroom.notebooks.read_notebook import (
    UnreadableNotebookError,
    parse_notebook,
    read_file,
)
from acidbase_lib.classroom.phrases import to_the_learner
from acidbase_lib.classroom.private import owner_only, tighten
from acidbase_lib.classroom.released_course import template_at_hand as template_at_hand
from acidbase_lib.classroom.released_course import template_of as template_of
from acidbase_lib.classroom.short_names import ELSEWHERE, forms_folder, unit_called
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.own_questions.called import plan_called
from acidbase_lib.teaching.questions.authored_key import with_key
from acidbase_lib.teaching.questions.which_try import COUNTS, MENDED_HALF
from acidbase_lib.teaching.recipes.book import candidates
from acidbase_lib.teaching.recipes.choose_items import NONE, choose_sitting, separation
from acidbase_lib.teaching.recipes.deal import PICKS, draw_order
from acidbase_lib.teaching.unit import Unit, open_unit

from .school.own_text import lesson_text
from .school.own_unit import own_notebook, own_questions


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What may follow ``acidbase form``."""
    parser.add_argument("unit", type=unit_called,
                        help="which unit, such as 02_primary_disorder or 02; or "
                             "twelve_charts, a sitting of twelve patients each charted in full; or "
                             "bedside_hours, three patients in four decisions each")
    parser.add_argument("--seed", type=int, required=True, metavar="N",
                        help="a whole number; another number gives other patients")
    parser.add_argument("--out", type=Path, default=forms_folder(), metavar="DIR",
                        help="where to write (default: the course here, else acidbase-forms)")
    parser.add_argument("--force", action="store_true", help="write over this same form")
    parser.add_argument("--source", type=Path, metavar="FILE",
                        help="your own notebook of the unit, with the keys that you hold "
                             "(default: the one in `solutions/` beside the course)")
    parser.add_argument("--for-class", type=Path, metavar="FOLDER",
                        help="the course folder whose gradebook holds your class's last sitting")
    parser.add_argument("--last", metavar="UNIT", type=unit_called,
                        help="which sitting that was (default: the same unit)")
    parser.add_argument("--for-each", type=Path, metavar="ROSTER",
                        help="a class list (CSV): write a notebook for each person on it, with "
                             "patients and an order of their own")
    parser.add_argument("--self-marking", action="store_true",
                        help="keep the cells by which learners mark themselves; they are left "
                             "out of a form that counts")
    parser.add_argument("--as-lesson", action="store_true",
                        help="keep the unit's text, its questions and their order, with new "
                             "patients alone: for practice, since another form's answers then "
                             "fit many of its questions")
    parser.add_argument("--counts", choices=COUNTS,
                        help="with --as-lesson: which try earns the points where a learner checks "
                             "an answer and tries again; \"mended half\" gives half for what was "
                             "mended (default: as in the unit's notebook)")
    parser.add_argument("--settings", type=Path, metavar="FILE", help="your school's ranges")


def run(asked: argparse.Namespace) -> int:
    """Choose the items, write both notebooks, and say what the form can tell apart."""
    import_lightly("nbformat")
    from acidbase_lib.classroom.notebooks.school_lesson import with_lesson

    own = own_questions(asked)
    template = (own_notebook(asked.unit, own, asked.as_lesson) if own and asked.source is None else
                template_of(asked.unit, asked.source))
    if text := lesson_text(asked) if asked.as_lesson else "":
        template = with_lesson(read_template(template), text)
    if asked.for_each is not None:
        return _for_each(asked, template, own)
    wanted = _for_class(asked)
    if asked.counts is not None and not asked.as_lesson:
        raise CommandError("--counts goes with --as-lesson; any other form is a sitting: the "
                           "answer as it stands counts")
    unit = choose_form(asked.unit, asked.seed, wanted, template, as_lesson=asked.as_lesson,
                       counts=asked.counts or "", questions=own)
    source, release = write_pair(unit, asked.out, force=asked.force, template=template,
                                 self_marking=asked.self_marking)
    tighten([source.parent])  # it may have been there, open
    print(f"{unit.title}: form {unit.form}, {len(unit.exercises)} questions.")
    print(f"  for you       {source}")
    print(f"  for learners  {release}\n")
    _tell_where(asked, source.stem)
    if wanted:
        print(_for_these(unit, wanted))
    print(describe(separation(unit, tuple(ideas_asked(unit)))))
    return 0


def _for_each(asked: argparse.Namespace, template: Any, own: str) -> int:
    """Write a notebook a person, and say how alike they are."""
    from acidbase_lib.classroom.gradebook.roster import read_roster
    from acidbase_lib.classroom.notebooks.for_each import describe_each, write_for_each

    if in_force().laid_over:
        raise CommandError("--for-each knows the kit's own people and words; leave --school out")
    if asked.as_lesson or asked.for_class is not None or asked.counts is not None:
        raise CommandError("--for-each writes a sitting for each person; it goes with no "
                           "--as-lesson, --counts or --for-class")
    people = {line.learner: line.name for line in read_roster(asked.for_each)}
    made = write_for_each(asked.unit, asked.seed, people, asked.out, read_template(template),
                          force=asked.force, self_marking=asked.self_marking, questions=own)
    print(f"{describe_each(made)}\n\nMark them with: acidbase collect FILES --unit "
          f"{made.source.stem} --course {asked.out} --roster {asked.for_each} --out DIR\n")
    _tell_where(asked, made.source.stem)
    return 0


def _tell_where(asked: argparse.Namespace, name: str) -> None:
    """Say that a form is of a course of its own, where it was not written into the one here."""
    here = forms_folder()
    if here == ELSEWHERE or asked.out.resolve() == here.resolve():
        return
    print(textwrap.fill(
        f"{asked.out} is a course of its own, beside the one here: collect, adjust and term know "
        f"this sitting with --course {asked.out} alone. A term counts one course; to have both "
        "sittings in one, leave --out out. The report compares over courses with: acidbase report "
        f"{asked.out} --unit {name} --before UNIT --before-in .", 100, break_long_words=False,
        break_on_hyphens=False) + "\n")


def _for_class(asked: argparse.Namespace) -> tuple[str, ...]:
    """Return the ideas to choose for; none where no class is named or nothing was found."""
    if asked.for_class is None:
        if asked.last is not None:
            raise CommandError(f"--last {asked.last} says which sitting; name the course folder "
                               "as well, with --for-class")
        return ()
    from acidbase_lib.classroom.report.report import ideas_to_test_again

    from .report import report_of

    wanted = ideas_to_test_again(report_of(asked.for_class, asked.last or asked.unit))
    if not wanted:
        print("The last sitting found no wrong idea; the form is chosen for all of them.")
    return wanted


def _for_these(unit: Unit, wanted: tuple[str, ...]) -> str:
    """Say for which ideas a form was chosen, and how often each can show."""
    lines = ["Chosen to test these again (answers in which each would show):"]
    table = separation(unit, wanted)
    lines += [f"  {table.answers[NONE, idea]:3d}  {named(idea)}" for idea in wanted]
    return "\n".join(lines) + "\n"


def choose_form(unit_id: str, form: int, ideas: tuple[str, ...] = (),
                template: Any = None, as_lesson: bool = False,
                counts: str = "", questions: str = "") -> Unit:
    """Open a unit with the candidates that tell the ideas apart best.

    Parameters
    ----------
    unit_id : str
        The unit.
    form : int
        The seed of the form.
    ideas : tuple of str
        The misconceptions to be told apart; every one of the kit's where left out.
    template : Path or notebook, optional
        The instructor's notebook, whose authored keys count as well.
    as_lesson : bool
        True keeps the questions and their order as the unit has them.
    counts : str
        Which try earns the points in a lesson; as the template has it where left out.
    questions : str
        A school's own, packed.
    """
    from acidbase_lib.classroom.notebooks.write_questions import counts_in, keys_for

    plain = (open_unit(unit_id, form=form, questions=questions) if as_lesson else
             drawn_form(unit_id, form, questions))
    written = None if template is None else read_template(template)
    keys = keys_for(plain, written) if written is not None else {}
    counts = counts or (counts_in(written) if as_lesson and written is not None else MENDED_HALF)
    slots = [[with_key(exercise, *keys[exercise.id]) if exercise.id in keys else exercise
              for exercise in slot]
             for slot in candidates(plain.plan, form)]
    points = [exercise.points for exercise in plain]
    fitting = [[exercise for exercise in slot if exercise.points == worth]
               for slot, worth in zip(slots, points, strict=True)]
    chosen = choose_sitting(fitting, ideas or tuple(MISCONCEPTIONS))
    picks = "".join(PICKS[slot.index(fit[i])]
                    for slot, fit, i in zip(slots, fitting, chosen, strict=True))
    return open_unit(unit_id, form=form, picks=picks, order=plain.order, counts=counts,
                     questions=questions)


def drawn_form(unit_id: str, form: int, questions: str = "") -> Unit:
    """Open a form as it is dealt, before any patient is chosen."""
    order = draw_order(plan_called(unit_id, questions=questions), form)
    return open_unit(unit_id, form=form, order=order, questions=questions)


def write_pair(unit: Unit, out: Path, force: bool = False, template: Any = None,
               self_marking: bool = False, name: str = "") -> tuple[Path, Path]:
    """Write the instructor's and the learners' notebook of a form; return both paths.

    `name` is the assignment's; the unit's with the form's number where left out.

    Raises
    ------
    CommandError
        The form is there already, or a question's key is held by no notebook at hand.
    """
    import nbformat

    from acidbase_lib.classroom.notebooks.build_course import generate_release
    from acidbase_lib.classroom.notebooks.form_sheet import write_sheet
    from acidbase_lib.classroom.notebooks.write_questions import without_self_marking, write_form
    from acidbase_lib.classroom.released_course import course_folder

    name = name or f"{unit.id}_form_{unit.form}"
    source = out / "solutions" / name / f"{name}.ipynb"
    release = out / "course" / name / f"{name}.ipynb"
    unfinished = out / f".{name}.unfinished"  # there while a form is being written
    settings = out / "course" / "nbgrader_config.py"
    for path in (unfinished, settings, source, release.parent):  # a run that was stopped
        heal(path)
    there = next((path for path in (source, release.parent) if os.path.lexists(path)), None)
    if there is not None and not unfinished.exists() and not force:
        raise CommandError(f"{there} is there already; use --force to write it again, or another "
                           "--seed for another form")
    template = template_of(unit.id) if template is None else template
    written = (write_sheet if unit.order else write_form)(read_template(template), unit)
    keyless = [e.id for e in unit if e.key is None and e.kind != "rationale"]
    if keyless:
        raise CommandError(f"{', '.join(keyless)} have keys that only the instructor's notebook "
                           f"holds, and {template} is not it; name yours with --source")
    if not self_marking:
        written = without_self_marking(written)
    with tempfile.TemporaryDirectory() as work, one_at_a_time(out):
        draft = Path(work, "solutions", name, f"{name}.ipynb")
        write_whole(draft, nbformat.writes(written, indent=1) + "\n", durable=False)
        copy_whole(course_folder() / "nbgrader_config.py",
                   Path(work, "course", "nbgrader_config.py"))
        generate_release(Path(work), [name], Path(work, "release"))
        write_whole(unfinished, "a form was being written; write it again\n")
        if not settings.exists():
            copy_whole(course_folder() / "nbgrader_config.py", settings)
        replace_folder(Path(work, "release", name), release.parent)
        with owner_only():  # it holds the key
            copy_whole(draft, source)
        unfinished.unlink()
    return source, release


def read_template(template: Any) -> Any:
    """Return a notebook that forms are written from; one that is read already comes back.

    Raises
    ------
    CommandError
        If the file is no notebook.
    """
    if not isinstance(template, Path):
        return template
    import nbformat

    try:
        data = read_file(template.resolve())
        parse_notebook(data)
        return nbformat.reads(data.decode("utf-8-sig"), as_version=4)
    except UnreadableNotebookError as error:
        raise CommandError(f"{template} cannot be used. {to_the_learner(str(error))}") from None
    except Exception as error:  # nbformat's own checks raise errors of many kinds
        why = " ".join(str(error).split())[:120]
        raise CommandError(f"{template} is no notebook that Jupyter would open ({why})") from None
