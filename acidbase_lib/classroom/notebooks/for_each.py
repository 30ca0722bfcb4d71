"""A class's own numbers written: a notebook a person, and who has which, for the instructor."""
from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import nbformat

from acidbase_lib.classroom.atomic_write import copy_whole, write_whole
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.folder_lock import one_at_a_time
from acidbase_lib.classroom.private import owner_only, tighten
from acidbase_lib.classroom.released_course import course_folder
from acidbase_lib.teaching.own_questions.called import plan_called
from acidbase_lib.teaching.questions.question_file import UnitPlan
from acidbase_lib.teaching.recipes.deal import PICKS
from acidbase_lib.teaching.unit import Unit

from .equal_forms import HIGHEST, Kinds, OwnForm, kinds_for_all, own_forms
from .form_sheet import write_sheet
from .own_numbers import SUFFIX, OwnNumbers, OwnSheet, write_numbers
from .own_sheets import MEASURES, MadeSheet, SheetMaker
from .write_questions import without_self_marking

MANY = 100  # notebooks from which a second process earns back the time it takes to start
_SAFE = re.compile(r"[^A-Za-z0-9@._-]")


@dataclass(frozen=True, slots=True)
class MadeForEach:
    """What was written, and how alike the forms are."""

    source: Path
    numbers: Path
    folder: Path
    made: int
    there: int
    kinds: Kinds
    measures: Mapping[str, tuple[float, float]]


def write_for_each(unit_id: str, seed: int, people: Mapping[str, str], out: Path,
                   template: Any, *, force: bool = False,
                   self_marking: bool = False, questions: str = "") -> MadeForEach:
    """Write the instructor's notebook, a notebook a person, and who has which numbers.

    It is drawn by the settings in force; `questions` are a school's own, packed.
    Run again with a longer roster it adds those who are new; nobody's numbers change.

    Raises
    ------
    CommandError
        The same form is there for everybody alike, or was made by another kit.
    """
    if not 1 <= seed <= HIGHEST:
        raise CommandError(f"--seed {seed} is outside 1 to {HIGHEST:,}")
    if not people:
        raise CommandError("the roster names nobody")
    plan = plan_called(unit_id, questions=questions)
    name = f"{unit_id}_form_{seed}"
    source = out / "solutions" / name / f"{name}.ipynb"
    numbers, folder = source.parent.with_name(name + SUFFIX), out / "each" / name
    unit = Unit(plan, seed, "", PICKS[:len(plan.questions)])
    text, maker = _base(template, unit, name, self_marking, questions)
    with one_at_a_time(out):
        kept = {} if force else _kept(numbers, source, plan, seed)
        forms = own_forms(plan, seed, people, {who: form for who, (form, _) in kept.items()})
        files = file_names([*kept, *people], name)
        wanted = [who for who in forms if who not in kept or not (folder / files[who]).is_file()]
        made = {one.sheet.learner: one for one in _made(maker, forms, wanted)}
        for who in set(made) & set(kept):
            if made[who].sheet.packed != kept[who][1].packed:
                raise CommandError(f"{folder / files[who]} is gone, and this version of the kit "
                                   "would make other numbers; put the file back from your backup")
        sheets = [*(sheet for _, sheet in kept.values()),
                  *(one.sheet for who, one in made.items() if who not in kept)]
        rows = [("id", "name", "file", "form"),
                *((one.learner, people.get(one.learner, ""), files[one.learner], str(one.form))
                  for one in sheets)]
        with owner_only():  # both hold keys
            write_whole(numbers, write_numbers(unit_id, seed, sheets, rows))
            write_whole(source, text)
        settings = out / "course" / "nbgrader_config.py"
        if not settings.exists():
            copy_whole(course_folder() / "nbgrader_config.py", settings)
        for who, one in made.items():
            write_whole(folder / files[who], one.notebook, durable=False)
        tighten([source.parent, numbers])
    spread = zip(*(one.measures for one in made.values()), strict=True)
    return MadeForEach(source, numbers, folder, len(made), len(forms) - len(made),
                       kinds_for_all(plan, seed),
                       {name: (min(all_), max(all_))
                        for name, all_ in zip(MEASURES, spread, strict=False)})


def _base(template: Any, unit: Unit, name: str, self_marking: bool,
          questions: str) -> tuple[str, SheetMaker]:
    """The notebook that the gradebook knows the questions by, and what makes the others."""
    sheet = write_sheet(template, unit)
    if not self_marking:
        sheet = without_self_marking(sheet)
    worth = {unit.origins[exercise.id]: exercise.points for exercise in unit}
    return nbformat.writes(sheet, indent=1) + "\n", SheetMaker(unit.id, name, template, worth,
                                                               self_marking, questions,
                                                               unit.settings.for_notebook())


def _kept(numbers: Path, source: Path, plan: UnitPlan, seed: int,
          ) -> dict[str, tuple[OwnForm, OwnSheet]]:
    """Whom numbers were made for by an earlier run, with their form and their numbers."""

    if not numbers.exists():
        if source.exists():
            raise CommandError(f"{source} is there already, the same for everybody; take another "
                               "--seed, or --force to write over it")
        return {}
    before = OwnNumbers(numbers)
    if (before.unit, before.seed) != (plan.id, seed):
        raise CommandError(f"{numbers} tells of form {before.seed} of {before.unit}; move it away")
    found = {}
    for learner in before.learners:
        sheet = before.sheet(learner)
        assert sheet is not None
        slots = [question.id for question in plan.questions]
        found[learner] = (OwnForm(sheet.form, "".join(PICKS[slots.index(slot)]
                                                      for slot in sheet.slots.values())), sheet)
    return found


def file_names(learners: Sequence[str], name: str) -> dict[str, str]:
    """Return a file's name for each learner: by the id, safe on every system, no two alike."""
    found: dict[str, str] = {}
    taken: set[str] = set()
    for learner in learners:
        if learner in found:
            continue
        safe = _SAFE.sub("_", learner).strip("._") or "learner"
        file, number = f"{safe}_{name}.ipynb", 1
        while file.casefold() in taken:
            number += 1
            file = f"{safe}-{number}_{name}.ipynb"
        taken.add(file.casefold())
        found[learner] = file
    return found


def _made(maker: SheetMaker, forms: Mapping[str, OwnForm],
          wanted: Sequence[str]) -> Iterator[MadeSheet]:
    if len(wanted) < MANY:
        for learner in wanted:
            yield maker.make(learner, forms[learner])
        return
    with _two_processes() as executor:
        yield from executor.map(partial(_make_one, maker), wanted,
                                [forms[learner] for learner in wanted], chunksize=20)


def _make_one(maker: SheetMaker, learner: str, form: OwnForm) -> MadeSheet:
    return maker.make(learner, form)


@contextmanager
def _two_processes() -> Iterator[ProcessPoolExecutor]:
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as executor:
        yield executor


def describe_each(made: MadeForEach) -> str:
    """Say what was written, and how alike the forms are: counted, not claimed."""
    lines = [f"{made.made} notebooks made; {made.there} were there already and stay as they are.",
             f"  for you       {made.source}",
             f"  who has which {made.numbers} (keys too: keep it to yourself)",
             f"  for learners  {made.folder} (a file a person, named by the id)", "",
             "The same in every form, by the unit's plan: what patients are to show, all counted "
             "from among whom a question draws one:"]
    lines += [f"  {count:3d}  {kind}" for kind, count in sorted(
        made.kinds.items(), key=lambda one: (-one[1], one[0]))] or [
        "  the plan names no kind of patient here; the questions ask what they ask of everybody"]
    if made.measures:
        lines += ["What was drawn, from the lowest form to the highest:"]
        lines += [f"  {low:g} to {high:g}  {name}" if low != high else f"  {low:g}  {name} (all)"
                  for name, (low, high) in made.measures.items()]
        lines += ["What the plan leaves open, such as most severities, is drawn: equal kinds are "
                  "no proof of equal difficulty.", "The report's figures say how each question "
                  "served."]
    return "\n".join(lines)
