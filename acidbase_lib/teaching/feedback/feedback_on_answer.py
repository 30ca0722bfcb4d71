"""Feedback on one answer: a verdict, why each line fails or holds, an idea, hints and reasons."""
from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.answer_text import ChartAnswer
from acidbase_lib.teaching.questions.exercise import Exercise, Part, mark, shown
from acidbase_lib.teaching.worded import worded, worded_many

from .guess_compared import counts_for_nothing, holds, lines_beside, verdict_beside
from .hints import hints_for
from .named_idea import named_idea
from .reasons import first_reasons

MODEL = "One way to say it:"
_AT_LEAST_ONE = "At least one of them is right."
TICK = "Tick what is in it, one point each:"


@dataclass(frozen=True, slots=True)
class LineFeedback:
    """What is said of one line of an answer.

    Attributes
    ----------
    field : str
        As printed before the colon.
    given : str
        As a person reads it; empty where nothing was given.
    right : bool or None
        None where nobody holds a key to this line.
    why : str
        Wrong: why the chosen option fails here. Right: why it holds. An option a line.
    reading : str
        The step of this very gas or scene that settles the line; it may name the key.
    partly : bool
        Whether a choice of several that is not right holds a right one.
    left : str
        How many right options such a choice leaves out, for whoever may try again.
    """

    field: str
    given: str
    right: bool | None
    why: str
    reading: str
    partly: bool = False
    left: str = ""


@dataclass(frozen=True, slots=True)
class Feedback:
    """All that is said of one answer.

    Attributes
    ----------
    verdict : str
        Begins with "Right" or "Not right yet" wherever there is a key.
    idea : str or None
        A misconception's key, only if its program explains the whole answer.
    idea_says : str
        What to say of it; empty without one.
    hints : tuple of str
        In steps; the first never gives the key.
    reasons : tuple of str
        Up to four to choose from after an error, the right one among them.
    right_reason : int
        Its place among them.
    reading : tuple of str
        The whole reading of this gas or scene.
    right : bool
        Whether all of it is right, as far as there is a key.
    """

    question: str
    verdict: str
    lines: tuple[LineFeedback, ...]
    idea: str | None
    idea_says: str
    hints: tuple[str, ...]
    reasons: tuple[str, ...]
    right_reason: int
    reading: tuple[str, ...]
    right: bool = False


def feedback_on(exercise: Exercise, answer: ChartAnswer) -> Feedback:
    """Return what is said of an answer to a question.

    Parameters
    ----------
    exercise : Exercise
        The question, as its recipe made it.
    answer : ChartAnswer
        What the answer cell says; lines that were not understood count as not given.
    """
    if counts_for_nothing(exercise):
        return Feedback(exercise.id, verdict_beside(exercise, answer), (), None, "", (), (), 0,
                        tuple(lines_beside(exercise, answer)), holds(exercise, answer))
    result = mark(exercise, answer)
    keyed = is_keyed(exercise)
    lines = tuple(line_feedback(exercise, part) for part in result.parts)
    idea = named_idea(exercise, answer.values) if keyed else None
    wrong = next((part for part in result.parts if not part.right), None) if keyed else None
    hints = hints_for(exercise, wrong.field) if wrong else ()
    reasons, right = first_reasons(exercise, result.parts) if keyed else ((), 0)
    reading = exercise.because if keyed else tuple(held_against(exercise, answer.blank))
    return Feedback(exercise.id, verdict(exercise, lines), lines, idea,
                    MISCONCEPTIONS[idea].suggests if idea else "", hints, reasons, right, reading,
                    all(line.right is True for line in lines))


def held_against(exercise: Exercise, blank: bool) -> Iterator[str]:
    """Yield a model and what a reader looks for, once the learner has written; else nothing."""
    if blank or exercise.kind != "rationale":
        return
    if exercise.model_call:
        yield worded(MODEL)
        yield from exercise.model_call
    if exercise.ticks:
        yield worded(TICK)
        yield from (tick.replace("**", "") for tick in exercise.ticks)


def is_keyed(exercise: Exercise) -> bool:
    """Whether an answer can be judged here: a key is known, and no person has to read it."""
    return exercise.key is not None and exercise.kind != "rationale"


def verdict(exercise: Exercise, lines: tuple[LineFeedback, ...]) -> str:
    """Return the line that stands above all others."""
    if exercise.kind == "rationale":
        return (worded("Kept. Hold your words against the model below, and tick what is in them.")
                if exercise.model_call else worded("Kept. A person reads this one."))
    if not is_keyed(exercise):
        return worded("Kept. Your school holds the key to this question: ask your instructor.")
    right = sum(line.right is True for line in lines)
    first = (f" {worded('Any complete answer earns the point of a first thought.')}"
             if exercise.kind == "first thought" else "")
    if right == len(lines):
        return f"{worded('Right.')}{first}"
    if len(lines) == 1:
        return f"{worded('Not right yet.')}{first}"
    both = (f" {worded('Here both lines must be right.')}" if exercise.kind == "linked pair" else
            "")
    told = worded_many("Not right yet: {n} of {all} lines is right.",
                       "Not right yet: {n} of {all} lines are right.", right, all=len(lines))
    return f"{told}{both}{first}"


def line_feedback(exercise: Exercise, part: Part) -> LineFeedback:
    """Return what is said of one marked line."""
    given = "" if part.given is None else shown(exercise, part.field, part.given).rstrip(".")
    if not is_keyed(exercise):
        return LineFeedback(part.field, given, None, "", "")
    told = LineFeedback(part.field, given, part.right, why_of(exercise, part),
                        exercise.settles.get(part.field, ""))
    if part.right or not isinstance(part.key, tuple) or not isinstance(part.given, tuple):
        return told
    if next(f for f in exercise.fields if f.name == part.field).kind != "many":
        return told
    found = set(part.given) & set(part.key)
    return replace(told, partly=bool(found), left=_left(len(part.key) - len(found), bool(found)))


def why_of(exercise: Exercise, part: Part) -> str:
    """Return why a given answer fails or holds; it does not name the key of a wrong line."""
    asked = next(f for f in exercise.fields if f.name == part.field)
    why, settles = exercise.why.get(part.field, {}), exercise.settles.get(part.field, "")
    if part.given is None:
        return worded("Nothing is answered here yet.")
    if asked.kind == "many":
        return _many(why, part) or (settles if part.right else worded(_AT_LEAST_ONE))
    if asked.kind == "order":
        return settles if part.right else _order(why, part)
    if part.right:
        return why.get(str(part.given), "") if asked.kind == "one" else settles
    if asked.kind == "number" and isinstance(part.key, float) and isinstance(part.given, float):
        return (why.get(f"{part.given:g}")
                or why.get("low" if part.given < part.key else "high", ""))
    return why.get(str(part.given), "")


def _many(why: Mapping[str, str], part: Part) -> str:
    """Of a choice of several: each ticked one right or not, a line each."""
    given = part.given if isinstance(part.given, tuple) else ()
    key = part.key if isinstance(part.key, tuple) else ()
    return "\n".join(worded("{option}: right.", option=word) if word in key else
                     f"{worded('{option}: not right.', option=word)} {why.get(word, '')}".strip()
                     for word in given)


def _left(count: int, some: bool) -> str:
    if not count:
        return ""
    if some:
        return worded_many("{n} more option is right.", "{n} more options are right.", count)
    return worded_many("{n} option is right.", "{n} options are right.", count)


def _order(why: Mapping[str, str], part: Part) -> str:
    """Where it goes wrong: from the other end, or at the first two neighbors that should change."""
    given = part.given if isinstance(part.given, tuple) else ()
    key = part.key if isinstance(part.key, tuple) else ()
    if len(given) > 2 and given == key[::-1]:
        return worded("You began at the other end, with {step}, so all of it stands the wrong way "
                      "round. Read again what comes first.",
                      step=f"{given[0]}{_what(why, given[0])}")
    for before, after in pairwise(given):
        if before in key and after in key and key.index(before) > key.index(after):
            return worded("You put {before} before {after}. Of these two, {first} comes first.",
                          before=f"{before}{_what(why, before)}",
                          after=f"{after}{_what(why, after)}", first=after)
    return worded("Write each letter once, from first to last.")


def _what(why: Mapping[str, str], word: str) -> str:
    """What places a letter, in brackets."""
    return f" ({why[word].rstrip('.')})" if why.get(word) else ""
