"""Which version of a question a notebook asks, told by its prompt; no key is used on another."""
from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from acidbase_lib.classroom.headed_tables import piped
from acidbase_lib.classroom.phrases import DECIDE
from acidbase_lib.teaching.questions.answer_text import parse_chart
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.prompt import HEADING, what_it_says
from acidbase_lib.teaching.unit import Unit

from .assignment import AssignmentSource, SourceCell, SourceError, checksum
from .read_notebook import (
    UnreadableNotebookError,
    cell_id_of,
    cells_of,
    grade_id_of,
    is_blank,
    text_of,
)

PROMPT = "-prompt"  # a prompt's grade id is its question's id with this behind it
_NUMBER = re.compile(r"\d+(?:\.\d+)?")


def asked_otherwise(notebook: Mapping[str, Any], prompts: Mapping[str, str]) -> tuple[str, ...]:
    """Return the questions that a learner's notebook was given in another version.

    A prompt that the learner edited is not one: nbgrader's fingerprint no longer fits it then,
    or, where a program has stripped that, the numbers of the question still stand in it.

    Parameters
    ----------
    notebook : mapping
        The learner's notebook.
    prompts : mapping of str to str
        What each question asks now.
    """
    there: dict[str, list[Mapping[str, Any]]] = {}
    for question, cell in _prompts_in(notebook):
        there.setdefault(question, []).append(cell)
    return tuple(question for question, prompt in prompts.items() if question in there
                 and all(_another(cell, question, prompt) for cell in there[question]))


def same_prompt(one: str, other: str) -> bool:
    """True where two prompts read the same, however spaces, heading and tables are written."""
    return what_it_says(piped(one)) == what_it_says(piped(other))


def reads_otherwise(cell: SourceCell, text: str) -> bool:
    """True where a locked cell's text is not the instructor's, nor an older way to write it."""
    if text.strip() in {cell.released.strip(), cell.text.strip()}:
        return False
    return cell.kind != "markdown" or not same_prompt(text, cell.released)


def prompts_of(source: AssignmentSource) -> dict[str, str]:
    """Return what each question of an instructor's notebook asks."""
    return {question: piped(source.by_name[question + PROMPT].text) for question in source.answers
            if question + PROMPT in source.by_name}


def asked_and_answered_otherwise(notebook: Mapping[str, Any], source: AssignmentSource,
                                 texts: Mapping[str, str]) -> tuple[str, ...]:
    """Return the answered questions that a learner's notebook asks otherwise than released.

    None of them is marked: the instructor's key is to another question. The others are.

    Parameters
    ----------
    notebook : mapping
        The learner's notebook.
    source : AssignmentSource
        The instructor's.
    texts : mapping of str to str
        The learner's answers by grade id.

    Raises
    ------
    UnreadableNotebookError
        If they are half of the questions or more: it is another notebook. Whether it is an honest
        mistake, only a person can tell: a prompt and its fingerprint can be rewritten by whoever
        has the file.
    """
    there = asked_otherwise(notebook, prompts_of(source))
    asked = tuple(question for question in there
                  if not is_blank(texts[str(source.answers[question].name)]))
    if asked and 2 * len(there) >= len(source.answers):
        raise UnreadableNotebookError(whole_waits(asked, len(there), len(source.answers)))
    return asked


def whole_waits(asked: Sequence[str], other: int, questions: int) -> str:
    """Say why a whole notebook has no mark where questions in it are others than released."""
    return (f"{DECIDE}the notebook was made for another version or another form of this unit, or "
            f"prompts in it were rewritten. {', '.join(asked)} "
            f"{'ask' if len(asked) > 1 else 'asks'} something else in it than in yours, so your "
            f"key does not fit the answer; {questions - other} of "
            f"{questions} questions are as you released them. A prompt's fingerprint is "
            "no proof: anybody can work it out. Until you decide there is no mark, as if nothing "
            "had been handed in. After an honest mistake, give the learner your version: `acidbase "
            "study` carries the answers to the other questions over. Or mark this file against "
            "the notebook that it was released from.")


def stand_by(unit: Unit, source: AssignmentSource) -> tuple[str, ...]:
    """Let a unit ask and mark as the instructor's notebook does, where the kit has moved on.

    A later kit may draw another patient for a question. What learners were given is what the
    notebook says, and its own answer is the key; the reasons and the ideas that the kit knows
    belong to the other patient and are left out.

    Returns
    -------
    tuple of str
        The questions that the kit itself now asks otherwise.

    Raises
    ------
    SourceError
        If such a question has no answer in the notebook that its form can read.
    """
    moved = {question: prompt for question, prompt in prompts_of(source).items()
             if question in unit.exercises
             and not same_prompt(prompt, unit.exercises[question].prompt)}
    if moved:
        unit.exercises = MappingProxyType({**unit.exercises, **{
            question: _as_written(unit.exercises[question], prompt, source)
            for question, prompt in moved.items()}})
    return tuple(moved)


def _as_written(exercise: Exercise, prompt: str, source: AssignmentSource) -> Exercise:
    # an option's text beside its letter is this kit's, not the notebook's
    fields = tuple(replace(field, choices=tuple(replace(choice, text="", also=())
                                                for choice in field.choices))
                   for field in exercise.fields) if _lettered(exercise) else exercise.fields
    exercise = replace(exercise, prompt=prompt, because=(), predicted=MappingProxyType({}),
                       fields=fields)
    if exercise.kind in {"rationale", "first thought"}:
        return exercise
    answer = parse_chart(source.answers[exercise.id].solution or "", exercise.fields)
    if not answer.complete:
        raise SourceError(
            f"{source.name}: the kit has changed since {exercise.id} was released: it asks of "
            "another patient now, and the instructor's notebook holds no answer to the released "
            f"one that this kit can read. Put the notebook in {source.folder or 'solutions/'} "
            "back as it was when you released it, from your backup, or mark with the version of "
            "the kit that you released with. Nothing was marked, and no mark was changed.")
    return replace(exercise, key=MappingProxyType(dict(answer.values)))


def _lettered(exercise: Exercise) -> bool:
    return any(choice.text for field in exercise.fields for choice in field.choices)


def _prompts_in(notebook: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    for _, cell in cells_of(notebook):
        names = (grade_id_of(cell) or "", cell_id_of(cell) or "")
        found = next((name for name in names if name.endswith(PROMPT)), None)
        head = HEADING.match(text_of(cell) or "") if cell.get("cell_type") == "markdown" else None
        if found is not None:
            yield found.removesuffix(PROMPT), cell
        elif head is not None:
            yield f"q{head['number'].replace('.', '-')}", cell


def _another(cell: Mapping[str, Any], question: str, prompt: str) -> bool:
    text = text_of(cell) or ""
    if same_prompt(text, prompt):
        return False
    kept = _fingerprint(cell)
    if kept is not None:
        name = question + PROMPT
        return kept == checksum(SourceCell("markdown", "locked", text, text, name), text)
    return bool(Counter(_NUMBER.findall(prompt)) - Counter(_NUMBER.findall(text)))


def _fingerprint(cell: Mapping[str, Any]) -> str | None:
    metadata = cell.get("metadata")
    note = metadata.get("nbgrader") if isinstance(metadata, dict) else None
    kept = note.get("checksum") if isinstance(note, dict) else None
    return kept if isinstance(kept, str) else None
