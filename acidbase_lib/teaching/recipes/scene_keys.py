"""The key of a scene and its reasons: worked out by a rule of the bedside, or the author's own."""
from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, NamedTuple

from acidbase_lib.reading.priority.first_action import FirstAction, first_action
from acidbase_lib.reading.priority.scene import Option, Scene
from acidbase_lib.teaching.feedback.option_reasons import Reasons
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS, Misconception
from acidbase_lib.teaching.patients.people import filled
from acidbase_lib.teaching.questions.exercise import Answers
from acidbase_lib.teaching.questions.fields import Field
from acidbase_lib.teaching.questions.question_file import UnitError

_PROTOCOL: Final = "Local protocol decides."
_PARTS: Final[Mapping[str, str]] = {
    "noticing": "Noticing is seeing what is there, before saying what it means.",
    "interpreting": "Interpreting is saying what the findings mean, and which matter most.",
    "responding": "Responding is choosing what could help, or doing it.",
    "reflecting": "Reflecting is looking back: did it help, and what follows from that?",
}


class SceneKey(NamedTuple):
    """What a scene knows of its own answer; without a key, a person must give one."""

    key: Answers | None = None
    predicted: Mapping[str, Answers] = {}
    because: tuple[str, ...] = ()
    whys: Mapping[str, Reasons] = {}


def comes_first(scene: Mapping[str, Any], texts: Mapping[str, str], first: Field,
                reason: Field | None = None) -> SceneKey:
    """What comes first by `first_action`, from what the scene `gives` and its options' `kinds`.

    With `reason` the scene names the right one of its reasons by `because`. No facts, or facts by
    which the rules do not decide: no key.

    Raises
    ------
    UnitError
        The facts contradict each other, or hold a word that the rules do not know.
    """
    if "gives" not in scene or "kinds" not in scene or (reason and "because" not in scene):
        return SceneKey()
    given, options, found = _judged(scene, first)
    if found.best is None:
        return SceneKey()
    words = {choice.nickname: choice.word for choice in first.choices}
    chosen = {option: words[name] for name, option in options.items()}
    key = {first.name: chosen[found.best]}
    computed = {words[name]: row.because for name, option in options.items()
                for row in found.why_not if row.option == option}
    whys = {first.name: Reasons({words[name]: _own(scene, "why", name, texts)
                              or computed.get(words[name], found.reason) for name in options},
                             found.reason)}
    reasons = {choice.nickname: choice.word for choice in reason.choices} if reason else {}
    if reason is not None:
        key[reason.name] = reasons[scene["because"]]
        whys[reason.name] = Reasons({word: _own(scene, "why_reasons", name, texts)
                                  for name, word in reasons.items()},
                                 _own(scene, "why_reasons", scene["because"], texts))
    predicted = {}
    for name, idea in MISCONCEPTIONS.items():
        answers = dict(key)
        answers[first.name] = chosen[_chosen(idea, given, options, found.best)]
        for word, held in scene.get("ideas", {}).items():
            if reason is not None and held == name:
                answers[reason.name] = reasons[word]
        if answers != key:
            predicted[name] = answers
    because = (found.reason, *([whys[reason.name].settles] if reason else []),
               f"Source: {'; '.join(one.rstrip('.') for one in found.citations)}. {_PROTOCOL}")
    return SceneKey(key, predicted, because, whys)


def belongs_in_the_call(scene: Mapping[str, Any], texts: Mapping[str, str],
                        asked: Field) -> SceneKey:
    """Which lines belong in a call, as the scene's `belongs` lists them."""
    if "belongs" not in scene:
        return SceneKey()
    key = tuple(choice.word for choice in asked.choices if choice.nickname in scene["belongs"])
    rule = ("A call carries who and where, what changed, what was found and done, and what is "
            "asked for. What does not help to decide now is left out.")
    whys = Reasons({choice.word: _own(scene, "why", choice.nickname, texts)
                 for choice in asked.choices}, rule)
    return SceneKey({asked.name: key}, {}, (rule, "Source: common practice. Local protocol says "
                                            "in which order."), {asked.name: whys})


def parts_of_judgment(scene: Mapping[str, Any], texts: Mapping[str, str],
                      asked: tuple[Field, ...]) -> SceneKey:
    """The part of clinical judgment in each note, as the scene's `parts` names it."""
    parts = scene.get("parts", {})
    if not all(field.nickname in parts for field in asked):
        return SceneKey()
    key = {field.name: parts[field.nickname] for field in asked}
    whys = {}
    for field in asked:
        own, right = _own(scene, "why", field.nickname, texts), parts[field.nickname]
        why = {word: f"{_PARTS[word]} {own}" for word in _PARTS}
        whys[field.name] = Reasons(why, f"{own} {_PARTS[right]}")
    because = tuple(f"{field.name.capitalize()}: {parts[field.nickname]}. "
                    f"{_own(scene, 'why', field.nickname, texts)}" for field in asked)
    return SceneKey(key, {}, (*because, "Source: Tanner CA. J Nurs Educ 2006;45:204-11."), whys)


def _judged(scene: Mapping[str, Any], first: Field,
            ) -> tuple[Scene, dict[str, Option], FirstAction]:
    try:
        options = {choice.nickname: Option(text=choice.text, **scene["kinds"][choice.nickname])
                   for choice in first.choices}
        given = Scene.from_mapping(scene["gives"])
        return given, options, first_action(given, options.values())
    except KeyError as missing:
        raise UnitError(f"A scene says nothing of the kind of its option {missing}.") from None
    except (ValueError, TypeError) as error:
        raise UnitError(f"The facts of a scene do not fit: {error}") from None


def _chosen(idea: Misconception, given: Scene, options: Mapping[str, Option],
            best: Option) -> Option:
    if idea.choice is None:
        return best
    return idea.choose(given, tuple(options.values())) or best


def _own(scene: Mapping[str, Any], table: str, name: str, texts: Mapping[str, str]) -> str:
    """The author's own reason, about this patient; empty where there is none."""
    return filled(scene.get(table, {}).get(name, ""), texts)
