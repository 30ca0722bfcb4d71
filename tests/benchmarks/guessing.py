"""Whether guessing climbs the steps of practice: real patients, 40 a sitting, each kind of guesser.

    python -m tests.benchmarks.guessing [SITTINGS]

A guesser picks at random or says the same word always; a reader is right in 95 of 100. Goal: at
most 2 % of guessers and at least 90 % of readers meet the top step of each topic.
"""
from __future__ import annotations

import sys
from collections.abc import Callable
from random import Random

from acidbase_lib.teaching.practice.bedside import CLINICAL_PRIORITY, SceneRun
from acidbase_lib.teaching.practice.endless import PatientRun
from acidbase_lib.teaching.practice.run import Run
from acidbase_lib.teaching.practice.stepping import SITTING
from acidbase_lib.teaching.practice.topics import TOPICS

Answers = Callable[["Run[object]", Random], str]


def guess(run: Run[object], chance: Random) -> str:
    """Any of the answers."""
    return chance.choice(list(run.choices))


def reads(run: Run[object], chance: Random) -> str:
    """Right in 95 of 100."""
    right = chance.random() < 0.95
    return next(choice for choice in run.choices if (choice == run.key) is right)


def always(word: str) -> Answers:
    """The same word to every patient."""
    return lambda run, _: word


def share_at_top(name: str, answers: Answers, sittings: int) -> float:
    """How many of these sittings reached the top step."""
    reached = 0
    for number in range(sittings):
        chance, seed = Random(f"{name} {number}"), f"sitting {number}"
        run: Run[object] = SceneRun(seed) if name == CLINICAL_PRIORITY else PatientRun(
            TOPICS[name], seed)  # type: ignore[assignment]
        for _ in range(SITTING):
            run.answer(answers(run, chance))
            if run.step == run._last_step:
                reached += 1
                break
            run.next()
    return reached / sittings


def main() -> int:
    """Print the shares of each topic and the margin; 1 where a goal is missed."""
    sittings = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    worst_guess, worst_read = 0.0, 1.0
    print(f"{sittings} sittings of {SITTING} patients. topic: guessing / one word always / reading")
    for name in (*TOPICS, CLINICAL_PRIORITY):
        guessed = share_at_top(name, guess, sittings)
        words = TOPICS[name].choices if name in TOPICS else ()  # a scene's options are its own
        same = max((share_at_top(name, always(word), sittings) for word in words), default=0.0)
        read = share_at_top(name, reads, sittings)
        print(f"{name}: {guessed:.1%} / {same:.1%} / {read:.1%}")
        worst_guess, worst_read = max(worst_guess, guessed, same), min(worst_read, read)
    met = worst_guess <= 0.02 and worst_read >= 0.90
    print(f"{'met' if met else 'MISSED'}: guessing at most {worst_guess:.1%} (goal 2 %), reading "
          f"at least {worst_read:.1%} (goal 90 %)")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
