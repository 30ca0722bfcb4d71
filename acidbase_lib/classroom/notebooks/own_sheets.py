"""A notebook for each learner, with patients and an order of their own, and what is kept of it."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from statistics import fmean
from typing import Any

import nbformat

from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import by_settings
from acidbase_lib.teaching.own_questions.called import plan_called
from acidbase_lib.teaching.questions.exercise_record import record_of
from acidbase_lib.teaching.questions.question_file import UnitPlan
from acidbase_lib.teaching.unit import Unit

from .equal_forms import OwnForm, own_unit
from .form_sheet import write_sheet
from .own_numbers import HANDED_TO, OwnSheet, pack
from .release_notebook import released
from .write_questions import FormError, grade_id, without_self_marking

Notebook = Any
#: What the plan knows of how hard a form is, besides the kinds of patients, and how it is counted.
MEASURES = ("lines to answer", "patients", "questions with two disorders",
            "pH to the nearest cut-off, mean")

_NEAR = "distance of pH to a cut-off"


@dataclass(frozen=True, slots=True)
class MadeSheet:
    """One learner's notebook as text, its numbers as they are kept, and how hard it is."""

    sheet: OwnSheet
    notebook: str
    measures: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class SheetMaker:
    """Makes one learner's notebook after another; plain data, so that another process can.

    Parameters
    ----------
    unit_id : str
        The unit.
    name : str
        The assignment's.
    template : dict
        The instructor's notebook of the unit.
    worth : mapping of str to float
        The points of each of the unit's questions.
    self_marking : bool
        Whether the cells by which learners mark themselves are left in.
    questions, school : str
        A school's own questions and settings, as a notebook carries them.
    """

    unit_id: str
    name: str
    template: Notebook
    worth: Mapping[str, float]
    self_marking: bool = False
    questions: str = ""
    school: str = ""

    def make(self, learner: str, own: OwnForm) -> MadeSheet:
        """Make one learner's notebook.

        Raises
        ------
        FormError
            A question's key is held by no notebook at hand.
        EqualFormsError
            The form cannot be worth as much as the others'.
        """
        with by_settings(LabSettings.from_notebook(self.school)):
            return self._made(learner, own)

    def _made(self, learner: str, own: OwnForm) -> MadeSheet:
        unit = own_unit(_plan(self.unit_id, self.questions, self.school), own, self.worth)
        written = write_sheet(self.template, unit)
        if keyless := [e.id for e in unit if e.key is None and e.kind != "rationale"]:
            raise FormError(f"{', '.join(keyless)} of {learner} have keys that the notebook the "
                            "form is written from does not hold.")
        if not self.self_marking:
            written = without_self_marking(written)
        theirs = released(written, self.name)
        theirs.metadata[HANDED_TO] = learner
        theirs.cells[0].source += _made_for(learner)
        own_text = {name: cell.source for cell in theirs.cells
                    if (name := grade_id(cell)) and not name.startswith("q")}
        sheet = OwnSheet(learner, own.form, dict(unit.origins),
                         pack([record_of(exercise) for exercise in unit], own_text))
        return MadeSheet(sheet, nbformat.writes(theirs, indent=1) + "\n", measures_of(unit))


def _made_for(learner: str) -> str:
    shown = learner.replace("`", "'")
    return (f"\n\nMade for `{shown}`. Everyone has other patients, in another order: another "
            "person's answers do not fit yours.")


def measures_of(unit: Unit) -> tuple[float, ...]:
    """Return what the plan knows of how hard a form is; see ``MEASURES``."""
    known = [exercise.drivers for exercise in unit]  # each recipe tells what it knows
    near = [float(one[_NEAR]) for one in known if _NEAR in one]
    return (float(sum(len(exercise.fields) for exercise in unit)),
            float(sum(int(one.get("gases", 0)) for one in known)),
            float(sum(bool(one.get("second disorder")) for one in known)),
            round(fmean(near), 3) if near else 0.0)


_PLANS: dict[tuple[str, str, str], UnitPlan] = {}


def _plan(unit_id: str, questions: str, school: str) -> UnitPlan:
    """A unit's plan, read once in each process and for each school."""
    asked = (unit_id, questions, school)
    if asked not in _PLANS:
        _PLANS[asked] = plan_called(unit_id, questions=questions)
    return _PLANS[asked]
