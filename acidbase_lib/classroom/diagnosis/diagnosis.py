"""Which wrong idea, if any, explains a learner's answers, and how surely."""
from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from math import exp, log

from acidbase_lib.teaching.questions.exercise import Exercise, Mark
from acidbase_lib.teaching.questions.fields import Field, Value

from .family import TRIED_TOGETHER, Families
from .fit import plain_fit
from .observation import HeldIdeas, Observation, same
from .own_rule import log_sum, own_rule_fit, weak_lines_fit
from .variants import variants_of

UNEXPLAINED: HeldIdeas = ("something else",)

TOO_FEW = "too few answers"
SOUND = "sound"
IDEA = "idea"
OTHER = "unexplained"
UNDECIDED = "cannot tell"

# where a learner stands with one idea
HELD = "held"
NOT_HELD = "not held"
UNCLEAR = "unclear"
NOT_ASKED = "not asked"


@dataclass(frozen=True, slots=True)
class Assumptions:
    """What is taken for granted before the first answer is seen.

    `slip` is a Beta distribution for the share of answers that miss what a learner's own thinking
    would give (mean about one in eleven). A missed answer falls on any other choice alike. What no
    listed idea explains is weighed as a rule of the learner's own, as some kinds of line not
    mastered, or as plain guessing, of which `guess` is the share of misses (mean one in two).
    An idea is named from `least_for` answers on that were given as it gives them: one slip names
    nobody. Our own round numbers, tuned on the simulated learners of one maker who read nothing but
    the plain names of the ideas, and measured on those of others (tests/benchmarks/schools).
    """

    slip: tuple[float, float] = (1.5, 15.0)
    guess: tuple[float, float] = (4.0, 4.0)
    sound: float = 0.38
    one_idea: float = 0.28
    two_ideas: float = 0.12
    something_else: float = 0.22
    sure: float = 0.75
    sound_sure: float = 0.80
    least_answers: int = 5
    least_telling: int = 3
    least_for: int = 2
    not_held: float = 0.20


#: Of what no idea explains; the rest is plain guessing.
OWN_RULE, WEAK_LINES = 0.4, 0.3
DEFAULT_ASSUMPTIONS = Assumptions()


@dataclass(frozen=True, slots=True)
class Evidence:
    """One answer weighed: above 0 it speaks for the idea, below 0 against it [powers of ten]."""

    observation: Observation
    idea: str
    weight: float


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """What the answers suggest about one learner, with its certainty and its evidence."""

    verdict: str
    ideas: tuple[str, ...]
    certainty: float
    posterior: Mapping[HeldIdeas, float]
    answered: int
    wrong: int
    candidates: tuple[str, ...] = ()
    evidence: tuple[Evidence, ...] = field(default=(), repr=False)
    telling: Mapping[str, int] = field(default_factory=dict, repr=False)

    def standing(self, idea: str, assumptions: Assumptions = DEFAULT_ASSUMPTIONS) -> str:
        """Where the learner stands with one idea: held, not held, unclear or not asked.

        Not held is said of evidence alone: answers enough in which the idea would have shown, and
        an explanation of all answers without it. "No single idea explains them" is none.
        """
        asked = self.telling.get(idea, 0)
        if not asked:
            return NOT_ASKED
        if idea in self.ideas:
            return HELD
        known = self.verdict in {SOUND, IDEA} and asked >= assumptions.least_telling
        return NOT_HELD if known and self.holds(idea) <= assumptions.not_held else UNCLEAR

    def holds(self, idea: str) -> float:
        """Probability that the learner holds this idea, alone or with another."""
        return sum(p for state, p in self.posterior.items() if idea in state)

    @property
    def sentence(self) -> str:
        """The result in plain words, without the idea's own name."""
        return {
            TOO_FEW: "Too few answers to say.",
            SOUND: f"No wrong idea shows.{self._slips}",
            IDEA: ("One idea explains the answers." if len(self.ideas) == 1
                   else "Two ideas together explain the answers."),
            OTHER: "No single idea explains these answers.",
            UNDECIDED: ("The answers fit more than one explanation." if self.candidates else
                        "Slips, or an idea that is not on the list: too close to call."),
        }[self.verdict]

    @property
    def _slips(self) -> str:
        if not self.wrong:
            return ""
        looks = "looks like a slip" if self.wrong == 1 else "look like slips"
        return f" {self.wrong} of {self.answered} answers {looks}."


def observe(exercises: Mapping[str, Exercise], marks: Iterable[Mark]) -> tuple[Observation, ...]:
    """Every answer that was given to a question with a known key, as it was at the first try."""
    seen = []
    for mark in marks:
        exercise = exercises.get(mark.question)
        if exercise is None:
            continue
        asked = {f.name: f for f in exercise.fields}
        others = variants_of(exercise)
        for part in mark.first_parts:
            if part.given is None or part.key is None or part.field not in asked:
                continue
            predicted = {idea: answers.get(part.field)
                         for idea, answers in exercise.predicted.items()}
            # A number counts as the key within the exercise's own tolerance.
            given = part.key if part.right else part.given
            seen.append(Observation(mark.question, part.field, given, part.key, predicted,
                                    _choices(asked[part.field], part.key, predicted),
                                    _asks(exercise, asked[part.field]),
                                    {idea: tuple(one[part.field] for one in said)
                                     for idea, said in others.items()}))
    return tuple(seen)


def certainty_in_words(probability: float) -> str:
    """How sure a diagnosis is, in words an instructor can act on."""
    if probability >= 0.95:
        return "very sure"
    return "fairly sure" if probability >= 0.80 else "likely"


def states(ideas: Sequence[str], at_once: int = 2) -> tuple[HeldIdeas, ...]:
    """Every explanation considered: sound, each idea, and ideas held together."""
    return tuple(state for size in range(at_once + 1) for state in combinations(ideas, size))


def diagnose(observations: Iterable[Observation], ideas: Sequence[str], *, at_once: int = 2,
             assumptions: Assumptions = DEFAULT_ASSUMPTIONS) -> Diagnosis:
    """Weigh every explanation against a learner's answers.

    Parameters
    ----------
    observations : iterable of Observation
        The answers given; questions left blank are not observations.
    ideas : sequence of str
        Keys of the misconceptions considered.
    at_once : int
        How many ideas one learner may hold together.
    assumptions : Assumptions
        The slip rate, prior weights and the certainty asked for.

    Returns
    -------
    Diagnosis
        "too few answers", "sound", "idea", "unexplained" or "cannot tell".

    Notes
    -----
    A Bayesian classification of answer patterns by ideal response with slips, in the family of
    DINA models; the slip rate is integrated out rather than fitted, so a class of one will do. What
    is on nobody's list shows where misses repeat themselves: see ``own_rule_fit``. An idea is a
    family of readings of its name, applied in most answers and not in all: see ``Families``.
    """
    seen = tuple(observations)
    telling = tuple(o for o in seen if o.telling)
    wrong = sum(not same(o.given, o.key) for o in seen)
    told_apart = {idea for o in telling for idea in o.telling}
    considered = tuple(idea for idea in ideas if idea in told_apart)
    families = Families(seen, considered, assumptions.slip)
    posterior = _posterior(seen, considered, at_once, assumptions, families)
    holding = {idea: sum(p for state, p in posterior.items() if idea in state)
               for idea in considered}
    likely = tuple(sorted(considered, key=lambda idea: -holding[idea]))
    named = tuple(idea for idea in likely if holding[idea] >= assumptions.sure
                  and families.answers_that_tell(idea) >= assumptions.least_for)[:at_once]
    verdict, certainty = UNDECIDED, max(posterior.values())
    candidates: tuple[str, ...] = ()
    if len(telling) < assumptions.least_answers:
        verdict, named = TOO_FEW, ()
    elif named:
        verdict, certainty = IDEA, min(holding[idea] for idea in named)
    elif posterior[()] >= assumptions.sound_sure:
        verdict, certainty = SOUND, posterior[()]
    elif posterior[UNEXPLAINED] >= 0.5:
        verdict, certainty = OTHER, posterior[UNEXPLAINED]
    if verdict in (UNDECIDED, OTHER):  # the next form can ask after these
        candidates = tuple(idea for idea in likely if holding[idea] >= 0.10)
    return Diagnosis(verdict, named, certainty, posterior, len(seen), wrong, candidates,
                     tuple(e for idea in named or candidates for e in weigh(telling, idea)),
                     {idea: sum(idea in o.telling for o in telling) for idea in considered})


def weigh(observations: Iterable[Observation], idea: str, slip: float = 0.1,
          ) -> tuple[Evidence, ...]:
    """How much each answer speaks for an idea against sound reading, strongest first."""
    weighed = []
    for o in observations:
        weight = (_log_chance(o, (idea,), slip) - _log_chance(o, (), slip)) / log(10)
        if weight:
            weighed.append(Evidence(o, idea, weight))
    return tuple(sorted(weighed, key=lambda e: -abs(e.weight)))


def told_apart(observations: Iterable[Observation], one: str, other: str) -> int:
    """How many of these questions two ideas would answer differently."""
    return sum(o.ideal((one,)) != o.ideal((other,)) for o in observations)


def _posterior(seen: Sequence[Observation], ideas: Sequence[str], at_once: int,
               assume: Assumptions, families: Families) -> dict[HeldIdeas, float]:
    every = states(ideas, at_once)
    weight = {0: assume.sound, 1: assume.one_idea, 2: assume.two_ideas}
    count = {size: sum(len(s) == size for s in every) for size in range(at_once + 1)}
    fits: dict[HeldIdeas, float] = {(): families.sound()}
    fits |= {(idea,): families.one(idea) for idea in ideas}
    likely = set(sorted(ideas, key=lambda idea: -fits[(idea,)])[:TRIED_TOGETHER])
    fits |= {state: families.several(state) for state in every
             if len(state) > 1 and likely.issuperset(state)}
    scores = {state: log(weight.get(len(state), assume.two_ideas / 10) / count[len(state)]) + fit
              for state, fit in fits.items()}
    scores[UNEXPLAINED] = log(assume.something_else) + log_sum((
        log(OWN_RULE) + own_rule_fit(seen, ideas, assume.slip),
        log(WEAK_LINES) + weak_lines_fit(seen, assume.slip),
        log(1 - OWN_RULE - WEAK_LINES) + plain_fit(seen, (), assume.guess)))
    top = max(scores.values())
    total = sum(exp(score - top) for score in scores.values())
    return {state: exp(score - top) / total for state, score in scores.items()}


def _asks(exercise: Exercise, asked: Field) -> str:
    """What a field asks, so that the same question about other patients is known again."""
    if asked.kind != "one" or any(choice.text for choice in asked.choices):
        return f"{exercise.id}/{asked.name}"  # letters stand for something else each time
    words = " / ".join(asked.words)
    return words if exercise.kind == "grid" else f"{asked.name}: {words}"


def _choices(asked: Field, key: Value, predicted: Mapping[str, Value | None]) -> int:
    """How many different answers this field could have been given."""
    offered: int = {"one": len(asked.choices), "many": 1 << min(len(asked.choices), 4),
                    "order": 6, "number": 10}.get(asked.kind, 4)
    return max(2, offered, 1 + len({str(answer) for answer in (key, *predicted.values())}))


def _log_chance(o: Observation, state: HeldIdeas, slip: float) -> float:
    ideal = o.ideal(state)
    if not ideal:
        return -log(o.choices)
    if any(same(o.given, answer) for answer in ideal):
        return log((1 - slip) / len(ideal))
    return log(slip / max(1, o.choices - len(ideal)))
