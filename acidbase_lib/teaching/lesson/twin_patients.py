"""What was wrong at the first try, each with a twin: the same right answer, other numbers."""
from __future__ import annotations

import re
import secrets
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

from acidbase_lib.reading.wording import ended, side_by_side
from acidbase_lib.teaching.questions.answer_text import ChartAnswer
from acidbase_lib.teaching.questions.exercise import Exercise, Mark, mark, same, shown
from acidbase_lib.teaching.questions.fields import Choice, Field, Value
from acidbase_lib.teaching.questions.marked import Part
from acidbase_lib.teaching.questions.question_file import Question, UnitPlan
from acidbase_lib.teaching.recipes.book import cook_one
from acidbase_lib.teaching.seeded_random import SeededRandom

from .asking import AskedQuestion

_REDRAWS = 60
_ENOUGH = 20  # of them for one whose only fault is another right answer
_A_GAS = re.compile(r"pH \d")
_TOLD = ("patient", "options", "looks", "notes", "reasons")  # what a prompt says of a scene
SAME_STORY = "It is the same story once more, about somebody else."


def first_tries(answer: ChartAnswer) -> ChartAnswer:
    """Return the answer as it stood at the first try: as it stands, where no other is kept."""
    first = getattr(answer, "first", None)
    if first is None:
        return answer
    return replace(answer, values=first.values, missing=(), problems=())


def wrong_ones(exercises: Mapping[str, Exercise],
               answer: Callable[[str], ChartAnswer]) -> dict[str, Mark]:
    """Return the marks of the questions that were answered and not right at the first try.

    A question that only a person can mark, or whose any answer counts, is left out; the former is
    told by ``without_twin``.
    """
    found = {}
    for name, exercise in exercises.items():
        if exercise.key is None or exercise.kind in ("rationale", "first thought"):
            continue
        first = first_tries(answer(name))
        if first.values and not all(part.right for part in mark(exercise, first).parts):
            found[name] = mark(exercise, first)
    return found


def without_twin(exercises: Mapping[str, Exercise], answer: Callable[[str], ChartAnswer]) -> str:
    """Say which answered questions bring no twin, since no rule can tell whether they are right.

    Empty where there is none.
    """
    read = [name.removeprefix("q").replace("-", ".") for name, exercise in exercises.items()
            if exercise.key is None and answer(name).values]
    if not read:
        return ""
    named = f"{', '.join(read[:-1])} and {read[-1]}" if read[1:] else read[0]
    return (f"Question{'s' if read[1:] else ''} {named} {'have' if read[1:] else 'has'} no twin: "
            "a person reads what you wrote, so no rule can tell whether it was right.")


def twins_of(plan: UnitPlan, exercises: Mapping[str, Exercise], wrong: Mapping[str, Mark],
             seed: str = "") -> list[AskedQuestion]:
    """Return a twin for each wrong question; another patient at each further turn."""
    draw = SeededRandom(f"{plan.id}|twins|{seed or secrets.token_hex(8)}")
    asked = {question.id: question for question in plan.questions}
    return [AskedQuestion(f"A twin of question {name.removeprefix('q').replace('-', '.')}",
                          _first_try(exercises[name], result),
                          _drawer(plan, exercises[name], result, draw.branch(name)), again=True,
                          more_note=_seen_before(asked[name]))
            for name, result in wrong.items()]


def scene_of(question: Question, exercise: Exercise) -> int | None:
    """Return which of a question's scenes an exercise was made of; None where it has none."""
    scenes = question.more.get("scenes") or ()
    prompt = " ".join(exercise.prompt.split())

    def found(scene: object) -> float:
        parts = [" ".join(part.split()) for text in _texts(scene)
                 for part in re.split(r"\{\w+\}", text)]
        long = [part for part in parts if len(part) > 12]
        return sum(part in prompt for part in long) / max(len(long), 1)

    told = [found({name: scene[name] for name in _TOLD if name in scene}) for scene in scenes]
    return told.index(max(told)) if told else None


def _texts(told: object) -> Iterator[str]:
    if isinstance(told, str):
        yield told
    elif isinstance(told, Mapping):
        for one in told.values():
            yield from _texts(one)


def _seen_before(question: Question) -> Callable[[int], str]:
    """What is said of a twin when every scene of its question has been shown."""
    scenes = len(question.more.get("scenes") or ())
    return lambda turn: SAME_STORY if 0 < scenes <= turn + 1 else ""


def _drawer(plan: UnitPlan, exercise: Exercise, result: Mark,
            draw: SeededRandom) -> Callable[[int], Exercise]:
    question = next(question for question in plan.questions if question.id == exercise.id)
    seen = {exercise.prompt}
    scenes = len(question.more.get("scenes") or ())
    shown_of = [0] * scenes
    if (first := scene_of(question, exercise)) is not None:
        shown_of[first] += 1

    def faults(made: Exercise) -> tuple[int, bool, bool, int]:
        """What speaks against a twin, the worst first; all zero: it is as it should be."""
        scene = scene_of(question, made)
        return (now_right(exercise, result, made), made.prompt in seen,
                scene is not None and shown_of[scene] > min(shown_of),
                other_answers(exercise, result, made))

    def twin(turn: int) -> Exercise:
        best, least = exercise, None
        for again in range(_REDRAWS):
            fresh = draw.branch(f"{turn}|{again}")
            made = cook_one(plan, question, fresh.whole(1_000, 999_999), 0, fresh.whole(0, 3))
            found = faults(made)
            if least is None or found < least:
                best, least = made, found
            if not any(least[:3]) and (again >= _ENOUGH or not least[3]):
                break
        seen.add(best.prompt)
        if (scene := scene_of(question, best)) is not None:
            shown_of[scene] += 1
        return best

    return twin


def now_right(exercise: Exercise, result: Mark, made: Exercise) -> int:
    """Count the wrong answers to an exercise that would be right in another one."""
    fields = {field.name: field for field in made.fields}
    return sum(part.field in fields and _holds(exercise, part, made, fields[part.field])
               for part in result.parts if not part.right and part.given is not None)


def _holds(exercise: Exercise, part: Part, made: Exercise, asked: Field) -> bool:
    key = (made.key or {}).get(part.field)
    if asked.kind in ("number", "order"):
        return same(asked, part.given, key, made.within.get(part.field, 0.0))
    wrong = _meant(exercise, part.field, part.given) - _meant(exercise, part.field, part.key)
    return bool(wrong & _meant(made, part.field, key))


def other_answers(exercise: Exercise, result: Mark, made: Exercise) -> int:
    """Count the lines answered wrong whose right answer is another one in another exercise."""
    pairs = [(_meant(exercise, part.field, part.key), made_means) for part in result.parts
             if not part.right and part.field in (made.key or {})
             and (made_means := _meant(made, part.field, (made.key or {})[part.field]))]
    return sum(not before & after for before, after in pairs)


def _meant(exercise: Exercise, name: str, value: Value | None) -> frozenset[str]:
    """What an answer says whatever its letters and numbers; empty for a number and for an order."""
    asked = next(field for field in exercise.fields if field.name == name)
    if value is None or isinstance(value, float) or asked.kind not in ("one", "many"):
        return frozenset()
    chosen = value if isinstance(value, tuple) else (value,)
    why = exercise.why.get(name, {})
    return frozenset(_says(choice, why.get(choice.word, "")) for choice in asked.choices
                     if choice.word in chosen)


def _says(choice: Choice, why: str) -> str:
    """An author's name of a choice, or its text; of a gas, what is told of it first."""
    if why and _A_GAS.match(choice.text):
        return re.sub(r"[\d.−]+", "", why.partition(". ")[0])
    return choice.nickname or choice.text or choice.word


def _first_try(exercise: Exercise, result: Mark) -> str:
    wrong = side_by_side(
        f"{part.field}: {shown(exercise, part.field, part.given).rstrip('.')}"
        if part.given is not None else f"{part.field}: nothing"
        for part in result.parts if not part.right)
    return f"Not right at your first try: {ended(wrong)}"
