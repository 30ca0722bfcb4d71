"""A sitting of four questions and a class of a few learners, made by hand for the tests."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from acidbase_lib.classroom.report.results import MARKED, NOT_MARKED, REPAIRED, LearnerResult
from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart
from acidbase_lib.teaching.questions.exercise import Exercise, Mark, mark
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Value


@dataclass(frozen=True)
class Idea:
    key: str
    name: str
    suggests: str
    card: str
    unit: str = "02_primary_disorder"


MISCONCEPTIONS: Mapping[str, Idea] = MappingProxyType({
    "ph backwards": Idea("ph backwards", "A low pH is called alkaline",
                         "You seem to read a low pH as alkaline.", "Acid is low. Say it aloud."),
    "always breathing": Idea("always breathing", "Every disorder is blamed on the lungs",
                             "You seem to name the lungs before looking at the bicarbonate.",
                             "Look at both numbers before you name a side."),
})


def exercise(number: int, ph: str, disorder: str, backwards: str, breathing: str) -> Exercise:
    fields = (STANDARD_FIELDS["pH"], STANDARD_FIELDS["disorder"])
    key = {"pH": ph, "disorder": disorder}
    other = "high" if ph == "low" else "low"
    predicted = {"ph backwards": {"pH": other, "disorder": backwards}}
    if breathing != disorder:
        predicted["always breathing"] = {"pH": ph, "disorder": breathing}
    return Exercise(f"q{number}", "several parts", 2.0,
                    f"**Question {number}** (2 points).\n\nThe gas of bed {number}.", fields, key,
                    (f"The pH is {ph}.", f"So the name is {disorder}."),
                    MappingProxyType(predicted))


EXERCISES: Mapping[str, Exercise] = MappingProxyType({e.id: e for e in (
    exercise(1, "low", "metabolic acidosis", "metabolic alkalosis", "respiratory acidosis"),
    exercise(2, "high", "metabolic alkalosis", "metabolic acidosis", "respiratory alkalosis"),
    exercise(3, "low", "respiratory acidosis", "respiratory alkalosis", "respiratory acidosis"),
    exercise(4, "low", "metabolic acidosis", "metabolic alkalosis", "respiratory acidosis"),
)})


def answered(question: str, values: Mapping[str, Value]) -> Mark:
    asked = EXERCISES[question]
    return mark(asked, parse_chart(write_chart(question, asked.fields, values), asked.fields))


def sheet(idea: str | None = None, left_out: tuple[str, ...] = ()) -> tuple[Mark, ...]:
    """The marks of a learner who answers every question as the idea would."""
    return tuple(answered(q, {} if q in left_out else
                          {**e.key, **(e.predicted.get(idea, {}) if idea else {})})
                 for q, e in EXERCISES.items())


def result(learner: str, name: str, idea: str | None = None, left_out: tuple[str, ...] = (),
           repairs: tuple[str, ...] = ()) -> LearnerResult:
    marks = sheet(idea, left_out)
    return LearnerResult(learner, name, REPAIRED if repairs else MARKED,
                         float(sum(m.points for m in marks)), 8.0, marks, "", repairs)


CLASS = (
    result("s1", "Amina Okafor"),
    result("s2", "Tomas Weber"),
    result("s3", "Mei Tran", "ph backwards"),
    result("s4", "Grace Bell", "always breathing"),
    result("s5", "Diego Silva", "ph backwards"),
    result("s6", "Ruth Moyo", None, ("q1", "q2", "q4")),
    result("s7", "Ivan Novak", None, (), ("The answer cell of q1 was there twice.",)),
    LearnerResult(
        "s8", "Leila Shah", NOT_MARKED, None, 8.0, (), "The file is not JSON: it was cut off."
    ),
)
