"""A file of written questions becomes a unit's plan; each fault by line, in a sentence."""
from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Any, Final

from acidbase_lib.teaching.handwritten.open_sheet import read_text
from acidbase_lib.teaching.handwritten.question_sheet import (
    UnreadableError,
    WrittenFile,
    WrittenQuestion,
)
from acidbase_lib.teaching.patients.cases import CaseRequestError
from acidbase_lib.teaching.questions.question_file import BY_HAND, Question, UnitPlan

from .faults import Fault, OwnUnitError
from .ideas import idea_called, nearest_idea
from .wish import GAS, PATIENT, odd_braces, wish_in

MOST_QUESTIONS: Final = 36  # a form names each by one sign
MOST_OPTIONS: Final = 8
LONGEST_STEM: Final = 6_000  # characters
LONGEST_OPTION: Final = 1_000
_TAG = re.compile(r"</?[A-Za-z][^>\n]*>|<!--")


def plan_of_text(unit_id: str, text: str, where: str) -> UnitPlan:
    """Read a file of written questions as a unit.

    Raises
    ------
    OwnUnitError
        Something in it cannot be asked as it stands; every such line is in it.
    """
    try:
        written = read_text(text, where)
    except UnreadableError as error:
        raise OwnUnitError(where, (Fault(1, f"{error}.".replace(where, "the file", 1)),)) from None
    faults = tuple(sorted(_faults(written), key=lambda one: one.line))
    if faults:
        raise OwnUnitError(where, faults)
    title = written.title or unit_id.replace("_", " ").strip().capitalize()
    return UnitPlan(unit_id, title, tuple(
        _question(place, question) for place, question in enumerate(written.questions, 1)))


def _question(place: int, written: WrittenQuestion) -> Question:
    wish = GAS.search(written.text)
    more: Mapping[str, Any] = MappingProxyType({"written": written})
    return Question(f"q{place}", BY_HAND, written.other.points, written.text,
                    (MappingProxyType(wish_in(wish[1])),) if wish else (), more)


def _faults(written: WrittenFile) -> Iterator[Fault]:
    for broken in written.broken:
        yield Fault(broken.line, f"{broken.given}: {broken.sentence.rstrip('.')}.")
    if len(written.questions) > MOST_QUESTIONS:
        yield Fault(written.questions[MOST_QUESTIONS].line,
                    f"a unit has at most {MOST_QUESTIONS} questions, and this file has "
                    f"{len(written.questions)}: share them out over two files.")
    ends = [question.line for question in written.questions[1:]] + [10**9]
    for question, end in zip(written.questions, ends, strict=True):
        told = any(question.line <= broken.line < end for broken in written.broken)
        for line, sentence in _of_one(question, told):
            yield Fault(line, f"question {question.name}: {sentence}")


def _of_one(one: WrittenQuestion, told: bool) -> Iterator[tuple[int, str]]:
    yield from _asked(one, told)
    yield from _gas(one)
    if not one.text.strip():
        yield one.line, "it has no stem: write the question above its options."
    if len(one.text) > LONGEST_STEM:
        yield one.line, f"its stem has {len(one.text):,} characters, more than {LONGEST_STEM:,}."
    for line, text in ((one.line, one.text), *((o.line, o.text) for o in one.options)):
        if found := _TAG.search(text):
            yield line, (f"{found[0][:30]!r} is read as a sign for the web page and would not be "
                         "seen: leave it out, or put a space after '<'.")
    for option in one.options:
        if len(option.text) > LONGEST_OPTION:
            yield option.line, (f"option {option.letter} has more than {LONGEST_OPTION:,} "
                                "characters.")
        if option.suggests and idea_called(option.suggests) is None:
            yield option.line, (f"option {option.letter} suggests {option.suggests[:50]!r}, which "
                                f"is no idea that the kit knows; the nearest is "
                                f"{nearest_idea(option.suggests)!r}.")


def _asked(one: WrittenQuestion, told: bool) -> Iterator[tuple[int, str]]:
    """Whether exactly one thing is asked for, and its answer is there.

    `told` where a broken line has been told of already: the answer may stand in it.
    """
    other, letters = one.other, [option.letter for option in one.options]
    kinds = [name for name, there in (
        ("options with a key", bool(one.right)), ("an order", bool(other.order)),
        ("a number", other.number is not None), ("several lines", bool(other.lines)),
        ("a written answer", bool(other.model or other.looks_for))) if there]
    if len(kinds) > 1:
        yield one.line, f"it asks for {' and '.join(kinds)}: ask for one of them."
    elif not kinds and told:
        return
    elif not kinds:
        yield one.line, ("no answer is given: write 'right: A' under its options (or 'order:', "
                         "'number:', 'line:' or 'write:', as `acidbase audit --guide` shows).")
    elif one.options and kinds[0] not in ("options with a key", "an order"):
        yield one.options[0].line, f"it asks for {kinds[0]}, so it can have no options."
    if letters and len(letters) < 2:
        yield one.options[0].line, "it has one option: write two at least."
    if len(letters) > MOST_OPTIONS:
        yield one.options[MOST_OPTIONS].line, f"it has more than {MOST_OPTIONS} options."
    texts = [" ".join(option.text.casefold().split()) for option in one.options]
    for option, text in zip(one.options, texts, strict=True):
        if not text:
            yield option.line, f"option {option.letter} has no words."
        elif texts.index(text) < letters.index(option.letter):
            yield option.line, (f"option {option.letter} says the same as option "
                                f"{letters[texts.index(text)]}.")
    if (other.model or other.looks_for) and not other.looks_for:
        yield one.line, ("a written answer needs what a reader looks for: write a line 'looks for: "
                         "...' for each point.")


def _gas(one: WrittenQuestion) -> Iterator[tuple[int, str]]:
    wishes = list(GAS.finditer(one.text))
    for found in wishes:
        try:
            wish_in(found[1])
        except CaseRequestError as error:
            yield one.line_of(found.start()), str(error)
    if len(wishes) > 1:
        yield one.line_of(wishes[1].start()), ("a question draws one gas; write the numbers of the "
                                               "other one yourself.")
    if wishes and one.other.number is not None:
        yield one.other.number.line, ("the gas is another one in each form, and this number would "
                                      "stay: write the numbers of the gas yourself.")
    if PATIENT.search(one.text) and not wishes:
        yield one.line, "{patient} is the story of a drawn gas: wish for one with {gas: ...}."
    for text, line in ((one.text, one.line), *((o.text, o.line) for o in one.options)):
        for piece in odd_braces(text):
            yield line, (f"{piece[:40]!r} stands for nothing: in braces you may write {{patient}} "
                         "and a wish, {gas: partially compensated metabolic acidosis, moderate}.")
    for option in one.options:
        if GAS.search(option.text) or PATIENT.search(option.text):
            yield option.line, "a wish stands in the stem, never in an option."
