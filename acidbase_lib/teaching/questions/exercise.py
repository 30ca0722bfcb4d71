"""An exercise and its mark: every kind of question and the rule that gives its points."""
from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from types import MappingProxyType
from typing import Any, Final, Literal

from acidbase_lib.reading.wording import side_by_side

from .answer_text import ChartAnswer, show_value
from .fields import Field, Value
from .marked import FirstMark as FirstMark
from .marked import Mark as Mark
from .marked import MarkState as MarkState
from .marked import Part as Part

ExerciseKind = Literal[
    "choose one",
    "several parts",
    "select all",
    "put in order",
    "grid",
    "number",
    "linked pair",
    "rationale",
    "first thought",
]
Answers = Mapping[str, Value]
Why = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Exercise:
    """One question, ready to be asked and marked.

    Parameters
    ----------
    id : str
        Such as "q2-3".
    kind : str
        Decides the marking rule; see ``RULES``.
    points : float
        The most that can be earned.
    prompt : str
        Markdown; reads well before anything is run.
    fields : tuple of Field
        What is asked for.
    key : mapping or None
        The right value of each field; None where only the author's hidden test holds it.
    because : tuple of str
        Why the key is right, step by step.
    predicted : mapping
        Misconception key to the answers that a learner holding it would give.
    within : mapping
        For a number: how far from the key still counts. [the field's unit]
    origin : str
        The unit's question that a form has put into this place; empty where it stands in its own.
    why : mapping
        Field to option to one reason: why a wrong option fails for this patient, and why a right
        one holds. Of a number the options are "low" and "high": too low, too high.
    settles : mapping
        Field to the step of this very gas or scene that decides it; it may name the key.
    claims : mapping
        Field to option to what whoever chooses it takes for true, in one form of words.
    recipe : str
        The recipe that made it.
    limits : mapping
        Field to the range of its number, as printed; a form shows it once that is told.
    model_call, ticks : tuple of str
        Of a question in one's own words: an answer that earns every point, a line a part, and
        what a reader looks for. Shown after the learner has written.
    judged : bool
        Whether judgment gave the key: then a school's own key wins over it.
    """

    id: str
    kind: ExerciseKind
    points: float
    prompt: str
    fields: tuple[Field, ...]
    key: Answers | None
    because: tuple[str, ...] = ()
    predicted: Mapping[str, Answers] = field(default_factory=dict)
    within: Mapping[str, float] = field(default_factory=dict)
    drivers: Mapping[str, Any] = field(default_factory=dict)
    origin: str = ""
    why: Mapping[str, Why] = field(default_factory=dict)
    settles: Mapping[str, str] = field(default_factory=dict)
    limits: Mapping[str, str] = field(default_factory=dict)
    claims: Mapping[str, Why] = field(default_factory=dict)
    recipe: str = ""
    model_call: tuple[str, ...] = ()
    ticks: tuple[str, ...] = ()
    judged: bool = False


def mark(exercise: Exercise, answer: ChartAnswer, key: Answers | None = None) -> Mark:
    """Mark one answer.

    Parameters
    ----------
    exercise : Exercise
        The question.
    answer : ChartAnswer
        What the chart cell says.
    key : mapping, optional
        An authored key, where the exercise has none of its own.

    Returns
    -------
    Mark
        Points are a built-in float between 0 and the exercise's points.
    """
    right = exercise.key if exercise.key is not None else key
    problems = tuple(problem.sentence for problem in answer.problems)
    if exercise.kind == "rationale" or right is None:
        parts = tuple(Part(f.name, answer.values.get(f.name), None, False)
                      for f in exercise.fields)
        return Mark(exercise.id, 0.0, float(exercise.points), "waits for the instructor"
                    if answer.values else "blank", parts, problems)
    parts = tuple(_part(exercise, f, answer.values.get(f.name), right) for f in exercise.fields)
    share = RULES[exercise.kind](exercise, parts)
    state: MarkState = ("answered" if answer.complete else
                        "blank" if answer.blank else "incomplete")
    return Mark(exercise.id, round(float(exercise.points) * share, 4), float(exercise.points),
                state, parts, problems)


def _part(exercise: Exercise, asked: Field, given: Value | None, key: Answers) -> Part:
    right = same(asked, given, key.get(asked.name), exercise.within.get(asked.name, 0.0))
    suggests = () if right or given is None else tuple(
        name for name, answers in exercise.predicted.items()
        if asked.name in answers and same(asked, given, answers[asked.name],
                                           exercise.within.get(asked.name, 0.0)))
    return Part(asked.name, given, key.get(asked.name), right, suggests)


def same(asked: Field, given: Value | None, wanted: Value | None, within: float) -> bool:
    """Whether two values are one answer to a field; `within` is a number's tolerance."""
    if given is None or wanted is None:
        return False
    if asked.kind == "number":
        return abs(float(given) - float(wanted)) <= within + 1e-9  # type: ignore[arg-type]
    return given == wanted


def share_of_parts(exercise: Exercise, parts: Sequence[Part]) -> float:
    """One point a part."""
    return sum(part.right for part in parts) / len(parts)


def all_or_nothing(exercise: Exercise, parts: Sequence[Part]) -> float:
    """Both right or nothing."""
    return float(all(part.right for part in parts))


def plus_minus(exercise: Exercise, parts: Sequence[Part]) -> float:
    """+1 for a right choice, -1 for a wrong one, never below zero."""
    earned, most = 0, 0
    for part in parts:
        key = set(part.key or ()) if isinstance(part.key, tuple) else set()
        given = set(part.given or ()) if isinstance(part.given, tuple) else set()
        earned += max(0, len(given & key) - len(given - key))
        most += len(key)
    return earned / most if most else float(all(part.right for part in parts))


def steps_in_order(exercise: Exercise, parts: Sequence[Part]) -> float:
    """One point for each step that directly follows the step it should follow."""
    kept = most = 0
    for part in parts:
        key = part.key if isinstance(part.key, tuple) else ()
        given = part.given if isinstance(part.given, tuple) else ()
        wanted = set(pairwise(key))
        kept += len(wanted & set(pairwise(given)))
        most += len(wanted)
    return kept / most if most else 0.0


def any_answer(exercise: Exercise, parts: Sequence[Part]) -> float:
    """A first thought counts, right or not: what is asked for is an answer on every line."""
    return sum(part.given is not None for part in parts) / len(parts)


RULES: Mapping[str, Callable[[Exercise, Sequence[Part]], float]] = MappingProxyType({
    "choose one": share_of_parts,
    "several parts": share_of_parts,
    "grid": share_of_parts,
    "number": share_of_parts,
    "select all": plus_minus,
    "put in order": steps_in_order,
    "linked pair": all_or_nothing,
    "first thought": any_answer,
})

#: The one phrase for a choice of several, wherever a learner meets it.
SELECT_ALL: Final = "Select all that apply."

RULES_IN_WORDS: Mapping[str, str] = MappingProxyType({
    "choose one": "Choose one.",
    "several parts": "One point a line.",
    "grid": "One point a row.",
    "number": "Write a number; the unit may be left out.",
    "select all": f"{SELECT_ALL} A wrong choice takes a point away, never below zero.",
    "put in order": "Put in order, first to last.",
    "linked pair": "Both must be right.",
    "first thought": "Your first thought: any complete answer earns the point.",
    "rationale": "Write a few sentences. Your instructor reads this one and gives the points.",
})


def points_in_words(points: float) -> str:
    """Return a number of points as a prompt and a page print it.

    Examples
    --------
    >>> points_in_words(1), points_in_words(2.5)
    ('1 point', '2.5 points')
    """
    return f"{points:g} point{'' if points == 1 else 's'}"


def shown(exercise: Exercise, name: str, value: Value | None) -> str:
    """Return an answer to one field as a person reads it, the option's text beside its letter."""
    asked = next(f for f in exercise.fields if f.name == name)
    texts = {choice.word: choice.shown for choice in asked.choices}
    if isinstance(value, tuple):
        return side_by_side(texts.get(word, word) for word in value) or "none of them"
    return texts.get(value, "") if isinstance(value, str) and value in texts else \
        show_value(asked, value)
