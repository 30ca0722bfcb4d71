"""The chart cell's text and its answers: one parser for the magic and for the marker."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from .fields import Field, Value
from .spelling import fold
from .typed_value import LONGEST_WORD, NotUnderstoodError, read_value

LONGEST = 20_000  # a chart cell longer than this is not an answer to any question of ours

MOST_TOLD = 12  # lines not understood that are told one by one

HOW_SURE = ("sure", "unsure", "guess")
#: Lines that every chart cell may hold beside its question's own, and what may stand in them.
RESERVED: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "how sure": HOW_SURE, "check": ("now", "hint", "reading"), "reason": ("a", "b", "c", "d")})



@dataclass(frozen=True, slots=True)
class AnswerLine:
    """One ``field: value`` line as it was written."""

    field: str
    value: str
    number: int


@dataclass(frozen=True, slots=True)
class Problem:
    """A line that was not understood, told in one sentence."""

    field: str
    line: int
    given: str
    sentence: str
    did_you_mean: str | None = None


@dataclass(frozen=True, slots=True)
class FirstTry:
    """What was answered when the answer was first checked; see ``first_try``.

    Parameters
    ----------
    values : mapping
        By field, as the answer's own.
    how_sure : str or None
        "sure", "unsure" or "guess".
    reason : str or None
        What the learner chose after an error.
    sealed : bool
        False where somebody has changed it since.
    """

    values: Mapping[str, Value]
    how_sure: str | None
    reason: str | None
    sealed: bool


@dataclass(frozen=True, slots=True)
class ChartAnswer:
    """What a chart cell says: values by field name, fields left out, lines not understood."""

    values: Mapping[str, Value]
    missing: tuple[str, ...]
    problems: tuple[Problem, ...]
    how_sure: str | None = None
    first: FirstTry | None = None

    @property
    def blank(self) -> bool:
        """True where nothing at all was answered."""
        return not self.values and not self.problems

    @property
    def complete(self) -> bool:
        """True where every field holds an understood value."""
        return not self.missing and not self.problems


def read_chart(text: str) -> tuple[AnswerLine, ...]:
    """Split a chart cell into lines; the magic's own line, comments and blank lines are left out.

    Examples
    --------
    >>> read_chart("%%chart q1\\npH: low")
    (Line(field='pH', value='low', number=2),)
    """
    lines: list[AnswerLine] = []
    for number, raw in enumerate(text[:LONGEST].splitlines(), start=1):
        stripped = raw.strip()
        if not stripped or stripped.startswith(("#", "%%")):
            continue
        name, colon, value = stripped.partition(":")
        lines.append(AnswerLine(name.strip(), value.strip(), number) if colon
                     else AnswerLine("", stripped, number))
    return tuple(lines)


def parse_chart(text: str, fields: Sequence[Field]) -> ChartAnswer:
    """Read the answers that a chart cell holds to a question's fields.

    Parameters
    ----------
    text : str
        The cell's source, with or without its ``%%chart`` line.
    fields : sequence of Field
        What the question asks for.

    Returns
    -------
    ChartAnswer
        Never raises: what was not understood is a Problem.
    """
    problems: list[Problem] = []
    given: dict[str, list[AnswerLine]] = {field.name: [] for field in fields}
    names = {fold(name): field for field in fields for name in (field.name, *field.also)}
    if len(text) > LONGEST:
        problems.append(Problem("", 0, "", f"This cell holds {len(text):,} characters; only the "
                                f"first {LONGEST:,} are read."))
    current: Field | None = None
    how_sure: str | None = None
    untold = 0
    for line in read_chart(text):
        name = fold(line.field) if line.field else ""
        field = names.get(name) if line.field else None
        if field is None and is_reserved(name, line.value, current):
            how_sure = _how_sure(name, line.value) or how_sure
        elif field is not None:
            current = field
            given[field.name].append(line)
        elif current is not None and current.kind == "text":
            given[current.name].append(_continued(line))
        elif not line.field and len(fields) == 1:
            given[fields[0].name].append(line)
        elif len(problems) < MOST_TOLD:
            problems.append(_stray(line, fields, names))
        else:
            untold += 1
    if untold:
        more = "lines were" if untold > 1 else "line was"
        problems.append(Problem("", 0, "", f"{untold:,} more {more} not understood."))
    values: dict[str, Value] = {}
    for field in sorted(fields, key=lambda field: field.told_by is not None):
        try:
            value = _value_of(field, _made_plain(field, given[field.name], values))
        except NotUnderstoodError as error:
            written = given[field.name][-1]
            problems.append(Problem(field.name, written.number, written.value[:80], str(error),
                                    error.did_you_mean))
        else:
            if value is not None:
                values[field.name] = value
    values = {field.name: values[field.name] for field in fields if field.name in values}
    troubled = {problem.field for problem in problems}
    missing = tuple(f.name for f in fields if f.name not in values and f.name not in troubled)
    return ChartAnswer(MappingProxyType(values), missing, tuple(problems), how_sure)


def is_reserved(name: str, value: str, current: Field | None) -> bool:
    """True for a line such as ``how sure: guess``, which is no part of any answer.

    Parameters
    ----------
    name : str
        What stands before the colon, folded; no field of the question is called so.
    value : str
        What stands after it.
    current : Field or None
        The field of the lines above: within a text only a whole, understood line is taken out.
    """
    words = RESERVED.get(name)
    if words is None:
        return False
    in_text = current is not None and current.kind == "text"
    return fold(value[:LONGEST_WORD]) in words or (
        not in_text and (not value or name == "how sure"))


def _how_sure(name: str, value: str) -> str | None:
    word = fold(value[:LONGEST_WORD])
    return word if name == "how sure" and word in HOW_SURE else None


def write_chart(question_id: str, fields: Sequence[Field],
                values: Mapping[str, Value] | None = None) -> str:
    """Return a chart cell's source: the magic's line and one line a field.

    Examples
    --------
    >>> from .fields import STANDARD_FIELDS
    >>> print(write_chart("q2-3", [STANDARD_FIELDS["pH"]], {"pH": "low"}))
    %%chart q2-3
    pH: low
    """
    lines = [f"%%chart {question_id}"]
    for field in fields:
        written = show_value(field, (values or {}).get(field.name))
        lines.append(f"{field.name}: {written}".rstrip() if written else f"{field.name}:")
    return "\n".join(lines)


def show_value(field: Field, value: Value | None) -> str:
    """Return a value as a learner would write it."""
    if value is None:
        return ""
    if isinstance(value, tuple):
        return (" > " if field.kind == "order" else ", ").join(value) or "none"
    if isinstance(value, float | int) and not isinstance(value, bool):
        return f"{value:g} {field.unit or ''}".strip()
    return str(value)


def _value_of(field: Field, lines: Sequence[AnswerLine]) -> Value | None:
    if field.kind == "text":
        text = "\n".join(line.value for line in lines).strip()
        return text or None
    written = [line.value for line in lines if line.value]
    if not written:
        return None
    read = [read_value(field, value) for value in written]
    if any(value != read[0] for value in read):
        raise NotUnderstoodError(f"{field.name} is answered twice, {written[0]!r} and "
                                 f"{written[-1]!r}: keep the line you mean.")
    return read[0]


def _made_plain(
    field: Field, lines: Sequence[AnswerLine], values: Mapping[str, Value]
) -> list[AnswerLine]:
    """The lines with a word that another answer tells put as the choice that it means there."""
    teller = field.told_by
    if teller is None or teller.field not in values:
        return list(lines)
    meant = teller.then if values[teller.field] in teller.where else teller.otherwise
    return [replace(line, value=meant) if fold(line.value) == teller.word else line
            for line in lines]


def _continued(line: AnswerLine) -> AnswerLine:
    """A line of a longer text, its colon put back where it had one."""
    text = f"{line.field}: {line.value}".strip() if line.field else line.value
    return AnswerLine("", text, line.number)


def _stray(line: AnswerLine, fields: Sequence[Field], names: Mapping[str, Field]) -> Problem:
    asked = ", ".join(field.name for field in fields)
    if not line.field:
        return Problem("", line.number, line.value[:80],
                       f"Line {line.number}, {line.value[:60]!r}, has no colon. "
                       f"Write the field, a colon, then your answer. The fields are: {asked}.")
    from difflib import get_close_matches  # only a slip pays for it

    near = get_close_matches(fold(line.field)[:LONGEST_WORD], names, n=1, cutoff=0.6)
    meant = names[near[0]].name if near else None
    question = f" Did you mean {meant!r}?" if meant else ""
    return Problem("", line.number, line.field[:80],
                   f"Line {line.number}: this question has no field {line.field[:60]!r}. "
                   f"Its fields are: {asked}.{question}", meant)
