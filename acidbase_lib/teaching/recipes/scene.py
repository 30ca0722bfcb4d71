"""Recipes about a bedside scene: what comes first and why, what to report, which part it is.

A scene that gives facts has its key from a rule; one without waits for its author's own.
"""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any, Final

from acidbase_lib.physiology.references import REFERENCES
from acidbase_lib.reading.wording import sentence_case
from acidbase_lib.teaching.feedback.gas_set_reasons import number_told
from acidbase_lib.teaching.feedback.option_reasons import Reasons, several
from acidbase_lib.teaching.misconceptions.early_warning_ideas import SCORES, Observations, score
from acidbase_lib.teaching.patients.people import draw_he_or_she, filled
from acidbase_lib.teaching.questions.exercise import Answers, Exercise, ExerciseKind
from acidbase_lib.teaching.questions.fields import Choice, Field, letters_apart
from acidbase_lib.teaching.questions.prompt import prompt_text
from acidbase_lib.teaching.questions.question_file import Question, UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom

from .parts import boxes_of
from .scene_keys import SceneKey, belongs_in_the_call, comes_first, parts_of_judgment

#: The four parts of clinical judgment (Tanner CA. J Nurs Educ 2006;45:204-11).
CLINICAL_JUDGMENT: Final = (
    Choice("noticing", also=("notice", "notices")),
    Choice("interpreting", also=("interpret", "interprets")),
    Choice("responding", also=("respond", "responds")),
    Choice("reflecting", also=("reflect", "reflects")),
)
#: The order of the primary survey (Thim et al., Int J Gen Med 2012;5:117-21).
ABCDE: Final = ("airway", "breathing", "circulation", "disability", "exposure")
_LETTERS: Final = "ABCDEFGHIJ"


def what_first(question: Question, draw: SeededRandom) -> Exercise:
    """A scene; choose what comes first."""
    scene, texts = _scene(question, draw)
    asked = Field("answer", "one", _options(scene, "options", texts, draw), also=("first",))
    return _judged(question, "choose one", (asked,), comes_first(scene, texts, asked), texts,
                   options=_listed(asked.choices))


def first_and_why(question: Question, draw: SeededRandom) -> Exercise:
    """A scene; choose what comes first, and the reason for it."""
    scene, texts = _scene(question, draw)
    first = Field("first", "one", _options(scene, "options", texts, draw), also=("action",))
    because = Field("because", "one", _options(scene, "reasons", texts, draw), also=("reason",))
    return _judged(question, "linked pair", (first, because),
                   comes_first(scene, texts, first, because), texts,
                   options=_listed(first.choices), reasons=_listed(because.choices))


def what_to_report(question: Question, draw: SeededRandom) -> Exercise:
    """A scene; select everything that belongs in the call."""
    scene, texts = _scene(question, draw)
    asked = Field("report", "many", _options(scene, "options", texts, draw), also=("answer",))
    return _judged(question, "select all", (asked,), belongs_in_the_call(scene, texts, asked),
                   texts, options=_listed(asked.choices))


def which_part(question: Question, draw: SeededRandom) -> Exercise:
    """Notes of one shift; name the part of clinical judgment in each."""
    scene, texts = _scene(question, draw)
    notes = draw.shuffled(scene["notes"].items())
    asked = tuple(Field(f"note {n}", "one", CLINICAL_JUDGMENT, nickname=word,
                        says=filled(text, texts))
                  for n, (word, text) in enumerate(notes, start=1))
    rows = "\n".join(f"{n}. {field.says}" for n, field in enumerate(asked, start=1))
    return _judged(question, "grid", asked, parts_of_judgment(scene, texts, asked), texts,
                   notes=rows)


def in_order_of_abcde(question: Question, draw: SeededRandom) -> Exercise:
    """Five looks at one patient; put them in the order of the primary survey."""
    scene, texts = _scene(question, draw)
    looks = draw.shuffled((letter, scene["looks"][letter]) for letter in ABCDE)
    marks = letters_apart(ABCDE)
    asked = Field("order", "order", tuple(
        Choice(mark, filled(text, texts)) for mark, (_, text) in zip(marks, looks, strict=True)))
    word = {name: mark for mark, (name, _) in zip(marks, looks, strict=True)}
    key = {"order": tuple(word[letter] for letter in ABCDE)}
    whys = Reasons({word[name]: name for name in ABCDE},
                "What kills first is looked at first: airway, breathing, circulation, disability, "
                "exposure.")
    because = ("Airway, breathing, circulation, disability, exposure: what kills first is looked "
               "at first.",
               "From first to last: " + ", ".join(f"{letter} ({word[letter]})"
                                                  for letter in ABCDE) + ".")
    return _exercise(question, "put in order", (asked,), key, texts, because=because,
                     whys={asked.name: whys}, options=_listed(asked.choices))


def early_warning_total(question: Question, draw: SeededRandom) -> Exercise:
    """A set of observations; work out the NEWS2 total."""
    scene, texts = _scene(question, draw)
    drawn: dict[str, Any] = {
        name: round(draw.between(*span), 1) if name == "temperature" else draw.whole(*span)
        for name, span in {**scene["between"], **question.more.get("between", {})}.items()}
    seen = Observations(**drawn, on_oxygen=bool(scene.get("device")),
                        consciousness=scene["consciousness"], scale=scene.get("scale", 1))
    found = score(seen)
    asked = Field("NEWS2 total", "number", also=("total", "score", "news2", "answer"))
    parts = ", ".join(f"{name} {points}" for name, points in found.parts())
    because = (f"{sentence_case(parts)}: together {found.total}.",
               f"A total of {found.total} asks for {found.response.review}, and observations "
               f"{found.response.monitoring}.",
               f"Source: {REFERENCES['RCP2017'].citation} The times of review are common practice. "
               "Local protocol decides.")
    predicted = {idea: {asked.name: float(total)} for idea, program in SCORES.items()
                 if (total := program(seen)) != found.total}
    return _exercise(question, "number", (asked,), {asked.name: float(found.total)}, texts,
                     because=because, predicted=predicted, within={asked.name: 0.0},
                     whys={asked.name: _total_told(because[0], predicted, asked.name)},
                     signs=seen.table(scene.get("device") or "room air"))


_GO_THROUGH: Final = "Go through the table once more, one line after the other."
#: What each slip leaves out; said only of the very total that it gives.
_SLIPS: Final[Mapping[str, str]] = MappingProxyType({
    "added oxygen not scored": "This is the total without the points for added oxygen.",
    "one SpO2 scale for everyone": "This is the total by the other SpO2 scale. Look at which one "
                                   "is set.",
})


def _total_told(rule: str, predicted: Mapping[str, Answers], name: str) -> Reasons:
    """Why a total is not right: a cause only where the total is the one that this cause gives."""
    told = number_told(rule, f"It is lower than the points add up to. {_GO_THROUGH}",
                       f"It is higher than the points add up to. {_GO_THROUGH}")
    totals = [answers[name] for answers in predicted.values()]
    return told._replace(why={**told.why, **{
        f"{answers[name]:g}": _SLIPS[idea] for idea, answers in predicted.items()
        if totals.count(answers[name]) == 1}})


def written_call(question: Question, draw: SeededRandom) -> Exercise:
    """A scene; write the call in your own words, for a person to read."""
    scene, texts = _scene(question, draw)
    asked = Field("answer", "text", also=("call", "sbar"), boxes=boxes_of(question))
    return replace(_exercise(question, "rationale", (asked,), None, texts),
                   model_call=tuple(filled(line, texts) for line in scene.get("model_call", ())),
                   ticks=tuple(scene.get("ticks", ())))


# --- what the recipes share -----------------------------------------------------------------------

def _scene(question: Question, draw: SeededRandom) -> tuple[Mapping[str, Any], dict[str, str]]:
    """One of the question's scenes, and the words that stand for its patient."""
    scenes = question.more.get("scenes")
    if not scenes:
        raise UnitError(f"{question.id}: a question about a scene needs [[question.scenes]].")
    scene = draw.pick(scenes)
    texts = draw_he_or_she(draw, scene.get("age", (40, 80))).words
    return scene, texts | {"scene": filled(scene.get("patient", ""), texts).strip()}


def _options(scene: Mapping[str, Any], name: str, texts: Mapping[str, str],
             draw: SeededRandom) -> tuple[Choice, ...]:
    """The options in a drawn order; each keeps its nickname, by which an author names it."""
    dealt = draw.shuffled(scene[name].items())
    return tuple(Choice(_LETTERS[i], filled(text, texts), nickname=word)
                 for i, (word, text) in enumerate(dealt))


def _listed(choices: Sequence[Choice]) -> str:
    return "\n".join(f"- {choice.shown}" for choice in choices)


def _judged(question: Question, kind: ExerciseKind, asked: tuple[Field, ...], found: SceneKey,
            texts: Mapping[str, str], **more: Any) -> Exercise:
    """The exercise with the scene's own key; a school's key wins over it."""
    made = _exercise(question, kind, asked, found.key, texts, because=found.because,
                     predicted=found.predicted, whys=found.whys, **more)
    return replace(made, judged=found.key is not None)


def _exercise(question: Question, kind: ExerciseKind, asked: tuple[Field, ...], key: Answers | None,
              texts: Mapping[str, str], *, because: tuple[str, ...] = (),
              predicted: Mapping[str, Answers] | None = None,
              within: Mapping[str, float] | None = None,
              whys: Mapping[str, Reasons] | None = None, **more: str) -> Exercise:
    known = {**texts, **more}
    try:
        stem = question.stem.format_map(known)
    except (LookupError, ValueError, AttributeError, TypeError) as error:
        raise UnitError(f"{question.id}: the stem holds braces that stand for nothing ({error}). "
                        f"It may hold {', '.join('{' + name + '}' for name in known)}.") from None
    points = question.points or _usual_points(question, kind, asked)
    prompt = prompt_text(question.id, points, kind, stem)
    return Exercise(question.id, kind, float(points), prompt, asked,
                    None if key is None else MappingProxyType(dict(key)), because,
                    MappingProxyType(dict(predicted or {})), MappingProxyType(dict(within or {})),
                    MappingProxyType({"steps": len(asked), "gases": 0}), **several(whys or {}))


def _usual_points(question: Question, kind: ExerciseKind, asked: Sequence[Field]) -> float:
    if kind == "grid":
        return len(asked)
    if kind in ("select all", "rationale"):
        raise UnitError(f"{question.id}: say how many points it is worth; its key is the author's.")
    return 1
