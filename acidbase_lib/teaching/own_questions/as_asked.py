"""Written questions as a learner meets them: where one wishes for a gas, a patient is drawn."""
from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from acidbase_lib.teaching.explanations.gas_table import gas_line
from acidbase_lib.teaching.handwritten.open_sheet import read_file
from acidbase_lib.teaching.handwritten.question_sheet import (
    SheetLine,
    WrittenFile,
    WrittenQuestion,
)
from acidbase_lib.teaching.patients.cases import CaseRequestError, draw_case

from .wish import GAS, PATIENT, wish_in


def as_asked(path: Path) -> WrittenFile:
    """Read a file of questions with a gas drawn for each wish, so that a check has its numbers.

    Raises
    ------
    UnreadableError
        If the file holds no questions that can be read.
    """
    written = read_file(path)
    return replace(written, questions=tuple(map(drawn, written.questions)))


def drawn(question: WrittenQuestion, draw: str = "check") -> WrittenQuestion:
    """One question with its wish granted; a wish that cannot be stays, for its own check to say.

    Another word for `draw` gives another patient.
    """
    found = GAS.search(question.text)
    if found is None:
        return question
    try:
        case = draw_case(**wish_in(found[1]), seed=f"{question.name}|{draw}")
    except CaseRequestError:
        return question
    stem = tuple(SheetLine(line.number, PATIENT.sub(
        lambda _: case.vignette, GAS.sub(lambda _: gas_line(case.gas), line.text)))
        for line in question.stem)
    return replace(question, stem=stem)
