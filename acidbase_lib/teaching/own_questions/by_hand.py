"""The recipe of a question that somebody wrote: its own words, its own key, a gas drawn if wished.

In a form that was dealt anew the options come in another order, unless they speak of each other.
"""
from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from acidbase_lib.teaching.explanations.gas_table import gas_table
from acidbase_lib.teaching.feedback.option_reasons import Reasons, several
from acidbase_lib.teaching.handwritten.question_sheet import WrittenOption, WrittenQuestion
from acidbase_lib.teaching.patients.cases import draw_case
from acidbase_lib.teaching.questions.exercise import Answers, Exercise, ExerciseKind
from acidbase_lib.teaching.questions.fields import Choice, Field
from acidbase_lib.teaching.questions.prompt import prompt_text
from acidbase_lib.teaching.questions.question_file import BY_HAND, Question, UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom

from .ideas import idea_called
from .wish import GAS, PATIENT

_LETTERS: Final = "ABCDEFGH"
_PH = re.compile(r"\bpH\D{0,12}\d")
#: Options that speak of others by their letter or their place keep the order they were written in.
_OF_OTHERS = re.compile(r"(?i:\b(?:all|none|both|neither|either) of (?:the|these|them)\b)"
                        r"|(?i:\bthe above\b)|\b(?:option|choice|answer)s? [A-H]\b"
                        r"|(?<!\w )\b[B-H]\b"
                        r"|\bA (?:and|or|&) [B-H]\b|\b(?:first|last|second|previous) option\b")


def written_by_hand(question: Question, draw: SeededRandom) -> Exercise:
    """A question in its author's own words; a gas is drawn where the stem wishes for one."""
    written = question.more.get("written")
    if not isinstance(written, WrittenQuestion):
        raise UnitError(f"{question.id}: the recipe {BY_HAND!r} is for questions in plain text.")
    stem = _stem(written, question, draw)
    options = _dealt(written, question, draw)
    kind, fields, key, reasons, within = _answer(written, options)
    if options:
        stem += "\n\n" + "\n".join(f"- {choice.shown}" for choice in fields[0].choices)
    points = float(written.other.points or _usual_points(kind, written))
    return Exercise(
        question.id, kind, points, prompt_text(question.id, points, kind, stem), fields,
        None if kind == "rationale" else MappingProxyType(dict(key)),
        tuple(line for line in (written.because,) if line),
        MappingProxyType(_predicted(written, options, key)), MappingProxyType(dict(within)),
        model_call=tuple(line for line in written.other.model.split("\n") if line.strip("-")),
        ticks=written.other.looks_for, **several(reasons))


def _stem(written: WrittenQuestion, question: Question, draw: SeededRandom) -> str:
    """The stem, a blank line where the file has one; the wish becomes a table of results."""
    pieces: list[str] = []
    last = written.stem[0].number if written.stem else 0
    for line in written.stem:
        pieces.append(("\n\n" if line.number > last + 1 else "\n" if pieces else "") + line.text)
        last = line.number
    text = "".join(pieces)
    if question.wishes:
        case = draw_case(**draw.pick(question.wishes), seed=draw.seed)
        text = PATIENT.sub(lambda _: case.vignette, text)
        text = GAS.sub(lambda _: f"\n\n{gas_table(case.gas)}\n\n", text)
    if written.ranges not in written.text and (question.wishes or _PH.search(written.text)):
        text += f"\n\nRanges: {written.ranges.strip().rstrip('.')}."
    return re.sub(r"[ \t]*\n[ \t]*(?:\n[ \t]*)+", "\n\n", text).strip()


def _dealt(written: WrittenQuestion, question: Question, draw: SeededRandom,
           ) -> list[tuple[str, WrittenOption]]:
    """The options with the letters under which they are asked."""
    options = list(written.options)
    told = " ".join([written.because, *(o.text for o in options), *(o.because for o in options)])
    if question.origin and not _OF_OTHERS.search(told):
        options = draw.shuffled(options)
    return list(zip(_LETTERS, options, strict=False))


Answer = tuple[ExerciseKind, tuple[Field, ...], Answers, Mapping[str, Reasons], Mapping[str, float]]


def _answer(written: WrittenQuestion, options: list[tuple[str, WrittenOption]]) -> Answer:
    """Kind, fields, key, reasons and tolerance of what is asked for."""
    other = written.other
    if other.number is not None:
        asked = Field("answer", "number", unit=other.number.unit or None)
        return ("number", (asked,), {"answer": other.number.value},
                {"answer": Reasons({}, written.because)}, {"answer": other.number.within})
    if other.lines:
        fields = tuple(Field(line.name, "one", tuple(map(Choice, line.choices)))
                       for line in other.lines)
        return ("several parts", fields, {line.name: line.right for line in other.lines},
                {line.name: Reasons({}, written.because) for line in other.lines}, {})
    if other.model or other.looks_for:
        return "rationale", (Field("answer", "text"),), {}, {}, {}
    choices = tuple(Choice(letter, option.text) for letter, option in options)
    whys = {letter: option.because for letter, option in options if option.because}
    reasons = {"answer": Reasons(whys, written.because)}
    now = {option.letter: letter for letter, option in options}
    if other.order:
        return ("put in order", (Field("answer", "order", choices),),
                {"answer": tuple(now[letter] for letter in other.order)}, reasons, {})
    right = tuple(letter for letter, option in options if option.letter in written.right)
    if len(right) > 1:
        return "select all", (Field("answer", "many", choices),), {"answer": right}, reasons, {}
    return "choose one", (Field("answer", "one", choices),), {"answer": right[0]}, reasons, {}


def _usual_points(kind: ExerciseKind, written: WrittenQuestion) -> int:
    if kind == "rationale":
        return len(written.other.looks_for)
    if kind == "several parts":
        return len(written.other.lines)
    return len(written.right) if kind == "select all" else 1


def _predicted(written: WrittenQuestion, options: list[tuple[str, WrittenOption]],
               key: Answers) -> dict[str, Answers]:
    """What each idea that an option names would answer."""
    found: dict[str, Answers] = {}
    for letter, option in options:
        idea = idea_called(option.suggests) if option.suggests else None
        right = key.get("answer")
        if idea is None or option.letter in written.right:
            continue
        if isinstance(right, tuple):
            held = found.get(idea, key)["answer"]
            chosen = {*(held if isinstance(held, tuple) else ()), letter}
            found[idea] = {"answer": tuple(one for one, _ in options if one in chosen)}
        else:
            found.setdefault(idea, {"answer": letter})
    return found
