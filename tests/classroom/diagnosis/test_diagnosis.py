"""Planted ideas are found, and what cannot be said is not said."""
from __future__ import annotations

import random

import pytest

from acidbase_lib.classroom.diagnosis.diagnosis import (
    IDEA,
    OTHER,
    SOUND,
    TOO_FEW,
    UNDECIDED,
    UNEXPLAINED,
    certainty_in_words,
    diagnose,
    told_apart,
)
from acidbase_lib.classroom.diagnosis.observation import Observation

pytestmark = pytest.mark.slow

IDEAS = tuple(f"idea {letter}" for letter in "ABCDEFGH")
OPTIONS = ("w", "x", "y", "z")


def sitting(seed: int, items: int = 24) -> list[Observation]:
    """Questions on which each idea errs now and then, as on real gases."""
    dice = random.Random(seed)
    questions = []
    for n in range(items):
        key = dice.choice(OPTIONS)
        predicted = {idea: dice.choice([o for o in OPTIONS if o != key])
                     for idea in IDEAS if dice.random() < 0.4}
        questions.append(Observation(f"q{n}", "answer", key, key, predicted, len(OPTIONS)))
    return questions


def answers(questions: list[Observation], holds: tuple[str, ...], slip: float, seed: int,
            ) -> list[Observation]:
    dice = random.Random(seed)
    given = []
    for o in questions:
        ideal = dice.choice(o.ideal(holds) or OPTIONS)
        if dice.random() < slip:
            ideal = dice.choice([option for option in OPTIONS if option != ideal])
        given.append(Observation(o.question, o.field, ideal, o.key, o.predicted, o.choices))
    return given


def test_a_planted_idea_is_found_in_97_of_100_learners_at_one_slip_in_ten():
    right = sum(diagnose(answers(sitting(n), (IDEAS[n % 8],), 0.10, n), IDEAS).ideas
                == (IDEAS[n % 8],) for n in range(200))
    assert right >= 194


def test_both_of_two_planted_ideas_are_found_in_85_of_100():
    found = 0
    for n in range(200):
        pair = (IDEAS[n % 8], IDEAS[(n + 1 + n // 8 % 7) % 8])
        found += set(diagnose(answers(sitting(n), pair, 0.10, n), IDEAS).ideas) == set(pair)
    assert found >= 170


@pytest.mark.parametrize("slip", [0.05, 0.10, 0.20])
def test_a_careless_but_sound_learner_is_rarely_given_an_idea(slip):
    named = sum(bool(diagnose(answers(sitting(n), (), slip, n), IDEAS).ideas) for n in range(200))
    assert named <= 6


def test_an_idea_that_is_not_on_the_list_is_called_unexplained():
    hidden, rest = IDEAS[0], IDEAS[1:]
    verdicts = []
    for n in range(200):
        given = answers(sitting(n), (hidden,), 0.10, n)
        unlisted = [Observation(o.question, o.field, o.given, o.key,
                                {k: v for k, v in o.predicted.items() if k != hidden}, o.choices)
                    for o in given]
        verdicts.append(diagnose(unlisted, rest).verdict)
    assert verdicts.count(IDEA) <= 10
    assert verdicts.count(OTHER) >= 140


def test_of_diagnoses_given_at_90_or_more_at_least_90_of_100_are_right():
    right = given = 0
    for n in range(400):
        holds = () if n % 2 else (IDEAS[n % 8],)
        found = diagnose(answers(sitting(n, items=10), holds, 0.15, n), IDEAS)
        if found.verdict in {IDEA, SOUND} and found.certainty >= 0.9:
            given += 1
            right += found.ideas == holds
    assert given >= 100
    assert right / given >= 0.9


def test_guesses_are_not_called_an_idea():
    verdicts = [diagnose(answers(sitting(n), (), 0.75, n), IDEAS).verdict for n in range(100)]
    assert verdicts.count(OTHER) >= 85


def test_too_few_answers_is_a_result():
    few = diagnose(answers(sitting(1), (IDEAS[0],), 0.0, 1)[:3], IDEAS)
    assert few.verdict == TOO_FEW
    assert few.ideas == ()
    assert few.sentence == "Too few answers to say."


def test_no_answers_at_all_is_too_few():
    assert diagnose([], IDEAS).verdict == TOO_FEW


def test_two_ideas_that_answer_alike_are_not_told_apart():
    questions = [Observation(f"q{n}", "answer", "x", "w", {"one": "x", "other": "x"}, 4)
                 for n in range(8)]
    found = diagnose(questions, ("one", "other"))
    assert found.verdict == UNDECIDED
    assert set(found.candidates) == {"one", "other"}
    assert told_apart(questions, "one", "other") == 0


def test_evidence_names_the_answers_for_and_against():
    questions = answers(sitting(3), (IDEAS[2],), 0.10, 3)
    found = diagnose(questions, IDEAS)
    speaks_for = [e for e in found.evidence if e.weight > 0]
    assert speaks_for
    assert all(e.observation.given == e.observation.predicted[IDEAS[2]] for e in speaks_for)
    assert all(e.observation.given != e.observation.predicted[IDEAS[2]]
               for e in found.evidence if e.weight < 0)


def test_an_idea_whose_answer_is_not_offered_leaves_its_holder_guessing():
    offered = Observation("q1", "answer", "w", "w", {"one": None}, 4)
    assert offered.ideal(("one",)) == ()
    assert not offered.telling


def test_the_posterior_is_a_probability():
    found = diagnose(answers(sitting(5), (), 0.1, 5), IDEAS)
    assert sum(found.posterior.values()) == pytest.approx(1.0)
    assert UNEXPLAINED in found.posterior


def test_certainty_is_told_in_words():
    assert [certainty_in_words(p) for p in (0.99, 0.85, 0.5)] == ["very sure", "fairly sure",
                                                                  "likely"]
