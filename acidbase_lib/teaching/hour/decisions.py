"""A patient in four decisions: a question whose answer is a path, each step marked by rule.

What follows from a right step would tell it, and what follows from the learner's own cannot stand
on a sheet that is printed once. So the sheet tells one way the hour went, drawn by chance among
all steps offered, right or not; each decision is marked at the state in which it is asked.
"""
from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from acidbase_lib.reading.priority.rules import DANGEROUS_SPO2
from acidbase_lib.teaching.feedback.option_reasons import Reasons, several
from acidbase_lib.teaching.patients.people import filled
from acidbase_lib.teaching.questions.exercise import Answers, Exercise
from acidbase_lib.teaching.questions.fields import Choice, Field
from acidbase_lib.teaching.questions.prompt import prompt_text
from acidbase_lib.teaching.questions.question_file import Question, UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom

from .case import LOOK, HourCase, varied
from .cases import HOURS
from .ideas import taken_by_ideas
from .numbers_told import cited, in_a_line
from .path import Judged, Moment, after, begin, judge, offered, over

DECISIONS: Final = 4
OPTIONS: Final = 4
_WALKS, _ENOUGH, _TRIES = 6, 100, 2000  # ways through an hour from which one is drawn
_SOMEBODY_LOOKS: Final = 0.85  # before a decision; else a look may be what comes first
_BRIEF: Final = 15  # what is told as done took no longer: the hour would be over soon [min]
_LETTERS: Final = "ABCD"
#: Every sheet says once that a call goes out beside any step: in an option it would tell the key.
_CALLING: Final = re.compile(r",? and call out(?: for help)?$|; call out$|"
                             r"^(?:Call out|Shout) for help(?:,? and |, )")


@dataclass(frozen=True, slots=True)
class Decision:
    """One decision on the sheet: the moment, the steps offered, what comes first, what was done."""

    moment: Moment
    steps: tuple[str, ...]
    judged: Judged
    done: str


def an_hour_in_decisions(question: Question, draw: SeededRandom) -> Exercise:
    """An hour told as it went; say for each of four minutes what comes first."""
    known = {case.name: case for case in HOURS}
    if not question.more.get("hours") or not set(question.more["hours"]) <= set(known):
        raise UnitError(f"{question.id}: `hours` names one or more of: {', '.join(known)}.")
    case, words = varied(known[draw.pick(question.more["hours"])], draw.branch("person"))
    path = draw_path(case, draw)
    fields, lines, because = [], [], []
    key: dict[str, str] = {}
    whys: dict[str, Reasons] = {}
    predicted: dict[str, dict[str, str]] = {}
    for number, one in enumerate(path, start=1):
        name = f"decision {number}"
        letter = dict(zip(one.steps, _LETTERS, strict=False))
        texts = {step: _as_printed(case, one.moment, step, words) for step in one.steps}
        fields.append(Field(name, "one", tuple(
            Choice(letter[step], texts[step], nickname=step) for step in one.steps),
            also=(f"{number}", f"d{number}")))
        key[name] = letter[one.judged.first]
        whys[name] = Reasons({letter[step]: one.judged.reason if step == one.judged.first else
                              filled(one.judged.why[step], words) for step in one.steps},
                             one.judged.reason)
        because.append(f"Decision {number}: {letter[one.judged.first]}. {one.judged.reason} "
                       f"Source: {cited(one.judged)}.")
        for idea, step in taken_by_ideas(case, one.moment).items():
            if step in letter:
                predicted.setdefault(idea, {})[name] = letter[step]
        lines.append(_told(case, words, path, number - 1, fields[-1]))
    stem = question.stem.format_map({
        **words, "story": filled(f"{{name}}, {{age}}, is in {case.ward}. {case.story}", words),
        "decisions": "\n\n".join(lines)})
    points = question.points or DECISIONS
    answers: Mapping[str, Answers] = {idea: {**key, **taken} for idea, taken in predicted.items()}
    return Exercise(question.id, "several parts", float(points),
                    prompt_text(question.id, points, "several parts", stem), tuple(fields),
                    MappingProxyType(dict(key)),
                    (*because, "The minutes are a teaching model. Local protocol decides."),
                    MappingProxyType(answers), MappingProxyType({}),
                    MappingProxyType({"steps": DECISIONS, "gases": 0}), judged=True,
                    **several(whys))


def draw_path(case: HourCase, draw: SeededRandom) -> tuple[Decision, ...]:
    """Draw one way through an hour, of many the one whose right answers differ most.

    What was done is drawn evenly among the steps offered: it tells nothing of the key.
    """
    walks: list[tuple[Decision, ...]] = []
    for turn in range(_TRIES):
        if len(walks) == _WALKS or (walks and turn > _ENOUGH):
            break
        if walk := _walk(case, draw.branch(f"walk {turn}")):
            walks.append(walk)
    if not walks:
        raise UnitError(f"The hour about {case.name} is too short for {DECISIONS} decisions.")
    return min(walks, key=_sameness)


def _sameness(walk: tuple[Decision, ...]) -> int:
    """How often one answer is right, and the look: a sheet that always says it must not pay."""
    right = Counter(one.judged.first for one in walk)
    return max(right.values()) + max(right[LOOK] - 1, 0)


def _walk(case: HourCase, draw: SeededRandom) -> tuple[Decision, ...]:
    """Four decisions in a row, or nothing where the hour ends before."""
    moments, path = [begin(case)], list[Decision]()
    while len(path) < DECISIONS and not over(case, moments):
        if not moments[-1].fresh and draw.chance(_SOMEBODY_LOOKS):
            moments.append(after(case, moments[-1], LOOK))
            continue
        now = moments[-1]
        judged = judge(case, now)
        if _arguable(case, now, judged.first):
            return ()
        steps = _four(list(offered(case, now)), judged.first, draw)
        brief = [step for step in steps if case.steps[step].minutes <= _BRIEF]
        path.append(Decision(now, steps, judged, draw.pick(brief)))
        moments.append(after(case, now, path[-1].done))
    return tuple(path) if len(path) == DECISIONS else ()


def _arguable(case: HourCase, moment: Moment, first: str) -> bool:
    """Whether the rules can only choose much oxygen where some would do, for want of an option."""
    much = case.steps[first].option.kind == "oxygen up"
    return much and moment.known.spo2 >= DANGEROUS_SPO2 and (
        "carbon monoxide" not in case.body.history)


def _four(steps: list[str], first: str, draw: SeededRandom) -> tuple[str, ...]:
    """What comes first and three others, the look among them."""
    others = draw.shuffled(step for step in steps if step != first)
    others.sort(key=lambda step: step != LOOK)
    return tuple(draw.shuffled([first, *others[:OPTIONS - 1]]))


def _as_printed(case: HourCase, moment: Moment, step: str, words: Mapping[str, str]) -> str:
    """A step as an option: without the call that goes out beside it."""
    text = _CALLING.sub("", filled(offered(case, moment)[step].text, words))
    return text[:1].upper() + text[1:]


def _told(case: HourCase, words: Mapping[str, str], path: tuple[Decision, ...], at: int,
          asked: Field) -> str:
    """One decision as the sheet prints it: what was done, what is known, what may be done."""
    now = path[at].moment
    seen = in_a_line(case.shows, now.known)
    when = ("You look and see" if now.known.minute == now.state.minute else
            f"Nobody has looked since minute {now.known.minute}; seen then")
    done = ""
    if at:
        before = path[at - 1]
        step = case.steps[before.done]
        done = (f"At minute {before.moment.state.minute} this was done: "
                f"{_as_printed(case, before.moment, before.done, words)}. "
                f"{filled(step.says, words)} ")
    team = "The team is at the bedside and treats. " if now.state.helped else ""
    options = "\n".join(f"- {choice.shown}" for choice in asked.choices)
    return (f"**Decision {at + 1}, minute {now.state.minute}.** {done}{team}{when}: {seen}.\n\n"
            f"{options}")
