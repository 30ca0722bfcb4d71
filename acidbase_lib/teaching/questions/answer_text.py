"""The chart cell's text and its answers: one parser for the magic and for the marker."""
from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from types import MappingProxyType

from acidbase_lib.physiology.units import kpa_to_mmhg

from .fields import Field, Value
from .spelling import fold, has_lookalikes, spell_out

LONGEST = 20_000  # a chart cell longer than this is not an answer to any question of ours
LARGEST = 1e6  # no quantity at the bedside is written with more

MOST_TOLD = 12  # lines not understood that are told one by one
LONGEST_WORD = 120  # of what is compared with our choices, which are shorter

# possessive (++): what has been read is not tried again shorter, so a long line costs no more
_NUMBER = re.compile(r"^([+-]?\d++(?:[.,]\d++)?)\s*+((?:[a-zA-Z%/µ°][a-zA-Z0-9%/µ°]*+)?)$")
_BETWEEN = re.compile(r"[,;/&+?|]|\b(?:or|and|not)\b")
_UNITS = {"mmhg": "mmHg", "torr": "mmHg", "kpa": "kPa", "mmol/l": "mmol/L", "meq/l": "mmol/L",
          "nmol/l": "nmol/L", "%": "%", "percent": "%", "l/min": "L/min", "g/l": "g/L"}


@dataclass(frozen=True, slots=True)
class Line:
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
class ChartAnswer:
    """What a chart cell says: values by field name, fields left out, lines not understood."""

    values: Mapping[str, Value]
    missing: tuple[str, ...]
    problems: tuple[Problem, ...]

    @property
    def blank(self) -> bool:
        """True where nothing at all was answered."""
        return not self.values and not self.problems

    @property
    def complete(self) -> bool:
        """True where every field holds an understood value."""
        return not self.missing and not self.problems


class NotUnderstoodError(ValueError):
    """A value that is none of the field's; carries the nearest word."""

    def __init__(self, sentence: str, did_you_mean: str | None = None) -> None:
        super().__init__(sentence)
        self.did_you_mean = did_you_mean


def read_chart(text: str) -> tuple[Line, ...]:
    """Split a chart cell into lines; the magic's own line, comments and blank lines are left out.

    Examples
    --------
    >>> read_chart("%%chart q1\\npH: low")
    (Line(field='pH', value='low', number=2),)
    """
    lines: list[Line] = []
    for number, raw in enumerate(text[:LONGEST].splitlines(), start=1):
        stripped = raw.strip()
        if not stripped or stripped.startswith(("#", "%%")):
            continue
        name, colon, value = stripped.partition(":")
        lines.append(Line(name.strip(), value.strip(), number) if colon
                     else Line("", stripped, number))
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
    given: dict[str, list[Line]] = {field.name: [] for field in fields}
    names = {fold(name): field for field in fields for name in (field.name, *field.also)}
    if len(text) > LONGEST:
        problems.append(Problem("", 0, "", f"This cell holds {len(text):,} characters; only the "
                                f"first {LONGEST:,} are read."))
    current: Field | None = None
    untold = 0
    for line in read_chart(text):
        field = names.get(fold(line.field)) if line.field else None
        if field is not None:
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
    for field in fields:
        try:
            value = _value_of(field, given[field.name])
        except NotUnderstoodError as slip:
            written = given[field.name][-1]
            problems.append(Problem(field.name, written.number, written.value[:80], str(slip),
                                    slip.did_you_mean))
        else:
            if value is not None:
                values[field.name] = value
    troubled = {problem.field for problem in problems}
    missing = tuple(f.name for f in fields if f.name not in values and f.name not in troubled)
    return ChartAnswer(MappingProxyType(values), missing, tuple(problems))


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


def _value_of(field: Field, lines: Sequence[Line]) -> Value | None:
    if field.kind == "text":
        text = "\n".join(line.value for line in lines).strip()
        return text or None
    written = [line.value for line in lines if line.value]
    if not written:
        return None
    read = [_READERS[field.kind](field, value) for value in written]
    if any(value != read[0] for value in read):
        raise NotUnderstoodError(f"{field.name} is answered twice, {written[0]!r} and "
                                 f"{written[-1]!r}: keep the line you mean.")
    return read[0]


def _one(field: Field, text: str) -> Value:
    wanted = spell_out(text)
    table = _spellings(field)
    if wanted in table:
        return table[wanted]
    lettered = re.match(r"^(?:option\s+)?([a-j])(?:[.):\s]+(.*))?$", fold(text))
    if lettered and lettered[1] in table:
        return _alone(field, table, table[lettered[1]], lettered[2] or "", text)
    if fold(text) in table:
        return table[fold(text)]
    near = get_close_matches(wanted[:LONGEST_WORD], table, n=1, cutoff=0.6)
    meant = table[near[0]] if near else None
    odd = " Some of its letters belong to another alphabet." if has_lookalikes(text) else ""
    choices = ", ".join(field.words)
    question = f" Did you mean {meant!r}?" if meant else ""
    raise NotUnderstoodError(f"{field.name}: {text[:60]!r} is not one of {choices}.{odd}{question}",
                             meant)


def _alone(field: Field, table: Mapping[str, str], word: str, rest: str, text: str) -> str:
    """The choice that a letter names, unless what follows the letter names another one too."""
    for part in _BETWEEN.split(rest):
        if table.get(spell_out(part.strip("() ")), word) != word:
            raise NotUnderstoodError(f"{field.name}: {text[:60]!r} names more than one choice. "
                                     "Write the one that you mean.")
    return word


def _many(field: Field, text: str) -> Value:
    if fold(text) in {"none", "none of them", "nothing", "-"}:
        return ()
    parts = [p for p in re.split(r"[,;&+]|\band\b", text) if p.strip()]
    compact = re.fullmatch(r"[A-Ja-j](?:\s+[A-Ja-j])*|[A-J]{2,}", text.strip())
    if len(parts) == 1 and compact and all(len(word) == 1 for word in field.words):
        parts = [c for c in text if not c.isspace()]
    chosen = {_one(field, part) for part in parts}
    return tuple(word for word in field.words if word in chosen)


def _order(field: Field, text: str) -> Value:
    parts = [p for p in re.split(r"[>,;→]|\bthen\b", text) if p.strip()]
    chosen = tuple(str(_one(field, part)) for part in parts)
    if len(set(chosen)) != len(chosen):
        raise NotUnderstoodError(f"{field.name}: one step stands there twice. "
                                 "Write each step once.")
    left_out = [word for word in field.words if word not in chosen]
    if left_out:
        raise NotUnderstoodError(f"{field.name}: {', '.join(left_out)} still to be placed. "
                                 "Write every step, first to last, with > between them.")
    return chosen


def _number(field: Field, text: str) -> Value:
    match = _NUMBER.match(text.strip().replace("−", "-"))
    if match is None:
        raise NotUnderstoodError(f"{field.name}: {text[:60]!r} is not a number. Write a number, "
                                 f"such as 40{' ' + field.unit if field.unit else ''}.")
    number = float(match[1].replace(",", "."))
    if not math.isfinite(number) or not 0 <= number <= LARGEST:
        raise NotUnderstoodError(f"{field.name}: {text[:60]!r} is outside 0 to {LARGEST:,.0f}. "
                                 "Check the sign and the decimal point.")
    unit = _UNITS.get(match[2].casefold())
    if match[2] and unit is None:
        raise NotUnderstoodError(f"{field.name}: the unit {match[2][:20]!r} is not known here. "
                                 f"Use {field.unit or 'no unit'}.")
    if unit == "kPa" and field.unit == "mmHg":
        return float(kpa_to_mmhg(number))
    if unit and unit != field.unit:
        raise NotUnderstoodError(f"{field.name}: the unit {unit} does not fit. "
                                 f"Use {field.unit or 'a number without a unit'}.")
    return number


_READERS = MappingProxyType({"one": _one, "many": _many, "order": _order, "number": _number})


@lru_cache(maxsize=512)
def _spellings(field: Field) -> dict[str, str]:
    """Every way a choice may be written, folded, to the word that is kept."""
    table: dict[str, str] = {}
    for choice in field.choices:
        for spelling in (choice.word, choice.text, *choice.also):
            if spelling:
                table.setdefault(fold(spelling), choice.word)
                table.setdefault(spell_out(spelling), choice.word)
    return table


def _continued(line: Line) -> Line:
    """A line of a longer text, its colon put back where it had one."""
    text = f"{line.field}: {line.value}".strip() if line.field else line.value
    return Line("", text, line.number)


def _stray(line: Line, fields: Sequence[Field], names: Mapping[str, Field]) -> Problem:
    asked = ", ".join(field.name for field in fields)
    if not line.field:
        return Problem("", line.number, line.value[:80],
                       f"Line {line.number}, {line.value[:60]!r}, has no colon. "
                       f"Write the field, a colon, then your answer. The fields are: {asked}.")
    near = get_close_matches(fold(line.field)[:LONGEST_WORD], names, n=1, cutoff=0.6)
    meant = names[near[0]].name if near else None
    question = f" Did you mean {meant!r}?" if meant else ""
    return Problem("", line.number, line.field[:80],
                   f"Line {line.number}: this question has no field {line.field[:60]!r}. "
                   f"Its fields are: {asked}.{question}", meant)
