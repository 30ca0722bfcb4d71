"""The first try in a chart cell: what was answered when the answer was first checked, sealed.

It stands in lines that begin with ``#``, which are no part of the answer::

    # first try (kept by the kit): 5f1c09
    # pH: low
    # how sure: sure
    # reason: both moved the same way

The seal is a short digest of form, question and lines. It shows that a hand has slipped; it is no
secret, and whoever wants to can write a seal that fits, or take the lines out. So a first try is
evidence for teaching, and no proof of anything.
"""
from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from .answer_text import (
    LONGEST,
    RESERVED,
    ChartAnswer,
    FirstTry,
    is_reserved,
    parse_chart,
    read_chart,
    show_value,
)
from .fields import Field, Value
from .spelling import fold

__all__ = ["FirstTry", "asked_for", "kept_lines", "place_of", "put_back", "read_answer",
           "with_first_try", "with_reason", "without_first_try", "without_requests"]

_HEAD = re.compile(r"#\s*+first try\s*+\(kept by the kit\)(.*)", re.IGNORECASE | re.DOTALL)
_TITLE = "# first try (kept by the kit): "
_HARD_TO_KEEP = re.compile("[\ud800-\udfff\x00-\x1f\x7f\x85\u2028\u2029\ufffd]")
_SEAL = 6  # hexadecimal digits


@dataclass(frozen=True, slots=True)
class _Block:
    """A first try as it stands in a cell: its title's line, its lines, where they end."""

    start: int
    end: int  # the line after the last one that the seal covers
    lines: tuple[str, ...]
    sealed: bool


def place_of(question: str, form: int) -> str:
    """Return what a first try is sealed for: one question of one form."""
    return f"{form}/{question}"


def read_answer(text: str, fields: Sequence[Field], place: str) -> ChartAnswer:
    """Read a chart cell with the first try that it keeps; never raises.

    Parameters
    ----------
    text : str
        The cell's source.
    fields : sequence of Field
        What the question asks for.
    place : str
        From ``place_of``.
    """
    answer = parse_chart(text, fields)
    block = _block_of(text, place)
    return answer if block is None else replace(answer, first=_read(block, fields))


def with_first_try(text: str, fields: Sequence[Field], place: str) -> str:
    """Return a cell's text with its answer kept as the first try.

    A first try that is there stays as it is, and an answer that is not complete is no try.
    """
    answer = parse_chart(text, fields)
    if not answer.complete or _block_of(text, place) is not None:
        return text
    sure = [f"how sure: {answer.how_sure}"] if answer.how_sure else []
    lines = [*_written(fields, answer.values), *sure]
    kept = "\n".join([text.rstrip(), *_sealed(lines, place)])
    return kept if len(kept) <= LONGEST else text


def with_reason(text: str, fields: Sequence[Field], place: str, reason: str) -> str:
    """Return a cell's text with the reason that was chosen after an error; the first one stays."""
    block = _block_of(text, place)
    if block is None or not block.sealed or _read(block, fields).reason is not None:
        return text
    lines = text.splitlines()
    kept = _sealed([*block.lines, f"reason: {_one_line(reason)}"], place)
    return "\n".join([*lines[:block.start], *kept, *lines[block.end:]])


def kept_lines(text: str, place: str) -> tuple[str, ...]:
    """Return the lines in which a cell keeps its first try, as they are written; none without."""
    block = _block_of(text, place)
    if block is None or not block.sealed:
        return ()
    return tuple(_sealed(block.lines, place))


def put_back(text: str, lines: Sequence[str]) -> str:
    """Return a cell's text with the lines of a first try that it has lost; else as it is."""
    if not lines or any(_HEAD.fullmatch(line.strip()) for line in text.splitlines()):
        return text
    return "\n".join([text.rstrip(), *lines])


def without_first_try(text: str, place: str = "") -> str:
    """Return a cell's text without a first try, as an author's own answer is kept."""
    lines = text.splitlines()
    blocks = _blocks_in(lines, place)
    if not blocks:
        return text
    taken = {number for block in blocks for number in range(block.start, block.end)}
    return "\n".join(line for number, line in enumerate(lines) if number not in taken)


def asked_for(text: str, fields: Sequence[Field]) -> Mapping[str, str]:
    """Return what a cell asks the kit to do, as typed lines: ``check: now``, ``reason: b``."""
    return {name: fold(value) for name, value, _ in _requests(text, fields)
            if fold(value) in RESERVED[name]}


def without_requests(text: str, fields: Sequence[Field]) -> str:
    """Return a cell's text without the lines that ask the kit to do something."""
    asked = {number for _, _, number in _requests(text, fields)}
    if not asked:
        return text
    return "\n".join(line for number, line in enumerate(text.splitlines(), 1)
                     if number not in asked)


def _requests(text: str, fields: Sequence[Field]) -> Iterator[tuple[str, str, int]]:
    names = {fold(name): field for field in fields for name in (field.name, *field.also)}
    current: Field | None = None
    for line in read_chart(text):
        name = fold(line.field)
        current = names.get(name, current)
        if (name in ("check", "reason") and name not in names
                and is_reserved(name, line.value, current)):
            yield name, line.value, line.number


def _block_of(text: str, place: str) -> _Block | None:
    """The first try of a cell; one that stands there twice, and differs, has no seal that fits."""
    blocks = _blocks_in(text[:LONGEST].splitlines(), place)
    if not blocks:
        return None
    if any(block.lines != blocks[0].lines for block in blocks):
        return replace(blocks[0], sealed=False)
    return blocks[0]


def _blocks_in(lines: Sequence[str], place: str) -> list[_Block]:
    return [_covered(lines, start, place) for start, line in enumerate(lines)
            if _HEAD.fullmatch(line.strip())]


def _covered(lines: Sequence[str], start: int, place: str) -> _Block:
    """The lines below a title that its seal covers; a note of the learner's may follow them."""
    head = _HEAD.fullmatch(lines[start].strip())
    seal = head[1].strip().lstrip(":").strip() if head else ""
    running = hashlib.sha256(f"{place}\n".encode("utf-8", "replace"))
    below: list[str] = []
    fits: tuple[int, int] | None = None
    end = start + 1
    for number in range(start + 1, len(lines)):  # no slice: a file may hold many titles
        line = lines[number].strip()
        if line and (not line.startswith("#") or _HEAD.fullmatch(line)):
            break
        if not line:
            continue
        below.append(line[1:].strip())
        running.update(f"{below[-1]}\n".encode("utf-8", "replace"))
        end = number + 1
        if running.hexdigest()[:_SEAL] == seal:
            fits = len(below), end
    if fits is None:
        return _Block(start, end, tuple(below), False)
    return _Block(start, fits[1], tuple(below[:fits[0]]), True)


def _read(block: _Block, fields: Sequence[Field]) -> FirstTry:
    names = {fold(name) for field in fields for name in (field.name, *field.also)}
    reasons = [line for line in block.lines if _name(line) == "reason" and "reason" not in names]
    inner = parse_chart("\n".join(line for line in block.lines if line not in reasons), fields)
    reason = reasons[-1].partition(":")[2].strip() if reasons else None
    return FirstTry(inner.values, inner.how_sure, reason, block.sealed)


def _written(fields: Sequence[Field], values: Mapping[str, Value]) -> Iterator[str]:
    """A line for each field; a line of a text that would be read as something else joins it."""
    names = {fold(name) for field in fields for name in (field.name, *field.also)} | set(RESERVED)
    for field in fields:
        first, *rest = _shown(field, values[field.name]).split("\n")
        line = f"{field.name}: {_one_line(first)}"
        for more in map(_one_line, rest):
            if _name(more) in names or more.startswith(("#", "%%")):
                line += f" {more}"
            elif more:
                yield line
                line = more
        yield line


def _shown(field: Field, value: Value) -> str:
    text = show_value(field, value)
    if field.kind != "number" or parse_chart(f"{field.name}: {text}", [field]).values == {
            field.name: value}:
        return text
    return f"{float(value):.12f} {field.unit or ''}".strip()  # type: ignore[arg-type]


def _sealed(lines: Sequence[str], place: str) -> list[str]:
    inner = "".join(f"{line}\n" for line in (place, *lines))
    seal = hashlib.sha256(inner.encode("utf-8", "replace")).hexdigest()[:_SEAL]
    return [_TITLE + seal, *(f"# {line}" for line in lines)]


def _name(line: str) -> str:
    name, colon, _ = line.partition(":")
    return fold(name) if colon else ""


def _one_line(text: str) -> str:
    """Text as it can be kept in one line of a file, whoever stores it."""
    return " ".join(_HARD_TO_KEEP.sub(" ", text).split())

