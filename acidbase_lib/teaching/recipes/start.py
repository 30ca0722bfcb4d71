"""Recipes of the first day: what does it show, and a first thought that counts right or not."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType

from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.explanations.gas_table import gas_table
from acidbase_lib.teaching.explanations.reading_steps import disorder_of, label_of
from acidbase_lib.teaching.explanations.state_lines import state_because
from acidbase_lib.teaching.feedback.gas_reasons import label_told
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS, SOUND, Reader
from acidbase_lib.teaching.patients.cases import Case
from acidbase_lib.teaching.questions.exercise import RULES_IN_WORDS, Exercise
from acidbase_lib.teaching.questions.fields import Field, lettered
from acidbase_lib.teaching.questions.prompt import prompt_text, without_heading
from acidbase_lib.teaching.questions.question_file import Question, UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom
from acidbase_lib.teaching.worded import worded

from .many_patients import order_by_ph
from .parts import capital, letter, make_exercise
from .ranges import find_case, state_each_number


def what_it_shows(question: Question, draw: SeededRandom) -> Exercise:
    """One patient; the sound reading, and the one that each of the named `ideas` gives.

    With `plain` a reading is its disorder alone; with `pao2 = "low"` the oxygen is low.
    """
    says: Callable[[Reader, Case], str] = (
        (lambda reader, case: disorder_of(reader.read(case.gas)) or "no single name")
        if question.more.get("plain") else (lambda reader, case: label_of(reader.read(case.gas))))
    ideas = [MISCONCEPTIONS[name] for name in question.more["ideas"]]

    def readings(case: Case) -> list[str]:
        return list(dict.fromkeys(says(reader, case) for reader in (SOUND, *ideas)))

    def fits(case: Case) -> bool:
        if question.more.get("pao2") == "low" and not (
                case.gas.pao2 is not None and in_force().pao2.state(case.gas.pao2) == "low"):
            return False
        return len(readings(case)) == len(ideas) + 1

    case = find_case(question, draw, fits)
    labels = draw.shuffled(readings(case))
    asked = Field("answer", "one", lettered(_shown(label) for label in labels))
    shows = question.more.get("shows")
    return make_exercise(question, "choose one", (asked,), [case],
                         lambda reader: letter(labels, says(reader, case)),
                         because=(*state_because(SOUND.read(case.gas), case.gas),
                                  f"Read together: {says(SOUND, case)}."),
                         whys={"answer": label_told(case.gas, labels, asked.words)},
                         options=asked.choices,
                         report=gas_table(case.gas, shows, ranges=True))


def _shown(label: str) -> str:
    return "Normal: no acid–base disorder" if label == "normal" else capital(label)


ASKS: Mapping[str, Callable[[Question, SeededRandom], Exercise]] = MappingProxyType({
    "what it shows": what_it_shows,
    "order by pH": order_by_ph,
    "state each number": state_each_number,
})


def first_thought(question: Question, draw: SeededRandom) -> Exercise:
    """Another recipe, named by `asks`, whose points are earned by any complete answer.

    Raises
    ------
    UnitError
        There is no such recipe to ask by.
    """
    name = str(question.more.get("asks"))
    if name not in ASKS:
        raise UnitError(f"{question.id}: a first thought cannot be asked by {name!r}. "
                        f"It can be asked by {', '.join(ASKS)}.")
    asked = ASKS[name](question, draw)
    points = float(question.points or 1)
    stem = without_heading(asked.prompt).partition("\n\n")[2]
    rule = RULES_IN_WORDS[asked.kind] if asked.kind in {"choose one", "put in order"} else ""
    how = rule and f" {worded(rule)}"
    prompt = prompt_text(question.id, points, "first thought", stem, how)
    return replace(asked, kind="first thought", points=points, prompt=prompt)
