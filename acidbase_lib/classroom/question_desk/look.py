"""A question looked at before it is saved: drawn examples, what each option shows, and doubts."""
from __future__ import annotations

import re
from dataclasses import replace
from typing import Any, Final

from acidbase_lib.teaching.handwritten.blocks import read_blocks
from acidbase_lib.teaching.handwritten.question_sheet import WrittenQuestion
from acidbase_lib.teaching.own_questions.as_asked import drawn
from acidbase_lib.teaching.own_questions.faults import OwnUnitError
from acidbase_lib.teaching.own_questions.ideas import idea_called
from acidbase_lib.teaching.own_questions.wish import GAS
from acidbase_lib.teaching.own_questions.written_plan import plan_of_text
from acidbase_lib.teaching.question_check.audit import check_question
from acidbase_lib.teaching.question_check.findings import WEIGHTS, CheckedQuestion, Finding

from .sheet import Sheet

EXAMPLES: Final = 5
NOTHING: Final = ("Nothing was found. That is no verdict: whether the question is good, you and a "
                  "colleague decide.")
_SUGGESTS: Final = re.compile(r"([A-H]) suggests(?:, by its author)?: (.*)")


def look_at(sheet: Sheet, place: int) -> dict[str, Any]:
    """Return what there is to see of one question, as plain values.

    Parameters
    ----------
    sheet : Sheet
        The file as it is on the screen.
    place : int
        Which of its questions, from 0.

    Returns
    -------
    dict
        "faults": why learners cannot be asked it yet; "examples": each with its "stem", its
        "answers" (letter, words, "right" or not, what is said of it) and its "key"; "doubts":
        weight, sentence, mend, and for how many of the examples; "nothing": said where none is.

    Raises
    ------
    QuestionDeskError
        The fields cannot be kept as they stand.
    """
    text = replace(sheet, parts=(sheet.parts[place],)).text
    try:
        plan_of_text("looked_at", text, "this question")
    except OwnUnitError as error:
        faults = [re.sub(r"^question \S+: ", "", fault.sentence) for fault in error.faults]
        return {"faults": faults, "examples": [], "doubts": [], "nothing": "", "same": ""}
    (question,) = read_blocks(text).questions
    many = EXAMPLES if GAS.search(question.text) else 1
    asked = [drawn(question, f"example {number}") for number in range(1, many + 1)]
    checked = [check_question(one) for one in asked]
    doubts = _doubts(checked)
    return {"faults": [], "doubts": doubts, "nothing": "" if doubts else NOTHING,
            "examples": [_example(*pair) for pair in zip(asked, checked, strict=True)],
            "same": "" if many > 1 else "No gas is drawn: each form asks these very numbers."}


def _example(question: WrittenQuestion, checked: CheckedQuestion) -> dict[str, Any]:
    found = {match[1]: match[2] for line in checked.read if (match := _SUGGESTS.match(line))}
    answers = []
    for option in question.options:
        right = option.letter in question.right
        said = [] if right or question.other.order else [_idea(option.suggests)
                                                         or found.get(option.letter, "")]
        says = [f"Suggests: {one}." for one in said if one]
        if not says and not right and not question.other.order:
            says = ["Suggests no idea that the kit knows."]
        answers.append({"letter": option.letter, "text": option.text, "right": right,
                        "says": " ".join(says + ([f"Reason: {option.because}"]
                                                 if option.because else []))})
    return {"stem": question.text, "answers": answers, "key": _key(question)}


def _idea(name: str) -> str:
    """What an idea suggests, as the kit's own reports say it; the author's words elsewhere."""
    from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS

    key = idea_called(name) if name else None
    return name if key is None else MISCONCEPTIONS[key].name.rstrip(".")


def _key(question: WrittenQuestion) -> str:
    other = question.other
    if other.order:
        return " → ".join(other.order)
    if other.number is not None:
        number = other.number
        near = f", and {number.within:g} more or less" if number.within else ""
        return f"{number.value:g} {number.unit}".strip() + near
    if other.lines:
        return "; ".join(f"{line.name}: {line.right}" for line in other.lines)
    if other.looks_for:
        return "A reader looks for: " + "; ".join(other.looks_for)
    return ", ".join(question.right)


def _doubts(checked: list[CheckedQuestion]) -> list[dict[str, Any]]:
    """Each kind of doubt once, and for how many of the drawn patients it holds."""
    seen: dict[tuple[str, str, int], tuple[Finding, int]] = {}
    for one in checked:
        for key in dict.fromkeys((f.weight, f.kind, f.line) for f in one.findings):
            first = next(f for f in one.findings if (f.weight, f.kind, f.line) == key)
            kept, times = seen.get(key, (first, 0))
            seen[key] = kept, times + 1
    rows = sorted(seen.values(), key=lambda row: WEIGHTS.index(row[0].weight))
    return [{"weight": found.weight, "says": found.says, "mend": found.mend,
             "of": f"{times} of {len(checked)} drawn patients" if len(checked) > 1 else ""}
            for found, times in rows]
