"""How well the diagnosis finds planted ideas, side by side with two published ways.

Run from the repository: python -m tests.benchmarks.diagnosis
Every figure is measured on simulated learners, who answer as the list of ideas says, with slips:
it shows what the method can do, not how it will do in a real class.
"""
from __future__ import annotations

import platform
import random
import resource
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from acidbase_lib.classroom.diagnosis import (
    IDEA,
    OTHER,
    SOUND,
    UNEXPLAINED,
    Diagnosis,
    State,
    diagnose,
    states,
)
from acidbase_lib.teaching.exercises import Exercise
from acidbase_lib.teaching.sitting import separation

from .classifiers import Learner, dina, nearest
from .planted import (
    IDEAS,
    POOL,
    SIZE,
    Asked,
    at_random,
    chosen,
    chosen_by_exchange,
    pairs,
    pool,
    without,
)

SIZES, SLIPS = (20, 50, 200), (0.05, 0.10, 0.20)
STATES = states(IDEAS)


@dataclass(frozen=True, slots=True)
class Figures:
    """The shares that are asked for, each between 0 and 1."""

    best_of_sixteen: float
    one_named: float
    two_named: float
    two_likeliest: float
    false_alarm: float
    unlisted_unexplained: float
    unlisted_not_named: float
    calibration: tuple[tuple[str, int, int], ...]


def likeliest(found: Diagnosis, at_most: int = 2) -> State:
    """The explanation of the highest probability that holds no more ideas than allowed."""
    return max((s for s in found.posterior if s != UNEXPLAINED and len(s) <= at_most),
               key=lambda s: found.posterior[s])


def measure(sitting: Asked, rounds: int, slip: float = 0.10, seed: int = 11) -> Figures:
    """Plant every idea, every pair and none, and count what is found."""
    dice = random.Random(seed)
    ones = [((idea,), diagnose(sitting.answered((idea,), slip, dice), IDEAS))
            for _ in range(rounds) for idea in IDEAS]
    sound: list[tuple[State, Diagnosis]] = [
        ((), diagnose(sitting.answered((), slip, dice), IDEAS)) for _ in range(rounds * 15)]
    every = pairs() if rounds > 2 else dice.sample(pairs(), 40)
    twos = [(pair, diagnose(sitting.answered(pair, slip, dice), IDEAS))
            for _ in range(max(1, rounds // 4)) for pair in every]
    hidden = [diagnose(without(sitting.answered((idea,), slip, dice), idea),
                       [i for i in IDEAS if i != idea]) for _ in range(rounds) for idea in IDEAS]
    sixteen = [*ones, *sound[:rounds]]
    return Figures(
        _share(likeliest(d, 1) == held for held, d in sixteen),
        _share(d.ideas == held for held, d in ones),
        _share(set(d.ideas) == set(held) for held, d in twos),
        _share(set(likeliest(d)) == set(held) for held, d in twos),
        _share(bool(d.ideas) for _, d in sound),
        _share(d.verdict == OTHER for d in hidden),
        _share(d.verdict != IDEA for d in hidden),
        calibration([*ones, *sound, *twos]))


def calibration(told: Sequence[tuple[State, Diagnosis]]) -> tuple[tuple[str, int, int], ...]:
    """Reliability: how sure, how often it was said, how often it was right.

    A named idea is right where the learner holds it; "sound" is right where there is none.
    """
    said: list[tuple[float, bool]] = []
    for held, found in told:
        if found.verdict == SOUND:
            said.append((found.certainty, not held))
        said += [(found.holds(idea), idea in held) for idea in found.ideas]
    rows = []
    for low, high in ((0.0, 0.8), (0.8, 0.9), (0.9, 0.95), (0.95, 1.001)):
        inside = [right for sure, right in said if low <= sure < high]
        rows.append((f"{low:.2f} to {min(high, 1.0):.2f}", len(inside), sum(inside)))
    return tuple(rows)


def a_class(size: int, dice: random.Random) -> list[State]:
    """Four in ten sound, four in ten with one idea, two in ten with two."""
    kinds = [0] * (size * 4 // 10) + [2] * (size * 2 // 10)
    kinds += [1] * (size - len(kinds))
    return [() if k == 0 else (dice.choice(IDEAS),) if k == 1
            else dice.choice(pairs()) for k in kinds]


def ours(learners: Sequence[Learner], _: Sequence[State]) -> list[State]:
    """The ideas that the report would name."""
    return [tuple(sorted(diagnose(learner, IDEAS).ideas, key=IDEAS.index))
            for learner in learners]


def ours_likeliest(learners: Sequence[Learner], _: Sequence[State]) -> list[State]:
    """The likeliest explanation, however unsure: comparable with rivals that always decide."""
    return [likeliest(diagnose(learner, IDEAS)) for learner in learners]


WAYS: dict[str, Callable[[Sequence[Learner], Sequence[State]], list[State]]] = {
    "named in the report": ours, "likeliest explanation": ours_likeliest,
    "nearest ideal response": nearest, "DINA by EM": dina}


def side_by_side(sitting: Asked, repeats: int = 3) -> None:
    """Print the agreement of every way in classes of every size and carefulness."""
    print("\nAgreement: all / of none / of one / of two / sound learners given an idea")
    for size in SIZES:
        for slip in SLIPS:
            dice = random.Random(size * 100 + int(slip * 100))
            # a small class is repeated more often, so that every line rests on enough learners
            classes = [a_class(size, dice) for _ in range(max(repeats, 200 // size)
                                                          if size < 200 else 1)]
            sat = [[sitting.answered(held, slip, dice) for held in one] for one in classes]
            for name, way in WAYS.items():
                told = [(held, found) for one, learners in zip(classes, sat, strict=True)
                        for held, found in zip(one, way(learners, STATES), strict=True)]
                by = [_share(f == h for h, f in told if len(h) == n) for n in (0, 1, 2)]
                print(f"  class of {size:3d}, {slip:3.0%} slips  {name:24s}"
                      f"{_share(f == h for h, f in told):6.1%}  "
                      + "  ".join(f"{x:6.1%}" for x in by)
                      + f"  {_share(bool(f) for h, f in told if not h):6.1%}", flush=True)


def unlisted(sitting: Asked, rounds: int = 2) -> None:
    """Print what every way makes of an idea that is not on the list."""
    dice = random.Random(5)
    named = dict.fromkeys(WAYS, 0)
    for _ in range(rounds):
        for idea in IDEAS:
            rest = tuple(i for i in IDEAS if i != idea)
            learners = [without(sitting.answered((idea,), 0.1, dice), idea) for _ in range(20)]
            for name, way in WAYS.items():
                kept = [s for s in STATES if idea not in s]
                found = ([diagnose(x, rest).ideas for x in learners] if way is ours
                         else [likeliest(diagnose(x, rest)) for x in learners]
                         if way is ours_likeliest else way(learners, kept))
                named[name] += sum(map(bool, found))
    print("\nAn idea that is not on the list is given another one's name (10% slips):")
    for name, count in named.items():
        print(f"  {name:24s}{count / (rounds * 20 * len(IDEAS)):6.1%}")


def thousand() -> None:
    """Print how long the report of a thousand learners takes, and the memory at its end."""
    from acidbase_lib.classroom.learners import answers_of, invent_class
    from acidbase_lib.classroom.report import class_report, ideas_asked
    from acidbase_lib.classroom.report_page import write_report
    from acidbase_lib.classroom.results import MARKED, Result
    from acidbase_lib.teaching.chart import parse_chart, write_chart
    from acidbase_lib.teaching.exercises import mark
    from acidbase_lib.teaching.misconceptions import MISCONCEPTIONS
    from acidbase_lib.teaching.unit import open_unit

    unit = open_unit("02_primary_disorder", form=1)
    ideas = ideas_asked(unit.exercises, MISCONCEPTIONS)
    results = []
    for learner in invent_class(1000, ideas[:4]):
        given = answers_of(learner, unit.exercises)
        marks = tuple(mark(e, parse_chart(write_chart(q, e.fields, given.get(q, {})), e.fields))
                      for q, e in unit.exercises.items())
        results.append(Result(learner.learner, learner.name, MARKED, sum(m.points for m in marks),
                              sum(m.maximum for m in marks), marks))
    began, used = time.perf_counter(), time.process_time()
    report = class_report(results, unit.exercises, MISCONCEPTIONS, title=unit.title, made_on="")
    with tempfile.TemporaryDirectory() as folder:
        page = write_report(Path(folder), report)
        size = page.stat().st_size / 1e6
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"\nReport of 1,000 learners: {time.perf_counter() - began:.1f} s "
          f"({time.process_time() - used:.1f} s of processor), {memory:.0f} MB at the most in this "
          f"process, a page of {size:.1f} MB", flush=True)


def show(name: str, f: Figures) -> None:
    """Print one sitting's figures."""
    print(f"\n{name}, 10% slips\n"
          f"  planted or none, likeliest of sixteen  {f.best_of_sixteen:6.1%}   wanted >= 97%\n"
          f"  single idea, named in the report       {f.one_named:6.1%}   wanted >= 97%\n"
          f"  both of two, named in the report       {f.two_named:6.1%}   wanted >= 85%\n"
          f"  both of two, likeliest explanation     {f.two_likeliest:6.1%}\n"
          f"  sound learner given an idea            {f.false_alarm:6.1%}   wanted <= 3%\n"
          f"  unlisted idea called unexplained       {f.unlisted_unexplained:6.1%}   "
          f"wanted >= 80%\n"
          f"  unlisted idea given no name            {f.unlisted_not_named:6.1%}\n"
          "  how sure, said, right:  "
          + ";  ".join(f"{band}: {n}, {right / n:.1%}" for band, n, right in f.calibration if n),
          flush=True)


def main() -> None:
    """Print every figure."""
    thousand()  # first, so that the memory is the report's own
    items: list[Exercise] = pool()
    began = time.process_time()
    best = chosen(items)
    print(f"\n{SIZE} items chosen from {POOL} against {len(IDEAS)} ideas in "
          f"{time.process_time() - began:.1f} s of processor; the weakest pair is told apart by "
          f"{separation(best, IDEAS).weakest} answers")
    plain = Asked.of(best)
    show(f"Chosen by the kit ({len(plain.observations)} answers)", measure(plain, 8))
    began = time.process_time()
    best = chosen_by_exchange(items)
    print(f"\nChosen again against pairs of ideas as well, in {time.process_time() - began:.1f} s; "
          f"the weakest pair is told apart by {separation(best, IDEAS).weakest} answers")
    sitting = Asked.of(best)
    show(f"Chosen by exchange ({len(sitting.observations)} answers)", measure(sitting, 20))
    for seed in (1, 2, 3):
        blind = Asked.of(at_random(items, seed))
        show(f"Random sitting {seed} ({len(blind.observations)} answers)", measure(blind, 4))
    for slip in (0.05, 0.20):
        f = measure(sitting, 6, slip)
        print(f"\nChosen sitting, {slip:.0%} slips: single {f.one_named:.1%}, both of two "
              f"{f.two_named:.1%}, sound given an idea {f.false_alarm:.1%}")
    side_by_side(sitting)
    unlisted(sitting)
    print(f"\nMachine: {platform.machine()}, Python {platform.python_version()}, shared with "
          "other work while this ran")


def _share(truths: Iterable[bool]) -> float:
    told = list(truths)
    return sum(told) / len(told) if told else 0.0


if __name__ == "__main__":
    sys.exit(main())
