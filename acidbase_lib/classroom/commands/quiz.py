"""Write a unit as a quiz for a learning platform: a QTI package.

QTI is the open standard by which quizzes move between platforms. The package
holds the questions with keys, partial points and feedback. A question that QTI
cannot mark as the kit does is left out, and listed here and inside the package.
The same seed writes the same patients as `acidbase form`.
"""
from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.exports.qti_package import Quiz, quiz
from acidbase_lib.classroom.exports.qti_xml import VERSIONS
from acidbase_lib.classroom.phrases import number_of
from acidbase_lib.classroom.private import owner_only
from acidbase_lib.classroom.short_names import unit_called
from acidbase_lib.teaching.questions.exercise import points_in_words

from .form import choose_form, read_template, template_at_hand
from .school.own_unit import own_questions


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What may follow ``acidbase quiz``."""
    parser.add_argument("unit", type=unit_called,
                        help="which unit, such as 02_primary_disorder or 02")
    parser.add_argument("--seed", type=int, default=1, metavar="N",
                        help="another number gives other patients (default: 1)")
    parser.add_argument("--out", type=Path, required=True, metavar="FILE.zip",
                        help="the package to write")
    parser.add_argument("--version", choices=VERSIONS, default="3.0",
                        help="which QTI your platform reads (default: %(default)s)")
    parser.add_argument("--source", type=Path, metavar="FILE",
                        help="your own notebook of the unit, with the keys that you hold "
                             "(default: the one in `solutions/` beside the course)")
    parser.add_argument("--settings", type=Path, metavar="FILE",
                        help="your school's ranges and oxygen targets, a TOML file")


def run(asked: argparse.Namespace) -> int:
    """Write the package and say what is in it and what is not."""
    if asked.out.suffix.lower() != ".zip" or asked.out.is_dir():
        raise CommandError(f"--out {asked.out} is to be a file whose name ends in .zip")
    if own := own_questions(asked):
        unit, models = own_unit_of_quiz(asked.unit, asked.seed, own)
    else:
        unit, models = unit_of_quiz(asked.unit, asked.seed, asked.source)
    made = quiz(unit, asked.version, models)
    with owner_only():  # it holds the key
        write_whole(asked.out, made.zipped())
    print(f"{unit.title}: {len(made.held)} questions, {points_in_words(made.points)}, "
          f"form {unit.form}, QTI {asked.version}.\n  {asked.out}")
    for line in _notes(made):
        print(line)
    return 0


def unit_of_quiz(name: str, seed: int, source: Path | None) -> tuple[Any, Mapping[str, str]]:
    """Return the unit that a quiz is made of, its authored keys known, and its model answers."""
    template = template_at_hand(name, source)
    unit = choose_form(name, seed, template=template)
    if template is None:
        return unit, {}
    from acidbase_lib.classroom.notebooks.write_questions import know_keys

    notebook = read_template(template)
    know_keys(unit, notebook)
    return unit, model_answers(unit, notebook)


def own_unit_of_quiz(name: str, seed: int, questions: str) -> tuple[Any, Mapping[str, str]]:
    """Return a school's own unit for a quiz, and its author's model answers."""
    unit = choose_form(name, seed, questions=questions)
    return unit, {one.id: "\n".join(one.model_call) for one in unit if one.model_call}


def model_answers(unit: Any, notebook: Any) -> dict[str, str]:
    """Return the author's model answers to the written questions, read from a notebook.

    A model answer tells of one patient: it is left out of a form in which another one is asked of.
    """
    from acidbase_lib.classroom.notebooks.question_versions import same_prompt
    from acidbase_lib.classroom.notebooks.write_questions import grade_id
    from acidbase_lib.teaching.questions.answer_text import parse_chart

    texts = {grade_id(cell): cell.source for cell in notebook.cells}
    found = {}
    for exercise in unit:
        same = same_prompt(texts.get(f"{exercise.id}-prompt", ""), exercise.prompt)
        if exercise.kind == "rationale" and same:
            values = parse_chart(texts.get(f"{exercise.id}-answer", ""), exercise.fields).values
            found[exercise.id] = "\n".join(str(value) for value in values.values())
    return found


def _notes(made: Quiz) -> list[str]:
    lines = []
    if made.by_hand:
        lines.append("Scored by a person: "
                     f"{', '.join(map(number_of, made.by_hand))} (written answers, and questions "
                     "whose key no notebook at hand holds; name yours with --source).")
    lines += [f"Not in the package: {number_of(one)}, because {reason}."
              for one, reason in made.left_out.items()]
    return lines or ["Every question of the unit is in it and scores itself."]
