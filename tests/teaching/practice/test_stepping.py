"""Steps of practice cannot be guessed, and whoever can read a gas climbs them."""
from __future__ import annotations

from random import Random
from types import MappingProxyType

import pytest

from acidbase_lib.teaching.patients.cases import CaseRequestError, draw_case
from acidbase_lib.teaching.practice import oxygen
from acidbase_lib.teaching.practice.bedside import SceneRun
from acidbase_lib.teaching.practice.endless import PatientRun
from acidbase_lib.teaching.practice.run import Run
from acidbase_lib.teaching.practice.stepping import chance_of_top, rights_needed
from acidbase_lib.teaching.practice.topic import PracticeStep, Topic
from acidbase_lib.teaching.practice.topics import TOPICS
from acidbase_lib.teaching.seeded_random import SeededRandom

PRACTICES = (*TOPICS, "clinical priority")


def shape_of(name: str) -> tuple[int, int, int]:
    """Choices, steps and right answers in a row of a topic as it is practiced."""
    run = SceneRun("x") if name == "clinical priority" else PatientRun(TOPICS[name], "x")
    return len(run.choices), run._last_step + 1, run.needed


@pytest.mark.parametrize("name", PRACTICES)
def test_guessing_does_not_lead_to_the_top_and_reading_does(name: str) -> None:
    choices, steps, needed = shape_of(name)
    assert chance_of_top(1 / choices, needed, steps, 40) <= 0.02
    assert chance_of_top(0.95, needed, steps, 40) >= 0.90


@pytest.mark.parametrize("name", PRACTICES)
def test_one_right_answer_fewer_could_be_guessed(name: str) -> None:
    """The steps ask no more of a learner than they must."""
    choices, steps, needed = shape_of(name)
    assert needed == 2 or chance_of_top(1 / choices, needed - 1, steps, 40) > 0.02


def test_two_in_a_row_could_be_guessed() -> None:
    """As it was: a guesser of one or two reached the top in nine of ten sittings."""
    assert 0.85 < chance_of_top(1 / 2, 2, 3, 40) < 0.95


class Coins(Run[int]):
    """Practice without patients: any of some numbers is right."""

    def __init__(self, choices: int, steps: int, seed: str) -> None:
        self._offered = choices
        super().__init__("coins", steps, choices, seed)

    @property
    def choices(self) -> tuple[str, ...]:
        return tuple(map(str, range(self._offered)))

    @property
    def key(self) -> str:
        return str(self.case)

    @property
    def stream(self) -> str:
        return "coins"

    def draw(self, draw: SeededRandom, told: object) -> int:
        return draw.whole(0, self._offered - 1)

    def story_of(self, case: int) -> str:
        return str(case)


@pytest.mark.slow
@pytest.mark.parametrize("right", [0.5, 0.8])
def test_the_worked_out_chance_is_that_of_the_runs(right: float) -> None:
    """400 played sittings: within 4 standard errors of the chain (at most 0.1)."""
    runs, reached, chance = 400, 0, Random(f"sittings {right}").random
    for number in range(runs):
        run, top = Coins(2, 3, str(number)), False
        for _ in range(40):
            good = chance() < right
            run.answer(next(c for c in run.choices if (c == run.key) is good))
            top = top or run.step == 2
            run.next()
        reached += top
    assert reached / runs == pytest.approx(chance_of_top(right, rights_needed(0.5, 3), 3),
                                           abs=0.1)


@pytest.mark.parametrize("choices", [2, 3, 5])
def test_the_same_word_to_everybody_never_raises_a_step(choices: int) -> None:
    run = Coins(choices, 3, "one word")
    for _ in range(300):
        run.answer("0")
        run.next()
    assert run.right["0"] > 30
    assert run.step == 0


def topic_of(*wishes: str) -> Topic:
    """A topic of one-wish steps; only a wish for "metabolic acidosis" is ever met."""
    def bring(disorder: str, seed: str, avoid: object = ()):  # type: ignore[no-untyped-def]
        if disorder != "metabolic acidosis":
            raise CaseRequestError("no such patient")
        return draw_case(disorder, seed=seed)

    model = TOPICS["primary disorder"]
    return Topic("hard to meet", model.question, model.choices, tuple(
        PracticeStep(wish, (MappingProxyType({"disorder": wish}),)) for wish in wishes),
        model.believe, model.explain, model.falls, bring=bring)


def test_a_wish_that_no_patient_meets_hands_over_to_the_nearest_step() -> None:
    run = PatientRun(topic_of("nobody", "metabolic acidosis"), "Saltmere")
    for _ in range(3):
        assert run.key == "metabolic acidosis"
        assert run.step == 0
        run.next()


def test_where_no_step_has_a_patient_practice_says_so() -> None:
    with pytest.raises(RuntimeError, match="No patient was found for practice on hard to meet"):
        PatientRun(topic_of("nobody", "no one"), "Saltmere")


def test_numbers_that_suit_no_history_are_drawn_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """One unlucky draw in a thousand once ended the practice of causes."""
    tries = []

    def unlucky(*args: object, **wish: object):  # type: ignore[no-untyped-def]
        tries.append(wish["seed"])
        if len(tries) < 3:
            raise CaseRequestError("these numbers suit no history")
        return draw_case(**wish)  # type: ignore[arg-type]

    monkeypatch.setattr(oxygen, "draw_case", unlucky)
    assert PatientRun(TOPICS["causes"], "Saltmere").key in TOPICS["causes"].choices
    assert len(tries) >= 3
