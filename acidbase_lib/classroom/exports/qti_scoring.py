"""The marking rules of `questions.exercise` as QTI response processing, point for point."""
from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from types import MappingProxyType

from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import Field, Value

from .qti_xml import make, number

BASE = MappingProxyType({"one": "identifier", "many": "identifier", "order": "identifier",
                         "number": "float", "text": "string"})
CARDINALITY = MappingProxyType({"one": "single", "many": "multiple", "order": "ordered",
                                "number": "single", "text": "single"})
SLACK = 1e-9  # as in the kit's own comparison of numbers
_DIGITS = 4  # to which a mark is rounded

CHOOSES_NONE = ("the right answer can be to choose nothing, which QTI cannot tell from "
                "no answer at all")
FREE_TEXT = "it marks a free text by itself, which no QTI reader does alike"


@dataclass(frozen=True, slots=True)
class AskedPart:
    """One field of an exercise, with the names that QTI knows it and its options by."""

    field: Field
    name: str
    options: Mapping[str, str]

    def values(self, answer: Value) -> tuple[str, ...]:
        """An answer to the field in QTI's words."""
        if isinstance(answer, tuple):
            return tuple(self.options[word] for word in answer)
        if isinstance(answer, str):
            return (self.options.get(answer, answer),)
        return (number(answer),)


def asked_of(exercise: Exercise) -> tuple[AskedPart, ...]:
    """Name an exercise's fields and options as QTI wants them.

    Names begin with a letter, hold no blanks, and are unique.
    """
    alone = len(exercise.fields) == 1
    return tuple(AskedPart(field, "RESPONSE" if alone else f"RESPONSE_{place}", _names(field.words))
                 for place, field in enumerate(exercise.fields, start=1))


def why_not(exercise: Exercise) -> str | None:
    """Say why QTI cannot mark an exercise as the kit does; None where it can."""
    if waits(exercise):
        return None
    assert exercise.key is not None
    if any(field.kind == "text" for field in exercise.fields):
        return FREE_TEXT
    many = [field for field in exercise.fields if field.kind == "many"]
    none_counts = exercise.kind == "first thought" or (
        not any(exercise.key[f.name] for f in many) if exercise.kind == "select all" else
        not all(exercise.key[f.name] for f in many))
    return CHOOSES_NONE if many and none_counts else None


def waits(exercise: Exercise) -> bool:
    """Whether a person gives the marks: a rationale, or a key that is not at hand."""
    return exercise.kind == "rationale" or exercise.key is None


def declarations(exercise: Exercise) -> Iterator[ET.Element]:
    """Yield what is asked, with the key, and the mapping of a "select all"."""
    for asked in asked_of(exercise):
        declared = make("responseDeclaration", identifier=asked.name,
                        cardinality=CARDINALITY[asked.field.kind],
                        baseType=BASE[asked.field.kind])
        key = None if waits(exercise) or exercise.key is None else exercise.key[asked.field.name]
        if key is not None and asked.values(key):
            declared.append(make("correctResponse",
                                 *(make("value", value) for value in asked.values(key))))
        if key is not None and exercise.kind == "select all":
            declared.append(_mapping(exercise, asked, key))
        yield declared


def processing(exercise: Exercise) -> Iterator[ET.Element]:
    """Yield the rules that add up SCORE."""
    asked = asked_of(exercise)
    if exercise.kind == "linked pair":
        yield when(make("and", *(right(exercise, one) for one in asked)), earn(exercise.points))
        return
    worth = _step(exercise)
    for one in asked:
        if exercise.kind == "first thought":
            yield when(_answered(one), earn(worth))
        elif exercise.kind == "select all":
            yield _set("SCORE", make("sum", make("variable", identifier="SCORE"),
                                     make("mapResponse", identifier=one.name)))
        elif exercise.kind == "put in order":
            for first, then in pairwise(one.values(_key(exercise, one))):
                yield when(_follows(one, first, then), earn(worth))
        else:
            yield when(right(exercise, one), earn(worth))
    if not _even(exercise):
        yield _counted(exercise)


def right(exercise: Exercise, asked: AskedPart) -> ET.Element:
    """The condition that a field holds its key."""
    if asked.field.kind == "number":
        return is_value(exercise, asked, _key(exercise, asked))
    return make("match", make("variable", identifier=asked.name),
                make("correct", identifier=asked.name))


def is_value(exercise: Exercise, asked: AskedPart, value: Value) -> ET.Element:
    """The condition that a field holds a value, a number within the exercise's tolerance."""
    if asked.field.kind == "number":
        within = exercise.within.get(asked.field.name, 0.0) + SLACK
        middle = float(value)  # type: ignore[arg-type]
        return make("and", make("not", _null(asked)),
                    make("gte", make("variable", identifier=asked.name),
                         _float(max(0.0, middle - within))),
                    make("lte", make("variable", identifier=asked.name), _float(middle + within)))
    words = [_identifier(word) for word in asked.values(value)]
    holds = words[0] if asked.field.kind == "one" else make(
        "ordered" if asked.field.kind == "order" else "multiple", *words)
    return make("match", make("variable", identifier=asked.name), holds)


def when(condition: ET.Element, *rules: ET.Element) -> ET.Element:
    """A rule that holds under one condition."""
    return make("responseCondition", make("responseIf", condition, *rules))


def earn(points: float) -> ET.Element:
    """The rule that adds points."""
    return _set("SCORE", make("sum", make("variable", identifier="SCORE"), _float(points)))


def tell(outcome: str, word: str) -> ET.Element:
    """The rule that shows a feedback."""
    return _set(outcome, _identifier(word))


def _parts(exercise: Exercise) -> int:
    """How many parts, right choices or steps share the points."""
    assert exercise.key is not None
    keys = [exercise.key[field.name] for field in exercise.fields]
    return max(1, {
        "select all": sum(len(key) for key in keys if isinstance(key, tuple)),
        "put in order": sum(max(0, len(key) - 1) for key in keys if isinstance(key, tuple)),
    }.get(exercise.kind, len(keys)))


def _even(exercise: Exercise) -> bool:
    """Whether a part's share of the points is a number that need not be rounded."""
    share = Fraction(str(exercise.points)) / _parts(exercise)
    return bool((share * 10 ** _DIGITS).denominator == 1)


def _step(exercise: Exercise) -> float:
    """What SCORE gains by one right part: its points; 1 where parts are counted first."""
    return exercise.points / _parts(exercise) if _even(exercise) else 1.0


def _counted(exercise: Exercise) -> ET.Element:
    """The rule that turns the number of right parts in SCORE into points.

    Readers round differently, so that each number of parts has its points written out.
    """
    parts = _parts(exercise)
    return make("responseCondition", *(
        make("responseIf" if right == parts else "responseElseIf",
             make("gte", make("variable", identifier="SCORE"), _float(right)),
             _set("SCORE", _float(round(exercise.points * right / parts, _DIGITS))))
        for right in range(parts, 0, -1)))


def _mapping(exercise: Exercise, asked: AskedPart, key: Value) -> ET.Element:
    """A mark for each right choice, one taken away for each wrong one, never below zero."""
    step = _step(exercise)
    return make("mapping", *(
        make("mapEntry", mapKey=name,
             mappedValue=step if isinstance(key, tuple) and word in key else -step)
        for word, name in asked.options.items()), lowerBound=0, defaultValue=0)


def _follows(asked: AskedPart, first: str, then: str) -> ET.Element:
    """The condition that one step stands directly after another, wherever they stand.

    Said twice, for not every reader knows both: as steps at neighboring places, and as the two
    steps contained in a row.
    """
    order = make("variable", identifier=asked.name)
    places = (make("and", *(make("match", make("index", order, n=place + after), _identifier(word))
                            for after, word in enumerate((first, then))))
              for place in range(1, len(asked.options)))
    row = make("contains", order, make("ordered", _identifier(first), _identifier(then)))
    return make("or", *places, row)


def _key(exercise: Exercise, asked: AskedPart) -> Value:
    assert exercise.key is not None
    return exercise.key[asked.field.name]


def _answered(asked: AskedPart) -> ET.Element:
    """The condition that something was answered, and every step has its place."""
    if asked.field.kind == "order":
        return make("and", *(make("member", _identifier(step),
                                  make("variable", identifier=asked.name))
                             for step in asked.options.values()))
    return make("not", _null(asked))


def _null(asked: AskedPart) -> ET.Element:
    return make("isNull", make("variable", identifier=asked.name))


def _set(outcome: str, expression: ET.Element) -> ET.Element:
    return make("setOutcomeValue", expression, identifier=outcome)


def _identifier(word: str) -> ET.Element:
    return make("baseValue", word, baseType="identifier")


def _float(value: float) -> ET.Element:
    return make("baseValue", number(value), baseType="float")


def _names(words: tuple[str, ...]) -> Mapping[str, str]:
    names: dict[str, str] = {}
    for word in words:
        name = re.sub(r"[^A-Za-z0-9_]+", "_", word).strip("_") or "option"
        name = name if name[0].isalpha() else f"o_{name}"
        while name in names.values():
            name += "_"
        names[word] = name
    return MappingProxyType(names)
