"""Practice drawn ahead: the cases of a topic and all that is said to each answer."""
from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from acidbase_lib.teaching.patients.cases import Case, CaseRequestError, draw_case
from acidbase_lib.teaching.recipes.whole_chart import CHART_FIELDS
from acidbase_lib.teaching.seeded_random import SeededRandom

from . import bedside, endless, whole_gas
from .bedside import CLINICAL_PRIORITY, SceneRun
from .drawn_scene import DrawnScene
from .endless import PatientRun
from .run import Run
from .stepping import DOWN
from .topic import Topic
from .topics import TOPICS
from .whole_gas import STEPS, WHOLE_GAS, WholeGasRun, in_one

#: What can be practiced ahead, in the order in which it is offered: topics of one question each.
NAMES: Final = (*TOPICS, CLINICAL_PRIORITY)
OFFERED: Final = (*NAMES, WHOLE_GAS)  # all of it: the whole gas asks seven lines
PEOPLE: Final = 3  # in whom each finding of a scene is met
_SEED: Final = "drawn ahead"  # the same cases in every build: a page changes with the kit only


@dataclass(frozen=True, slots=True)
class CaseAhead:
    """One case, read by the library, and its screen before and after every answer.

    Attributes
    ----------
    step, wish : int
        Of which step it is, and of which of that step's wishes (or scenes).
    story : str
        What is not told again before the others.
    about : str
        What an answer to it is counted under.
    key : str
        The word of the right answer.
    before : mapping
        The screen that asks.
    after : mapping of str to mapping
        The screen after each answer; of a whole gas after as many as give each word of each line.
    """

    step: int
    wish: int
    story: str
    about: str
    key: str
    before: Mapping[str, Any]
    after: Mapping[str, Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class TopicAhead:
    """A topic with its cases.

    Attributes
    ----------
    name : str
        As typed.
    of_scenes : bool
        Whether its cases are scenes: they wander to another step before one is told again.
    says : sequence of sequence of str
        What is said at a step (first index) of a case of a step (second index).
    up, down : sequence of str
        What is said when that step comes next.
    needed, lowered_by : int
        How many right answers in a row raise the step, how many wrong ones lower it.
    missed : sequence of sequence of str
        By step and wish: the answer, or finding, that brings the wish more often when missed.
    people : sequence of sequence of str
        By step and scene: in whom the finding is met; they take turns. Empty for patients.
    cases : sequence of CaseAhead
    """

    name: str
    of_scenes: bool
    says: Sequence[Sequence[str]]
    up: Sequence[str]
    down: Sequence[str]
    needed: int
    lowered_by: int
    missed: Sequence[Sequence[str]]
    people: Sequence[Sequence[str]]
    cases: Sequence[CaseAhead]


def drawn_ahead(name: str, of_each: int) -> TopicAhead:
    """Draw a topic's cases: so many of each wish of each step.

    Parameters
    ----------
    name : str
        One of `OFFERED`.
    of_each : int
        How many patients of each wish, or people of each scene.

    Raises
    ------
    ValueError
        If there is no such topic, or less than one case is asked for.
    """
    if name not in OFFERED:
        raise ValueError(f"There is no practice on {name!r}. There is: {', '.join(OFFERED)}.")
    if of_each < 1:
        raise ValueError(f"At least 1 case of each kind is drawn, not {of_each}.")
    if name == WHOLE_GAS:
        return _gases_ahead(of_each)
    return _scenes_ahead(of_each) if name == CLINICAL_PRIORITY else _patients_ahead(
        TOPICS[name], of_each)


def _patients_ahead(topic: Topic, of_each: int) -> TopicAhead:
    run = PatientRun(topic, _SEED)
    cases = [_case(run, case, step, wish, endless.view_of)
             for step, one in enumerate(topic.steps) for wish, asked in enumerate(one.wishes)
             for case in _patients(topic.bring, asked, f"{_SEED}|{topic.name}|{step}|{wish}",
                                   of_each)]
    missed = [[str(wish.get("disorder", "")) for wish in step.wishes] for step in topic.steps]
    return _topic(topic.name, run, missed, [], cases)


def _patients(bring: Callable[..., Case], wish: Mapping[str, Any], seed: str, count: int
              ) -> Iterator[Case]:
    """Yield patients of a wish; each history is told before one is told again."""
    told: set[str] = set()
    for number in range(count):
        try:
            case = bring(**wish, seed=f"{seed}|{number}", avoid=told)
        except CaseRequestError:  # every history of this kind has been told
            told.clear()
            case = bring(**wish, seed=f"{seed}|{number}")
        told.add(case.story)
        yield case


def _gases_ahead(of_each: int) -> TopicAhead:
    run = WholeGasRun(_SEED)
    cases = [_gas(run, case, step, wish) for step, one in enumerate(STEPS)
             for wish, asked in enumerate(one.wishes)
             for case in _patients(draw_case, asked, f"{_SEED}|{WHOLE_GAS}|{step}|{wish}", of_each)]
    missed = [[str(wish["disorder"]) for wish in step.wishes] for step in STEPS]
    return _topic(WHOLE_GAS, run, missed, [], cases)


def _gas(run: WholeGasRun, case: Case, step: int, wish: int) -> CaseAhead:
    run.show(case, step)
    before = whole_gas.view_of(run)
    after = {}
    for turned in range(max(len(field.words) for field in CHART_FIELDS)):  # 0: all are right
        run.lines = {field.name: field.words[(field.words.index(run.keys[field.name]) + turned)
                                             % len(field.words)] for field in CHART_FIELDS}
        run.chosen = in_one(run.lines)
        after[run.chosen] = whole_gas.view_of(run)
    return CaseAhead(step, wish, case.story, run.about, run.key, before, after)


def _scenes_ahead(of_each: int) -> TopicAhead:
    run = SceneRun(_SEED)
    steps = [_some(scenes) for scenes in bedside.scenes_by_step()]
    cases = [_case(run, _sorted(make(SeededRandom(f"{_SEED}|{story}|{number}"))), step, wish,
                   bedside.view_of)
             for step, scenes in enumerate(steps)
             for wish, (story, _, _, make) in enumerate(scenes) for number in range(of_each)]
    return _topic(CLINICAL_PRIORITY, run, [[kind for _, kind, _, _ in one] for one in steps],
                  [[person for _, _, person, _ in one] for one in steps], cases)


def _some(scenes: Sequence[bedside.Told]) -> list[bedside.Told]:
    """Of each finding the scenes of a few people: what is drawn ahead stays small."""
    kinds = dict.fromkeys(kind for _, kind, _, _ in scenes)
    return [one for kind in kinds for one in SeededRandom(f"{_SEED}|{kind}").shuffled(
        one for one in scenes if one[1] == kind)[:PEOPLE]]


def _sorted(scene: DrawnScene) -> DrawnScene:
    """The scene with its options by their words: whoever shows it deals them anew."""
    return replace(scene, options=dict(sorted(scene.options.items())))


def _case(run: Any, case: Case | DrawnScene, step: int, wish: int, view_of: Any) -> CaseAhead:
    run.show(case, step)
    before = view_of(run)
    after = {}
    for choice in run.choices:
        run.chosen = choice
        after[choice] = view_of(run)
    return CaseAhead(step, wish, run.story_of(case), run.about, run.key, before, after)


def _topic(name: str, run: Run[Any], missed: Sequence[Sequence[str]],
           people: Sequence[Sequence[str]], cases: Sequence[CaseAhead]) -> TopicAhead:
    steps = range(len(missed))
    of_scenes = isinstance(run, SceneRun)
    says = [[run.said_at(step, of) for of in steps] for step in steps]
    return TopicAhead(name, of_scenes, says, [run.step_up(step) for step in steps],
                      [run.step_down(step) for step in steps], run.needed, DOWN, missed, people,
                      cases)
