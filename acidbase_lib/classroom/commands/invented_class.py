"""An invented class: names, known habits, and the notebooks such learners would hand in."""
from __future__ import annotations

import copy
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import cycle
from typing import Any, Literal

from acidbase_lib.classroom.diagnosis.observation import Observation
from acidbase_lib.classroom.notebooks.read_notebook import ANSWER, grade_id_of
from acidbase_lib.teaching.patients.people_names import names
from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import Field, Value
from acidbase_lib.teaching.seeded_random import SeededRandom

Habit = Literal["sound", "careless", "one idea", "two ideas", "left out", "guesses",
                "broken file", "copied cell"]

# how 24 learners are shared out; another number keeps the shares
MIX: tuple[tuple[Habit, int], ...] = (
    ("sound", 4), ("careless", 4), ("one idea", 10), ("two ideas", 1), ("left out", 2),
    ("guesses", 1), ("broken file", 1), ("copied cell", 1),
)
SLIPS: Mapping[Habit, float] = {"careless": 0.12, "one idea": 0.04, "two ideas": 0.03,
                                "left out": 0.03}
_IDEA_SHARES = (4, 3, 2, 1)  # of ten learners with one idea each

_GIVEN = ("Amina", "Tomas", "Mei", "Grace", "Diego", "Ingrid", "Kwame", "Leila", "Noah", "Priya",
          "Sofia", "Yusuf", "Hana", "Marcus", "Ruth", "Ivan", "Camila", "Dalia", "Owen", "Nkechi",
          "Bao", "Elena", "Malik", "Wren", "Aroha", "Samir", "Clara", "Joon", "Thandi", "Peter")
_SHORTER = {"respiratory acidosis": "resp acidosis", "metabolic acidosis": "met acidosis",
            "respiratory alkalosis": "resp alkalosis", "metabolic alkalosis": "met alkalosis",
            "partially compensated": "partial", "fully compensated": "full",
            "low": "decreased", "high": "raised", "normal": "in range"}


@dataclass(frozen=True, slots=True)
class InventedLearner:
    """A learner who does not exist, and how this one answers."""

    learner: str
    name: str
    habit: Habit
    ideas: tuple[str, ...] = ()
    slip: float = 0.0
    style: str = "as offered"


def invent_class(size: int, ideas: Sequence[str], seed: int = 1) -> tuple[InventedLearner, ...]:
    """Invent a class.

    Parameters
    ----------
    size : int
        How many learners.
    ideas : sequence of str
        The wrong ideas to plant, the commonest first.
    seed : int
        The same seed gives the same class.
    """
    draw = SeededRandom(f"invented class|{seed}")
    habits = draw.shuffled(_habits(size))
    given, family = draw.shuffled(_GIVEN), draw.shuffled(names()["learner_family"])
    one = cycle(i for i, share in zip(ideas[:4], _IDEA_SHARES, strict=False) for _ in range(share))
    styles = cycle(("as offered", "shorter", "capitals", "as offered"))
    learners = []
    for n, habit in enumerate(habits):
        held: tuple[str, ...] = ()
        if ideas and habit == "one idea":
            held = (next(one),)
        elif len(ideas) > 1 and habit == "two ideas":
            held = (ideas[0], ideas[-1])
        # A second family name keeps names apart in classes larger than the lists.
        surname = family[n % len(family)]
        if n >= len(family):
            surname += "-" + family[(n + n // len(family)) % len(family)]
        learners.append(InventedLearner(f"hl{n + 1:03d}", f"{given[n % len(given)]} {surname}",
                                        habit, held, SLIPS.get(habit, 0.0), next(styles)))
    return tuple(learners)


def _habits(size: int) -> list[Habit]:
    total = sum(count for _, count in MIX)
    exact = [(habit, size * count / total) for habit, count in MIX]
    habits = [habit for habit, share in exact for _ in range(int(share))]
    by_rest = sorted(exact, key=lambda pair: int(pair[1]) - pair[1])
    return habits + [habit for habit, _ in by_rest[:size - len(habits)]]


def answers_of(learner: InventedLearner, exercises: Mapping[str, Exercise], seed: int = 1,
               ) -> dict[str, dict[str, Value]]:
    """What a learner answers to each question; a question left out is not there."""
    draw = SeededRandom(f"{learner.learner}|{seed}")
    left_out = set(draw.shuffled(exercises)[:max(2, len(exercises) // 2)]
                   if learner.habit == "left out" else ())
    return {question: _answer(learner, exercise, draw.branch(question))
            for question, exercise in exercises.items() if question not in left_out}


def _answer(learner: InventedLearner, exercise: Exercise, draw: SeededRandom) -> dict[str, Value]:
    values: dict[str, Value] = {}
    for field in exercise.fields:
        key = (exercise.key or {}).get(field.name)
        if field.kind == "text" or key is None:
            values[field.name] = "I looked at the pH first, then at what moved with it."
            continue
        seen = Observation(exercise.id, field.name, key, key, {
            idea: answers.get(field.name) for idea, answers in exercise.predicted.items()})
        ideal = seen.ideal(learner.ideas)
        value = draw.pick(ideal) if ideal else _another(field, key, draw, anything=True)
        if learner.habit == "guesses":
            value = _another(field, key, draw, anything=True)
        elif draw.chance(learner.slip):
            value = _another(field, value, draw)
        values[field.name] = value
    return values


def _another(field: Field, value: Value, draw: SeededRandom, *, anything: bool = False) -> Value:
    """Another of the answers one could give to a field."""
    words = field.words
    if field.kind == "one" and words:
        return draw.pick([w for w in words if anything or w != value])
    if field.kind == "many" and isinstance(value, tuple):
        turned = ({w for w in words if draw.chance(0.5)} if anything
                  else set(value) ^ {draw.pick(words)})
        return tuple(w for w in words if w in turned)
    if field.kind == "order":
        return tuple(draw.shuffled(words))
    return value * draw.pick((0.8, 0.9, 1.1, 1.25)) if isinstance(value, float) else value


def typed(exercise: Exercise, values: Mapping[str, Value], style: str) -> str:
    """A chart cell as this learner types it: the words offered, shorter ones, or in capitals."""
    plain = write_chart(exercise.id, exercise.fields, values)
    first, *lines = plain.split("\n")
    if style == "capitals":
        lines = [line.upper() for line in lines]
    elif style == "shorter":
        lines = [f"{name}: {_SHORTER.get(value.strip(), value.strip())}"
                 for name, _, value in (line.partition(":") for line in lines)]
    written = "\n".join([first, *lines])
    same = parse_chart(written, exercise.fields).values == parse_chart(plain,
                                                                       exercise.fields).values
    return written if same else plain


def submission(learner: InventedLearner, release: Mapping[str, Any],
               exercises: Mapping[str, Exercise], seed: int = 1) -> bytes:
    """The notebook file that a learner hands in.

    Parameters
    ----------
    learner : InventedLearner
        Who, and with which habit.
    release : mapping
        The released notebook's content.
    exercises : mapping
        Its exercises.
    seed : int
        The class's seed.
    """
    notebook = copy.deepcopy(dict(release))
    given = answers_of(learner, exercises, seed)
    for cell, question in _answer_cells(notebook):
        if question in given and question in exercises:
            cell["source"] = typed(exercises[question], given[question], learner.style)
    if learner.habit == "copied cell":
        place, cell = next((i, c) for i, c in enumerate(notebook["cells"])
                           if str(grade_id_of(c)).endswith(ANSWER))
        twin = copy.deepcopy(cell)
        twin["id"] = "copied-by-hand"
        notebook["cells"].insert(place + 1, twin)
    text = json.dumps(notebook, ensure_ascii=False, indent=1).encode()
    return text[:len(text) * 3 // 5] if learner.habit == "broken file" else text


def _answer_cells(notebook: Mapping[str, Any]) -> Iterator[tuple[dict[str, Any], str]]:
    for cell in notebook["cells"]:
        name = grade_id_of(cell) or ""
        if name.endswith(ANSWER):
            yield cell, name.removesuffix(ANSWER)
