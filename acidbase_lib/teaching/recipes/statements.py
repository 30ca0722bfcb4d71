"""A recipe about a cause as a choice among whole statements, one of which is right."""
from __future__ import annotations

from itertools import product

from acidbase_lib.teaching.feedback.cause_reasons import statement_told
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS, SOUND, Reader
from acidbase_lib.teaching.patients.causes import sources_text
from acidbase_lib.teaching.questions.exercise import Answers, Exercise
from acidbase_lib.teaching.questions.fields import Field, lettered
from acidbase_lib.teaching.questions.question_file import Question
from acidbase_lib.teaching.seeded_random import SeededRandom

from .cause_patients import bystander, named_cause, story_of
from .causes import FIELDS, _recalled
from .parts import make_exercise

STATEMENTS = 5  # among which one is right


def tell_in_one(question: Question, draw: SeededRandom) -> Exercise:
    """A short history; of statements that say all `parts` at once, choose the right one.

    The wrong ones say what wrong ideas would; other combinations make up the number. The letters
    are dealt anew, so that a fact that never changes has no key that stays.
    """
    cause = named_cause(question, draw.pick(question.more["causes"]))
    asked = tuple(FIELDS[name] for name in question.more["parts"])

    def said(reader: Reader) -> tuple[str | None, ...]:
        recalled = reader.recall(cause)
        return tuple(_recalled(recalled, field.name) for field in asked)

    every = list(product(*(field.words for field in asked)))
    thought = [whys for idea in MISCONCEPTIONS.values() if (whys := said(idea)) in every]
    wrong = [whys for whys in dict.fromkeys([*thought, *draw.shuffled(every)])
             if whys != said(SOUND)]
    shown = draw.shuffled([said(SOUND), *wrong[:STATEMENTS - 1]])
    answer = Field("answer", "one", lettered(
        "; ".join(f"{field.name}: {word}" for field, word in zip(asked, whys, strict=True))
        for whys in shown))

    def solve(reader: Reader) -> Answers:
        whys = said(reader)
        return {"answer": answer.words[shown.index(whys)]} if whys in shown else {}

    return make_exercise(question, "choose one", (answer,), [bystander(draw)], solve,
                         because=(cause.because, sources_text((cause,))),
                         whys={"answer": statement_told(
                             cause, (field.name for field in asked),
                             dict(zip(answer.words, shown, strict=True)))},
                         options=answer.choices,
                         story=story_of(cause, draw), cause=cause.text)
