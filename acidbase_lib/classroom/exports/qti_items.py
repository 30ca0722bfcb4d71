"""One exercise as a QTI assessment item: the prompt, what is asked, the key, and feedback."""
from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterator, Mapping

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.phrases import number_of
from acidbase_lib.teaching.feedback.named_idea import nameable
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.exercise import RULES_IN_WORDS, Exercise, shown
from acidbase_lib.teaching.questions.fields import Field
from acidbase_lib.teaching.worded import worded

from .qti_prose import xhtml
from .qti_scoring import (
    AskedPart,
    asked_of,
    declarations,
    is_value,
    processing,
    right,
    tell,
    waits,
    when,
)
from .qti_xml import make

SHORT = 30  # letters of options that stand side by side
NUMBER_ALONE = "Write the number alone, without its unit."


def item(exercise: Exercise, identifier: str, model: str = "") -> ET.Element:
    """Return an exercise as an item, in the names of QTI 2.1.

    Parameters
    ----------
    exercise : Exercise
        One that ``qti_scoring.why_not`` has nothing against.
    identifier : str
        The item's name in the package.
    model : str
        The author's model answer to a rationale, told to the scorer only.
    """
    ideas = ideas_shown(exercise)
    root = make("assessmentItem", identifier=identifier, title=f"Question {number_of(exercise.id)}",
                adaptive="false", timeDependent="false", lang="en-US")
    root.extend(declarations(exercise))
    root.extend(_outcomes(exercise, ideas))
    root.append(make("itemBody", *_body(exercise, model)))
    if waits(exercise):
        return root
    root.append(make("responseProcessing", *processing(exercise), *_feedback_rules(exercise, ideas),
                     tell("FEEDBACK", "why")))
    root.append(make("modalFeedback", *_why(exercise), outcomeIdentifier="FEEDBACK",
                     identifier="why", showHide="show"))
    root.extend(make("modalFeedback", make("p", MISCONCEPTIONS[idea].suggests),
                     outcomeIdentifier=outcome, identifier="shown", showHide="show")
                for idea, outcome in ideas.items())
    return root


def ideas_shown(exercise: Exercise) -> Mapping[str, str]:
    """Return each misconception that a whole answer may show, and its outcome's name."""
    found = [idea for idea, answer in nameable(exercise).items()
             if idea in MISCONCEPTIONS and () not in answer.values()]
    return {idea: f"IDEA_{place}" for place, idea in enumerate(found, start=1)}


def _outcomes(exercise: Exercise, ideas: Mapping[str, str]) -> Iterator[ET.Element]:
    by_hand = {"externalScored": "human"} if waits(exercise) else {}
    yield make("outcomeDeclaration", make("defaultValue", make("value", "0")), identifier="SCORE",
               cardinality="single", baseType="float", normalMaximum=exercise.points,
               normalMinimum=0, **by_hand)
    yield make("outcomeDeclaration",
               make("defaultValue", make("value", f"{exercise.points:g}")),
               identifier="MAXSCORE", cardinality="single", baseType="float")
    if not waits(exercise):
        for outcome in ("FEEDBACK", *ideas.values()):
            yield make("outcomeDeclaration", identifier=outcome, cardinality="single",
                       baseType="identifier")


def _body(exercise: Exercise, model: str) -> Iterator[ET.Element]:
    options = next((tuple(choice.shown for choice in field.choices) for field in exercise.fields
                    if any(choice.text for choice in field.choices)), ())
    prompt = exercise.prompt.replace(worded(RULES_IN_WORDS["number"]), NUMBER_ALONE)
    yield from xhtml(prompt, options)
    for asked in asked_of(exercise):
        yield from _interaction(asked, alone=len(exercise.fields) == 1)
    if waits(exercise):
        yield make("rubricBlock", *_for_the_scorer(exercise, model), view="scorer", use="scoring")


def _for_the_scorer(exercise: Exercise, model: str) -> Iterator[ET.Element]:
    why = ("This is a written answer." if exercise.kind == "rationale" else
           "Judgment decides here, and the key was not at hand when this file was written.")
    yield make("p", f"A person gives the points, 0 to {exercise.points:g}. {why}")
    if model:
        yield make("p", "A model answer:")
        yield from (make("p", line) for line in model.splitlines() if line.strip())


def _interaction(asked: AskedPart, alone: bool) -> Iterator[ET.Element]:
    """Yield what a learner clicks or types to answer one field."""
    field = asked.field
    label = None if alone and field.name in {"answer", "order"} else make("prompt", field.name)
    if field.kind == "number":
        unit = f"{field.unit}, " if field.unit else ""
        yield make("p", f"{field.name} ({unit}the number alone): ",
                   make("textEntryInteraction", responseIdentifier=asked.name, expectedLength=8))
    elif field.kind == "text":
        yield make("extendedTextInteraction", label, responseIdentifier=asked.name,
                   expectedLines=6)
    else:
        choices = (make("simpleChoice", choice.shown, identifier=asked.options[choice.word])
                   for choice in field.choices)
        limits = {} if field.kind == "order" else {"maxChoices": float(field.kind == "one")}
        yield make("orderInteraction" if field.kind == "order" else "choiceInteraction", label,
                   *choices, responseIdentifier=asked.name, shuffle="false", **limits,
                   **_looks(field))


def _looks(field: Field) -> dict[str, str]:
    """Classes of QTI 3's shared vocabulary: short choices side by side, steps put into places.

    Without places, a reader may take the steps as first shown for an answer.
    """
    if field.kind == "order":
        return {"orientation": "vertical", "class_": "qti-choices-left qti-orientation-vertical"}
    beside = all(len(choice.shown) <= SHORT for choice in field.choices)
    return {"class_": "qti-orientation-horizontal"} if beside and field.kind == "one" else {}


def _feedback_rules(exercise: Exercise, ideas: Mapping[str, str]) -> Iterator[ET.Element]:
    """Yield, for each idea, what shows it: every line answered as it would, and not by the key.

    Each is hidden first: not every reader forgets what an earlier attempt showed.
    """
    yield from (tell(outcome, "hidden") for outcome in ideas.values())
    answers = nameable(exercise)
    for idea, outcome in ideas.items():
        lines = [is_value(exercise, asked, answers[idea][asked.field.name])
                 for asked in asked_of(exercise)]
        off = [make("not", right(exercise, asked)) for asked in asked_of(exercise)]
        yield when(make("and", *lines, off[0] if len(off) == 1 else make("or", *off)),
                   tell(outcome, "shown"))


def _why(exercise: Exercise) -> Iterator[ET.Element]:
    assert exercise.key is not None
    if exercise.kind == "first thought":
        yield make("p", "Any complete answer counts.")
    yield make("ul", *(make("li", f"{field.name}: ",
                            make("strong", shown(exercise, field.name, exercise.key[field.name])))
                       for field in exercise.fields))
    if exercise.because:
        yield make("p", "Why:")
        yield make("ul", *(make("li", line) for line in exercise.because))
    yield make("p", CAUTION)
