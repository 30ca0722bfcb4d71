"""What a platform's results file says of one answer, read as the values of a question's fields."""
from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import unescape

from acidbase_lib.classroom.exports.qti_scoring import AskedPart, asked_of
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import Field, Value
from acidbase_lib.teaching.questions.spelling import fold
from acidbase_lib.teaching.questions.typed_value import NotUnderstoodError, read_value

LONGEST = 4_000  # of a cell that is not free text [characters]
MOST_PIECES = 60  # between separators in one cell
_TAG = re.compile(r"</?(?:p|br|div|span|b|i|u|strong|em|sub|sup|ul|ol|li)\b[^<>]{0,200}>", re.I)
_BETWEEN = re.compile(r"\s*(?:[;|\n,>→])\s*")
_BETWEEN_FIELDS = (re.compile(r"\s*[;|\n]\s*"), re.compile(r"\s*,\s*"))
_LETTERS = re.compile(r"[A-J]{2,10}|[A-J](?:\s+[A-J])+")
_NO_ANSWER = frozenset({"", "-", "–", "—"})


@dataclass(frozen=True, slots=True)
class Piece:
    """One cell of a results file that answers a question, or one field of it.

    Parameters
    ----------
    row : int
        The line of the file.
    field : str
        As the file names it; empty where the cell answers the whole question.
    text : str
        What is given.
    points : float or None
        What the platform gave for it, where the file tells.
    """

    row: int
    field: str
    text: str
    points: float | None = None


def read_answer(exercise: Exercise, pieces: Sequence[Piece],
                ) -> tuple[dict[str, Value], list[tuple[Piece, str]]]:
    """Read what one person answered to one question.

    Parameters
    ----------
    exercise : Exercise
        The question.
    pieces : sequence of Piece
        The cells that answer it.

    Returns
    -------
    values : dict of str to Value
        By field; a field that was left blank is not there.
    problems : list of (Piece, str)
        What cannot be read, and why. Nothing is guessed: a text fits one option or none.
    """
    values: dict[str, Value] = {}
    problems: list[tuple[Piece, str]] = []
    for piece in pieces:
        try:
            read = _read(exercise, piece)
        except NotUnderstoodError as error:
            problems.append((piece, str(error)))
            continue
        for name, value in read.items():
            if name in values and values[name] != value:
                problems.append((piece, f"{name} is answered twice, and not alike"))
            values[name] = value
    return values, problems


def field_called(exercise: Exercise, name: str) -> AskedPart | None:
    """The field that a column or a cell names: as it is printed, or as the quiz's file calls it."""
    wanted = fold(name)
    found = [asked for asked in asked_of(exercise) if wanted in {
        fold(asked.name), fold(asked.field.name), *map(fold, asked.field.also)}]
    return found[0] if len(found) == 1 else None


def plain(text: str) -> str:
    """A cell's text without what platforms set it in: tags, entities, quotes, brackets."""
    text = unescape(_TAG.sub("\n", text)).replace("\xa0", " ").strip()
    while len(text) > 1 and text[0] + text[-1] in {"[]", "{}", '""', "''"}:
        text = text[1:-1].strip()
    return text


def _read(exercise: Exercise, piece: Piece) -> dict[str, Value]:
    text, asked = plain(piece.text), asked_of(exercise)
    if text in _NO_ANSWER:
        return {}
    if piece.field:
        one = field_called(exercise, piece.field)
        if one is None:
            raise NotUnderstoodError(f"the question has no part {piece.field[:40]!r}")
        return {one.field.name: _value(one, text)}
    if len(asked) == 1:
        return {asked[0].field.name: _value(asked[0], text)}
    return _all_fields(exercise, asked, text)


def _all_fields(exercise: Exercise, asked: Sequence[AskedPart], text: str) -> dict[str, Value]:
    """One cell for several fields: each named, or all of them in the quiz's order."""
    for between in _BETWEEN_FIELDS:
        parts = [part for part in between.split(text) if part]
        named = [part.partition(":") for part in parts]
        fields = [field_called(exercise, name) if colon else None for name, colon, _ in named]
        if all(fields):
            there = [one.field.name for one in fields if one]
            if len(set(there)) < len(there):
                raise NotUnderstoodError("a part of the question is answered twice in one cell")
            return {one.field.name: _value(one, plain(value))
                    for one, (_, _, value) in zip(fields, named, strict=True)
                    if one and plain(value) not in _NO_ANSWER}
        if len(parts) == len(asked):
            return {one.field.name: _value(one, plain(part))
                    for one, part in zip(asked, parts, strict=True)
                    if plain(part) not in _NO_ANSWER}
    raise NotUnderstoodError(
        f"the question has {len(asked)} parts ({', '.join(one.field.name for one in asked)}), and "
        f"{text[:60]!r} tells neither their names nor all of them in order")


def _value(asked: AskedPart, text: str) -> Value:
    field = asked.field
    if field.kind == "text":
        return text
    if len(text) > LONGEST:
        raise NotUnderstoodError(f"{field.name}: {len(text):,} characters are no choice")
    if field.kind == "number":
        return read_value(field, text)
    if field.kind == "one":
        return _choice(asked, text)
    return _choices(asked, text)


def _spellings(asked: AskedPart) -> Mapping[str, frozenset[str]]:
    """Each way in which an option may stand in a file, folded, to the options written so."""
    table: dict[str, set[str]] = {}
    for choice in asked.field.choices:
        ways = {choice.word, choice.shown, choice.text, asked.options[choice.word]}
        ways |= {f"{choice.word}) {choice.text}"} if choice.text else set(choice.also)
        for way in filter(None, ways):
            table.setdefault(fold(" ".join(way.split())), set()).add(choice.word)
    return {way: frozenset(words) for way, words in table.items()}


def _choice(asked: AskedPart, text: str) -> str:
    found = _spellings(asked).get(fold(" ".join(text.split())))
    if found is not None and len(found) == 1:
        return next(iter(found))
    if found:
        raise NotUnderstoodError(f"{asked.field.name}: {text[:60]!r} fits "
                                 f"{' and '.join(sorted(found))}")
    if any(choice.text for choice in asked.field.choices):  # a letter with another option's text
        raise NotUnderstoodError(f"{asked.field.name}: {text[:60]!r} is the letter or the text of "
                                 "no option of this form; is --seed the quiz's?")
    return str(read_value(asked.field, text))


def _choices(asked: AskedPart, text: str) -> Value:
    """Several options in one cell, whatever stands between them; their texts may hold commas."""
    field = asked.field
    if field.kind == "many" and fold(text) in {"none", "none of them"}:
        return ()
    if _LETTERS.fullmatch(text) and all(len(word) == 1 for word in field.words):
        return _as_kept(field, [_choice(asked, letter) for letter in text if letter.isalpha()])
    table, parts = _spellings(asked), list(_spans(text))
    if len(parts) > MOST_PIECES:
        raise NotUnderstoodError(f"{field.name}: more than {MOST_PIECES} choices in one cell")
    ways: list[set[tuple[str, ...]]] = [{()}, *(set() for _ in parts)]
    for end in range(1, len(parts) + 1):
        for start in range(end):
            whole = fold(" ".join(text[parts[start][0]:parts[end - 1][1]].split()))
            for word in table.get(whole, ()):
                ways[end] |= {(*before, word) for before in list(ways[start])[:MOST_PIECES]}
    found = {_as_kept(field, way) for way in ways[-1]}
    if len(found) == 1:
        return next(iter(found))
    if found or any(choice.text for choice in field.choices):
        raise NotUnderstoodError(f"{field.name}: {text[:60]!r} reads as "
                                 f"{'several sets' if found else 'no set'} of the options")
    return read_value(field, text)


def _as_kept(field: Field, words: Sequence[str]) -> tuple[str, ...]:
    if field.kind == "many":
        return tuple(word for word in field.words if word in words)
    if sorted(words) != sorted(field.words):
        raise NotUnderstoodError(f"{field.name}: not every step stands there once")
    return tuple(words)


def _spans(text: str) -> Iterator[tuple[int, int]]:
    """Where each piece between separators begins and ends; empty ones are left out."""
    start = 0
    for found in [*_BETWEEN.finditer(text), None]:
        end = found.start() if found else len(text)
        if text[start:end].strip():
            yield start, end
        start = found.end() if found else end
