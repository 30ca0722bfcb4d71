"""One written question as the fields of a form, and the fields as lines of the file."""
from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from types import MappingProxyType
from typing import Any, Final

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.teaching.handwritten.blocks import read_blocks
from acidbase_lib.teaching.handwritten.question_sheet import WrittenQuestion

ONE, ALL, ORDER, NUMBER, LINES, WRITTEN = "one", "all", "order", "number", "lines", "written"
#: Kind and how an instructor reads it.
KINDS: Final[Mapping[str, str]] = MappingProxyType({
    ONE: "choose one", ALL: "select all that are right", ORDER: "put in order",
    NUMBER: "a number", LINES: "several lines", WRITTEN: "a written answer"})
_LETTERS: Final = "ABCDEFGH"


class QuestionDeskError(CommandError):
    """Something that the question desk cannot do as it stands; the text says what to change."""


@dataclass(frozen=True, slots=True)
class OptionFields:
    """One option: its words, whether it is right, a reason, an idea, and its place in an order."""

    text: str = ""
    right: bool = False
    because: str = ""
    suggests: str = ""
    place: str = ""


@dataclass(frozen=True, slots=True)
class Fields:
    """All that the form asks of one question; each is a text, as it was typed."""

    name: str = "1"
    kind: str = ONE
    stem: str = ""
    options: tuple[OptionFields, ...] = ()
    number: str = ""
    unit: str = ""
    within: str = ""
    lines: str = ""
    model: str = ""
    looks: str = ""
    because: str = ""
    points: str = ""
    ranges: str = ""
    notes: str = ""


def fields_of(question: WrittenQuestion, raw: str, own_ranges: bool = False) -> Fields:
    """Return the fields of a question that was read.

    Parameters
    ----------
    question : WrittenQuestion
        The question.
    raw : str
        Its lines in the file, for the author's own notes in them.
    own_ranges : bool
        Whether it states ranges of its own under its options.
    """
    other = question.other
    kind = (NUMBER if other.number else LINES if other.lines else ORDER if other.order else
            WRITTEN if other.model or other.looks_for else ALL if len(question.right) > 1 else ONE)
    number = other.number
    return Fields(
        question.name, kind, _stem(question),
        tuple(OptionFields(one.text, one.letter in question.right, one.because, one.suggests,
                           str(other.order.index(one.letter) + 1) if other.order else "")
              for one in question.options),
        f"{number.value:.10g}" if number else "", number.unit if number else "",
        f"{number.within:.10g}" if number and number.within else "",
        "\n".join(_line(one.name, one.choices, one.right) for one in other.lines),
        other.model, "\n".join(other.looks_for), question.because,
        "" if other.points is None else f"{other.points:.10g}",
        question.ranges if own_ranges else "",
        "\n".join(re.sub(r"^\s*(#|//)\s?", "", line) for line in raw.split("\n")
                  if re.match(r"\s*(#(?!\s?\d)|//)", line)))


def text_of(given: Fields) -> str:
    """Return a question's lines in the form that ``acidbase audit --guide`` prints.

    Raises
    ------
    QuestionDeskError
        A field is missing, or its words would be read as something else.
    """
    text = "\n".join(_lines_of(given)) + "\n"
    found = read_blocks(text)
    if found.broken:
        broken = found.broken[0]
        raise QuestionDeskError(f"{broken.given}: {broken.sentence.rstrip('.')}.")
    if len(found.questions) == 1:
        back = fields_of(found.questions[0], text, bool(given.ranges.strip()))
        differs = [one.name for one in fields(Fields)
                   if getattr(back, one.name) != getattr(_tidy(given), one.name)]
    else:
        differs = ["stem"]
    if differs:
        raise QuestionDeskError(
            f"In {_NAMES[differs[0]]} a line would be read as something else: no line may begin as "
            "an option (A.), as a question (2.), with # or with a word such as “right:”; and an "
            "option cannot end in “(right)” or *. Begin that line with another word.")
    return text


_NAMES: Final = MappingProxyType({
    "name": "the number of the question", "kind": "the kind", "stem": "the stem",
    "options": "an option, its reason or its idea", "number": "the number", "unit": "the unit",
    "within": "“within”", "lines": "the lines", "model": "the model answer",
    "looks": "what a reader looks for", "because": "the reason", "points": "the points",
    "ranges": "the ranges", "notes": "your notes"})


def _lines_of(given: Fields) -> Iterator[str]:
    tidy = _tidy(given)
    if not tidy.stem:
        raise QuestionDeskError("Write the stem first: what the learner reads.")
    first, *more = tidy.stem.split("\n")
    yield f"{tidy.name}. {first}"
    yield from more
    options = tidy.options
    if tidy.kind in (ONE, ALL, ORDER):
        if len(options) < 2:
            raise QuestionDeskError("Write two options at least.")
        for letter, option in zip(_LETTERS, options, strict=False):
            yield f"{letter}. {option.text}"
    yield from _key(tidy)
    if tidy.because:
        yield f"because: {tidy.because}"
    for letter, option in zip(_LETTERS, options, strict=False):
        if option.because:
            yield f"because {letter}: {option.because}"
        if option.suggests:
            yield f"suggests {letter}: {option.suggests}"
    if tidy.points:
        yield f"points: {tidy.points}"
    if tidy.ranges:
        yield f"ranges: {tidy.ranges}"
    for note in tidy.notes.split("\n") if tidy.notes else ():
        yield f"# {note}"


def _key(given: Fields) -> Iterator[str]:
    right = [letter for letter, option in zip(_LETTERS, given.options, strict=False)
             if option.right]
    match given.kind:
        case "one" if len(right) != 1:
            raise QuestionDeskError(f"Choose one: tick the one option that is right; {len(right)} "
                                    "are ticked.")
        case "all" if len(right) < 2:
            raise QuestionDeskError("Select all: tick every option that is right, two at least; "
                                    f"{len(right)} are ticked.")
        case "one" | "all":
            yield f"right: {', '.join(right)}"
        case "order":
            places = [option.place for option in given.options]
            if sorted(places) != [str(n) for n in range(1, len(places) + 1)]:
                raise QuestionDeskError("Put in order: give each option its place, each of 1 to "
                                        f"{len(places)} once.")
            order = sorted(zip(places, _LETTERS, strict=False))
            yield f"order: {', '.join(letter for _, letter in order)}"
        case "number":
            if not given.number:
                raise QuestionDeskError("Write the number that is right.")
            within = f", within {given.within}" if given.within else ""
            yield f"number: {given.number}{' ' + given.unit if given.unit else ''}{within}"
        case "lines":
            if not given.lines:
                raise QuestionDeskError("Write a line for each answer: pH = low (right) / normal "
                                        "/ high")
            yield from (f"line: {one}" for one in given.lines.split("\n"))
        case "written":
            if not given.looks:
                raise QuestionDeskError("Write what a reader looks for, one thing a line.")
            yield from (f"write: {one}" for one in given.model.split("\n") if one)
            yield from (f"looks for: {one}" for one in given.looks.split("\n"))
        case _:
            raise QuestionDeskError(f"{given.kind[:40]!r} is no kind of question.")


def _tidy(given: Fields) -> Fields:
    """The fields as the file can hold them: single spaces, and nothing of another kind."""
    def flat(text: str) -> str:
        return " ".join(text.split())

    def rows(text: str) -> str:
        return "\n".join(filter(None, map(flat, text.split("\n"))))

    chosen = given.kind in (ONE, ALL, ORDER)
    options = tuple(OptionFields(
        flat(one.text), one.right and given.kind != ORDER, flat(one.because), flat(one.suggests),
        flat(one.place) if given.kind == ORDER else "") for one in given.options
        if flat(one.text)) if chosen else ()
    stem = re.sub(r"\n{3,}", "\n\n", "\n".join(map(flat, given.stem.split("\n")))).strip("\n")
    empty: dict[str, Any] = {} if given.kind == NUMBER else {"number": "", "unit": "", "within": ""}
    empty |= {"lines": ""} if given.kind != LINES else {"lines": rows(given.lines)}
    empty |= ({"model": rows(given.model), "looks": rows(given.looks)} if given.kind == WRITTEN
              else {"model": "", "looks": ""})
    if given.kind == NUMBER:
        empty |= {name: flat(getattr(given, name)) for name in ("number", "unit", "within")}
    return replace(given, stem=stem, options=options, because=flat(given.because),
                   points=flat(given.points), ranges=flat(given.ranges),
                   notes=rows(given.notes), name=flat(given.name) or "1", **empty)


def _stem(question: WrittenQuestion) -> str:
    lines: list[str] = []
    last = question.stem[0].number if question.stem else 0
    for line in question.stem:
        lines += ["", line.text] if line.number > last + 1 else [line.text]
        last = line.number
    return "\n".join(lines)


def _line(name: str, choices: tuple[str, ...], right: str) -> str:
    said = " / ".join(f"{one} (right)" if one == right else one for one in choices)
    return f"{name} = {said}"
