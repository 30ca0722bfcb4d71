"""Write a unit's question blocks into its notebook: prompt, chart cell, check cell."""
from __future__ import annotations

import ast
import copy
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import nbformat
from nbformat.v4 import new_code_cell, new_markdown_cell

from acidbase_lib.classroom.headed_tables import headed
from acidbase_lib.reading.telling.filled import refilled
from acidbase_lib.teaching.glossary import in_full, short_forms_in
from acidbase_lib.teaching.laid_over import for_unit, in_words
from acidbase_lib.teaching.questions.answer_text import write_chart
from acidbase_lib.teaching.questions.authored_key import Suggests
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.question_file import UnitError
from acidbase_lib.teaching.questions.which_try import MENDED_HALF
from acidbase_lib.teaching.recipes.deal import PICKS
from acidbase_lib.teaching.unit import Unit

from .model_answer import model_answer

Notebook = Any
Cell = Any

_PLACEHOLDER = re.compile(r"^\{\{(q[\w-]+)\}\}$")
_OPENING = re.compile(r"open_unit\(\s*(['\"])(?P<unit>[\w-]+)\1\s*"
                      r"(?:,\s*form\s*=\s*(?P<form>\d+)\s*)?"
                      r"(?:,\s*picks\s*=\s*(['\"])(?P<picks>[0-9a-z]*)\4\s*)?"
                      r"(?:,\s*order\s*=\s*(['\"])(?P<order>[0-9a-z]*)\6\s*)?"
                      r"(?:,\s*counts\s*=\s*(['\"])(?P<counts>[a-z ]*)\8\s*)?"
                      r"(?:,\s*questions\s*=\s*(['\"])(?P<questions>[\w.=-]*)\10\s*)?"
                      r"(?:,\s*school\s*=\s*'(?P<school>[^'\n]*)'\s*)?\)")
_MARK = re.compile(r"(unit\.mark\(\s*['\"])q[\w-]+(['\"])")
_SELF_MARKING = re.compile(r"^unit\.(review|result|twins)\(", re.MULTILINE)
_WORDS = "-short-forms"
_HIDDEN = re.compile(r"### BEGIN HIDDEN TESTS\n(.*?)\n### END HIDDEN TESTS", re.DOTALL)


class FormError(ValueError):
    """A notebook cannot take a unit's questions; says which question and why."""


def write_form(notebook: Notebook, unit: Unit, keys_from: Notebook | None = None) -> Notebook:
    """Return a copy of a unit's notebook with the question blocks of the unit's form.

    Parameters
    ----------
    notebook : NotebookNode
        A unit's notebook: each question is a Markdown cell ``{{q2-1}}``, or the three cells that
        an earlier call wrote.
    unit : Unit
        The open unit; its form is written into the setup cell.
    keys_from : NotebookNode, optional
        Where the authored keys stand, if in another notebook than this one.

    Raises
    ------
    FormError
        A question has no place in the notebook, or a place has no question.
    """
    written = copy.deepcopy(notebook)
    held = notebook if keys_from is None else keys_from
    kept_keys, stands = hidden_lines(held), standing_in(unit, held)
    know_keys(unit, held)
    texts = {gid: cell.source for cell in held.cells if (gid := grade_id(cell))}
    cells: list[Cell] = []
    placed: set[str] = set()
    for cell in written.cells:
        question = _question_at(cell)
        if question is None:
            cells.append(_with_form(cell, unit))
        elif question not in unit.exercises:
            raise FormError(f"The notebook holds a place for {question!r}, but {unit.id} has no "
                            f"such question. It has {', '.join(unit.exercises)}.")
        elif question not in placed:
            placed.add(question)
            exercise, there = unit.exercises[question], stands.get(question, question)
            hidden = kept_keys.get(f"{there}-check")
            cells.extend(block(exercise, hidden and _MARK.sub(rf"\g<1>{question}\g<2>", hidden),
                               *(texts.get(f"{there}-{part}", "") for part in
                                 ("prompt", "answer"))))
    missing = [question for question in unit.exercises if question not in placed]
    if missing:
        raise FormError(f"The notebook has no place for {missing[0]!r}: add a Markdown cell "
                        f"{{{{{missing[0]}}}}} where it belongs.")
    write_short_forms(cells)
    written.cells = cells
    hide_code(written)
    nbformat.validate(written)
    return written


def hide_code(notebook: Notebook) -> None:
    """Have the front end show what code cells draw, not their text; a press shows the text."""
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.metadata["jupyter"] = {**cell.metadata.get("jupyter", {}), "source_hidden": True}


def hidden_lines(notebook: Notebook) -> dict[str, str]:
    """Return the hidden lines of an instructor's notebook, by the check cell's grade id."""
    return {gid: hidden[1] for cell in notebook.cells if (gid := grade_id(cell))
            and (hidden := _HIDDEN.search(cell.source))}


def know_keys(unit: Unit, notebook: Notebook) -> tuple[str, ...]:
    """Put the authored keys of an instructor's notebook into its unit.

    The hidden lines are read as data, never run.

    Returns
    -------
    tuple of str
        The questions that still have no key, and wait for a person.

    Raises
    ------
    FormError
        A hidden line cannot be read, or its key does not fit the question.
    """
    for question, (key, suggests) in keys_for(unit, notebook).items():
        if question in unit.exercises:
            try:
                unit.know(question, key, suggests)
            except (UnitError, TypeError, AttributeError) as error:
                raise FormError(f"{question}: the authored key does not fit. {error}") from None
    return tuple(exercise.id for exercise in unit if exercise.key is None)


def keys_for(unit: Unit, notebook: Notebook) -> dict[str, tuple[Any, Suggests | None]]:
    """Return the authored keys by the place in which their question stands in this unit's form."""
    stands = standing_in(unit, notebook)
    keys = authored_keys(notebook)
    return {place: keys[there] for place, there in stands.items() if there in keys}


def standing_in(unit: Unit, notebook: Notebook) -> dict[str, str]:
    """Return where a notebook asks what each place of a unit's form asks, by its opening line."""
    found = next((o for cell in notebook.cells if (o := opening_of(cell.source))), None)
    places = list(unit.origins)
    order = found[3] if found else ""
    there = {(places[PICKS.index(letter)] if order else place): place
             for place, letter in zip(places, order or PICKS, strict=False)}
    return {place: there[origin] for place, origin in unit.origins.items() if origin in there}


def authored_keys(notebook: Notebook) -> dict[str, tuple[Any, Suggests | None]]:
    """Return the keys in an instructor's hidden lines, with what wrong choices suggest."""
    return {question: (given["key"], given.get("suggests"))
            for gid, lines in hidden_lines(notebook).items()
            for question, given in _authored(gid, lines)}


def without_self_marking(notebook: Notebook) -> Notebook:
    """Return a copy without the cells by which learners mark themselves, and what tells of them.

    That is each ``unit.review()``, ``unit.twins()`` and ``unit.result()``, and prose whose grade
    id ends in "-alone".
    """
    left = copy.deepcopy(notebook)
    left.cells = [cell for cell in left.cells if not (
        (grade_id(cell) or "").endswith("-alone")
        or (cell.cell_type == "code" and _SELF_MARKING.search(cell.source)))]
    return left


def _authored(gid: str, lines: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield the question and the arguments of each ``unit.mark("q7-1", key=...)``."""
    if "key=" not in lines:
        return
    try:
        for call in ast.walk(ast.parse(lines)):
            if (isinstance(call, ast.Call) and isinstance(call.func, ast.Attribute)
                    and call.func.attr == "mark" and call.args):
                given = {word.arg: ast.literal_eval(word.value) for word in call.keywords
                        if word.arg}
                if "key" in given:
                    yield ast.literal_eval(call.args[0]), given
    except (SyntaxError, ValueError) as error:
        raise FormError(f"{gid}: the hidden lines cannot be read as data ({error}). Write the key "
                        'as words: unit.mark("q7-1", key="sit up").') from None


def block(exercise: Exercise, hidden: str | None = None, asked: str = "", before: str = "",
          ) -> Iterator[Cell]:
    """Yield a question's cells: prompt, chart cell with the right values, check cell.

    Parameters
    ----------
    exercise : Exercise
        The question.
    hidden : str, optional
        The hidden lines of an earlier check cell, kept when they hold an authored key.
    asked, before : str
        An earlier prompt and answer cell; see ``model_answer``.
    """
    qid = exercise.id
    prompt = new_markdown_cell(headed(exercise.prompt), id=f"{qid}-prompt")
    prompt.metadata["nbgrader"] = _grading(f"{qid}-prompt", locked=True)
    yield prompt
    answer = new_code_cell(write_chart(qid, exercise.fields, exercise.key), id=f"{qid}-answer")
    if exercise.kind == "rationale":
        answer.source = model_answer(exercise, asked, before)
        answer.metadata["nbgrader"] = _grading(f"{qid}-answer", grade=True, solution=True,
                                               points=exercise.points)
        yield answer
        return
    answer.metadata["nbgrader"] = _grading(f"{qid}-answer", solution=True)
    yield answer
    lines = hidden if hidden is not None and "key=" in hidden else f'unit.mark("{qid}")'
    check = new_code_cell(f'unit.check("{qid}")\n### BEGIN HIDDEN TESTS\n{lines}\n'
                          "### END HIDDEN TESTS", id=f"{qid}-check")
    check.metadata["nbgrader"] = _grading(f"{qid}-check", grade=True, locked=True,
                                          points=exercise.points)
    yield check


def grade_id(cell: Cell) -> str | None:
    """Return a cell's grade id, or None."""
    found = cell.metadata.get("nbgrader", {}).get("grade_id")
    return found if isinstance(found, str) else None


def opening_of(source: str) -> tuple[str, int, str, str, str] | None:
    """Return the unit id, form, picks, order and counted try that a setup cell opens, or None."""
    found = _OPENING.search(source)
    return (found["unit"], int(found["form"] or 1), found["picks"] or "",
            found["order"] or "", found["counts"] or MENDED_HALF) if found else None


def school_in(notebook: Notebook) -> str:
    """Return the school's settings that a notebook's setup cell carries; empty for none."""
    found = next((o for cell in notebook.cells if (o := _OPENING.search(cell.source))), None)
    return str(ast.literal_eval(f"'{found['school']}'")) if found and found["school"] else ""


def counts_in(notebook: Notebook) -> str:
    """Return which try a notebook's setup cell counts."""
    return next((o[4] for cell in notebook.cells if (o := opening_of(cell.source))), MENDED_HALF)


def opening(unit: Unit) -> str:
    """Return the call that opens a unit, as it stands in the setup cell."""
    picks = f', picks="{unit.picks}"' if unit.picks else ""
    order = f', order="{unit.order}"' if unit.order else ""
    counts = f', counts="{unit.counts}"' if unit.counts != MENDED_HALF else ""
    own = f', questions="{unit.plan.carried}"' if unit.plan.carried else ""
    light = replace(unit.settings, laid_over=for_unit(unit.settings.laid_over, unit.id))
    carried = light.for_notebook().replace("\\", "\\\\")
    school = f", school='{carried}'" if carried else ""
    return f'open_unit("{unit.id}", form={unit.form}{picks}{order}{counts}{own}{school})'


def _question_at(cell: Cell) -> str | None:
    placeholder = _PLACEHOLDER.match(cell.source.strip())
    if placeholder:
        return placeholder[1]
    gid = grade_id(cell) or ""
    question, _, part = gid.rpartition("-")
    return question if part in {"prompt", "answer", "check"} and question.startswith("q") else None


def _with_form(cell: Cell, unit: Unit) -> Cell:
    if cell.cell_type == "code" and _OPENING.search(cell.source):
        cell.source = _OPENING.sub(lambda _: opening(unit), cell.source)
    elif cell.cell_type == "markdown":
        text, key = cell.source, f"lessons/{unit.id}#{grade_id(cell)}"
        if unit.settings.laid_over:
            text = in_words(key, text, unit.settings.laid_over)
        cell.source = headed(refilled(text, unit.settings))
    return cell


def write_short_forms(cells: list[Cell]) -> None:
    """Into the cell whose grade id ends in "-short-forms": each short form of the unit, in full."""
    text = "\n".join(cell.source for cell in cells if cell.cell_type == "markdown"
                     and not (grade_id(cell) or "").endswith(_WORDS))
    for cell in cells:
        if (grade_id(cell) or "").endswith(_WORDS):
            cell.source = in_full(short_forms_in(text))


def locked(cell: Cell, gid: str) -> Cell:
    """Return the cell with a name, not to be edited."""
    cell.metadata |= {"nbgrader": _grading(gid, locked=True), "editable": False, "deletable": False}
    return cell


def _grading(gid: str, *, grade: bool = False, solution: bool = False, locked: bool = False,
             points: float | None = None) -> dict[str, Any]:
    entry = {"schema_version": 3, "grade_id": gid, "grade": grade, "solution": solution,
             "locked": locked, "task": False}
    return entry | ({"points": points} if points is not None else {})
