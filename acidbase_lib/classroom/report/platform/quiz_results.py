"""A quiz's answers from a platform's results file as everybody's results; nothing is guessed."""
from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Literal

from acidbase_lib.classroom.gradebook.roster import RosterLine, words_of
from acidbase_lib.classroom.phrases import number_of
from acidbase_lib.classroom.report.results import (
    MARKED,
    NOT_HANDED_IN,
    NOT_MARKED,
    LearnerResult,
)
from acidbase_lib.teaching.questions.answer_text import ChartAnswer
from acidbase_lib.teaching.questions.exercise import Exercise, Mark, mark

from .quiz_file import Answered, QuizFile
from .quiz_words import Piece, plain, read_answer

Attempt = Literal["", "first", "last"]


@dataclass(frozen=True, slots=True)
class Unread:
    """What could not be read: its row, who it is of as far as told, which question, and why."""

    row: int
    who: str
    question: str
    given: str
    why: str


@dataclass(frozen=True, slots=True)
class QuizResults:
    """What came of a results file.

    Parameters
    ----------
    results : tuple of LearnerResult
        One a person on the roster.
    exercises : mapping of str to Exercise
        The questions that the file has; the others are in no maximum.
    missing : tuple of str
        Questions of the quiz that the file does not have.
    unread : tuple of Unread
        Every cell or row that was not read.
    otherwise : tuple of Unread
        Where the platform's points are not the kit's.
    """

    results: tuple[LearnerResult, ...]
    exercises: Mapping[str, Exercise]
    missing: tuple[str, ...]
    unread: tuple[Unread, ...]
    otherwise: tuple[Unread, ...]


def quiz_results(file: QuizFile, exercises: Mapping[str, Exercise], roster: Sequence[RosterLine],
                 attempt: Attempt = "") -> QuizResults:
    """Mark what a results file holds, by the kit's own rules.

    Parameters
    ----------
    file : QuizFile
        As it was read.
    exercises : mapping of str to Exercise
        The questions that are in the quiz, with their keys.
    roster : sequence of RosterLine
        The class list.
    attempt : str
        Which attempt of a person counts, "first" or "last"; where left out, who has more than one
        is not marked.
    """
    there = MappingProxyType({one: e for one, e in exercises.items() if one in file.questions})
    people, unread = _People(roster), []
    of: dict[str, dict[str, list[Answered]]] = {line.learner: {} for line in roster}
    for one in file.rows:
        learner, why = people.whose(one)
        who = " ".join(dict.fromkeys((*filter(None, one.ids), *one.names)))[:100]
        if learner is None:
            unread.append(Unread(one.row, who, "", "", why))
            continue
        if one.unknown:
            unread.append(Unread(one.row, learner, one.unknown[:80], "",
                                 "this quiz has no such question"))
        single = one.attempt or (str(one.row) if file.shape == "a row a person" else "")
        of[learner].setdefault(single, []).append(one)
    maximum = float(sum(e.points for e in there.values()))
    results, otherwise = [], []
    for line in roster:
        result, not_read, other = _result(line, of[line.learner], there, maximum, attempt)
        results.append(result)
        unread += not_read
        otherwise += other
    return QuizResults(tuple(results), there,
                       tuple(one for one in exercises if one not in file.questions),
                       tuple(sorted(unread, key=lambda one: one.row)), tuple(otherwise))


def _result(line: RosterLine, attempts: Mapping[str, Sequence[Answered]],
            exercises: Mapping[str, Exercise], maximum: float, attempt: Attempt,
            ) -> tuple[LearnerResult, list[Unread], list[Unread]]:
    nothing = LearnerResult(line.learner, line.name or line.learner, NOT_HANDED_IN, None, maximum)
    if not any(one.pieces for rows in attempts.values() for one in rows):
        return nothing, [], []
    if len(attempts) > 1 and not attempt:
        why = (f"{len(attempts)} attempts stand in the file; say which counts with --attempt first "
               "or --attempt last")
        rows = [rows[0].row for rows in attempts.values()]
        return (replace(nothing, state=NOT_MARKED, why=f"{why[:1].upper()}{why[1:]}."),
                [Unread(row, line.learner, "", "", why) for row in rows], [])
    chosen = sorted(attempts, key=_turn(attempts))[-1 if attempt == "last" else 0]
    given: dict[str, list[Piece]] = {}
    for one in attempts[chosen]:
        for question, piece in one.pieces:
            given.setdefault(question, []).append(piece)
    marks, unread, otherwise, read = [], [], [], False
    for question, exercise in exercises.items():
        pieces = given.get(question, [])
        made, problems = _mark(exercise, pieces)
        marks.append(made)
        unread += [Unread(piece.row, line.learner, number_of(question), plain(piece.text)[:120],
                          why) for piece, why in problems]
        read |= not problems
        told = pieces[0].points if len(pieces) == 1 else None
        if told is not None and made.state != "waits for the instructor" and abs(
                told - made.points) > 0.005:
            otherwise.append(Unread(pieces[0].row, line.learner, number_of(question),
                                    plain(pieces[0].text)[:120],
                                    f"the platform gave {told:g}, this page {made.points:g}"))
    if not read:
        return replace(nothing, state=NOT_MARKED, why="None of the answers in the file could be "
                       "read; not_read.csv says why."), unread, otherwise
    score = round(math.fsum(one.points for one in marks), 4)
    return replace(nothing, state=MARKED, score=score, marks=tuple(marks)), unread, otherwise


def _turn(attempts: Mapping[str, Sequence[Answered]]) -> Callable[[str], int]:
    """By what attempts come one after another: their numbers, or else their rows."""
    if all(name.isascii() and name.isdigit() for name in attempts):
        return int
    return lambda name: attempts[name][0].row


def _mark(exercise: Exercise, pieces: Sequence[Piece]) -> tuple[Mark, list[tuple[Piece, str]]]:
    """A mark; one that waits for a person where the answer could not be read, never a zero."""
    values, problems = read_answer(exercise, pieces)
    missing = tuple(f.name for f in exercise.fields if f.name not in values)
    made = mark(exercise, ChartAnswer(MappingProxyType(values), missing, ()))
    if problems:
        made = replace(made, points=0.0, state="waits for the instructor", parts=(),
                       problems=tuple(f"Row {piece.row}: {why}" for piece, why in problems))
    return made, problems


class _People:
    """Who is called by a row's cells: by an id of the roster, else by a whole name."""

    def __init__(self, roster: Iterable[RosterLine]) -> None:
        self._ids: dict[tuple[str, ...], set[str]] = {}
        self._also: dict[tuple[str, ...], set[str]] = {}
        self._names: dict[tuple[str, ...], set[str]] = {}
        for line in roster:
            self._ids.setdefault(line.by_id, set()).add(line.learner)
            for words in {*line.also} - {line.by_id}:
                self._also.setdefault(words, set()).add(line.learner)
            if line.by_name:
                self._names.setdefault(line.by_name, set()).add(line.learner)

    def whose(self, row: Answered) -> tuple[str | None, str]:
        """Return whose a row is, or None and why."""
        by_id: set[str] = set()
        for cell in filter(None, row.ids):
            words = words_of(cell)
            found = self._ids.get(words) or self._also.get(words) or set()
            by_id |= {one for one in found if one == cell} or found
        by_name = {who for name in row.names for who in self._names.get(_in_order(name), ())}
        found = by_id & by_name if by_id and by_name else by_id or by_name
        if len(found) == 1 and len(by_id) < 2:
            return next(iter(found)), ""
        if by_id and by_name and not found:
            return None, "the id is one person's, the name another's"
        if found or len(by_id) > 1:
            return None, f"it may be {' or '.join(sorted(found or by_id)[:5])}"
        return None, "nobody on the roster has this id or name"


def _in_order(name: str) -> tuple[str, ...]:
    """A name's words, the family name last: "Kurz, Mei" is Mei Kurz."""
    last, comma, first = name.partition(",")
    return words_of(f"{first} {last}" if comma else last)
