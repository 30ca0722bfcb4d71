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
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from acidbase_lib.classroom.diagnosis.diagnosis import (
    IDEA,
    OTHER,
    SOUND,
    UNEXPLAINED,
    Diagnosis,
    diagnose,
    states,
)
from acidbase_lib.classroom.diagnosis.observation import HeldIdeas, same

from .classifiers import Learner, dina, nearest
from .outside import OUTSIDE
from .planted import IDEAS, SIZE, Asked, at_random, chosen, of_unit, pairs, pool, without

SHOWS = 4  # an idea that changes fewer answers than this can hardly be seen by anybody
FORMS = (101, 102, 103, 104, 105)  # none of these was looked at while the method was made
SIZES, SLIPS = (20, 50, 200), (0.05, 0.10, 0.20)
STATES = states(IDEAS)


@dataclass(frozen=True, slots=True)
class Figures:
    """Counts of what was found, as (right, asked), and what was said how surely."""

    counts: Counter[str]
    asked: Counter[str]
    calibration: tuple[tuple[str, int, int], ...]

    def share(self, name: str) -> float:
        """A share between 0 and 1."""
        return self.counts[name] / self.asked[name] if self.asked[name] else 0.0

    def __add__(self, other: Figures) -> Figures:
        rows = zip(self.calibration, other.calibration, strict=True)
        return Figures(self.counts + other.counts, self.asked + other.asked,
                       tuple((band, a + c, b + d) for (band, a, b), (_, c, d) in rows))


def likeliest(found: Diagnosis, at_most: int = 2) -> HeldIdeas:
    """The explanation of the highest probability that holds no more ideas than allowed."""
    return max((s for s in found.posterior if s != UNEXPLAINED and len(s) <= at_most),
               key=lambda s: found.posterior[s])


def measure(sitting: Asked, rounds: int, slip: float = 0.10, seed: int = 11) -> Figures:
    """Plant every idea, every pair, none and unlisted ones, and count what is found."""
    dice = random.Random(seed)
    counts: Counter[str] = Counter()
    asked: Counter[str] = Counter()

    def count(name: str, right: bool) -> None:
        counts[name] += right
        asked[name] += 1

    ones = [((idea,), diagnose(sitting.answered((idea,), slip, dice), IDEAS))
            for _ in range(rounds) for idea in IDEAS]
    sound: list[tuple[HeldIdeas, Diagnosis]] = [
        ((), diagnose(sitting.answered((), slip, dice), IDEAS)) for _ in range(rounds * 15)]
    twos = [(pair, diagnose(sitting.answered(pair, slip, dice), IDEAS))
            for _ in range(max(1, rounds // 4)) for pair in pairs()]
    for held, found in [*ones, *sound[:rounds]]:
        count("likeliest of sixteen", likeliest(found, 1) == held)
    for held, found in ones:
        count("single named", found.ideas == held)
    for held, found in twos:
        count("both named", set(found.ideas) == set(held))
        count("both likeliest", set(likeliest(found)) == set(held))
        count("a third idea named", bool(set(found.ideas) - set(held)))
    for _, found in sound:
        count("sound given an idea", bool(found.ideas))
        count("sound called unexplained", found.verdict == OTHER)
    for _ in range(rounds):
        left_out = [diagnose(without(sitting.answered((idea,), slip, dice), idea),
                             [i for i in IDEAS if i != idea]) for idea in IDEAS]
        outside = [diagnose(sitting.answered_outside(name, slip, dice), IDEAS)
                   for name in sitting.outside if changes(sitting, name) >= SHOWS]
        for name, found_all in (("left out", left_out), ("outside", outside)):
            for found in found_all:
                count(f"{name}: unexplained", found.verdict == OTHER)
                count(f"{name}: no name", found.verdict != IDEA)
    return Figures(counts, asked, calibration([*ones, *sound, *twos]))


def calibration(told: Sequence[tuple[HeldIdeas, Diagnosis]]) -> tuple[tuple[str, int, int], ...]:
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


def a_class(size: int, dice: random.Random) -> list[HeldIdeas]:
    """Four in ten sound, four in ten with one idea, two in ten with two."""
    kinds = [0] * (size * 4 // 10) + [2] * (size * 2 // 10)
    kinds += [1] * (size - len(kinds))
    return [() if k == 0 else (dice.choice(IDEAS),) if k == 1
            else dice.choice(pairs()) for k in kinds]


def ours(learners: Sequence[Learner], _: Sequence[HeldIdeas]) -> list[HeldIdeas]:
    """The ideas that the report would name."""
    return [tuple(sorted(diagnose(learner, IDEAS).ideas, key=IDEAS.index))
            for learner in learners]


def ours_likeliest(learners: Sequence[Learner], _: Sequence[HeldIdeas]) -> list[HeldIdeas]:
    """The likeliest explanation, however unsure: comparable with rivals that always decide."""
    return [likeliest(diagnose(learner, IDEAS)) for learner in learners]


WAYS: dict[str, Callable[[Sequence[Learner], Sequence[HeldIdeas]], list[HeldIdeas]]] = {
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


def changes(sitting: Asked, outside: str) -> int:
    """In how many answers an idea that nobody listed differs from the key."""
    return sum(not same(word, o.key) for word, o in
               zip(sitting.outside[outside], sitting.observations, strict=True))


def unlisted(sitting: Asked, rounds: int = 8) -> None:
    """Print what every way makes of ideas that are not on the list."""
    dice = random.Random(5)
    learners = [sitting.answered_outside(idea, 0.1, dice)
                for _ in range(rounds) for idea in OUTSIDE]
    print("\nIdeas that nobody listed (10% slips): answers changed, learners called unexplained, "
          "learners given a listed idea's name")
    for idea in OUTSIDE:
        found = [diagnose(sitting.answered_outside(idea, 0.1, dice), IDEAS) for _ in range(40)]
        print(f"  {idea:36s}{changes(sitting, idea):3d}  "
              f"{_share(d.verdict == OTHER for d in found):6.1%}  "
              f"{_share(d.verdict == IDEA for d in found):6.1%}")
    print("\nThe same, given a listed idea's name by every way:")
    for name, way in WAYS.items():
        print(f"  {name:24s}{_share(bool(held) for held in way(learners, STATES)):6.1%}")


def thousand() -> None:
    """Print how long the report of a thousand learners takes, and the memory at its end."""
    from acidbase_lib.classroom.commands.invented_class import answers_of, invent_class
    from acidbase_lib.classroom.report.report import class_report, ideas_asked
    from acidbase_lib.classroom.report.report_page import write_report
    from acidbase_lib.classroom.report.results import MARKED, LearnerResult
    from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
    from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart
    from acidbase_lib.teaching.questions.exercise import mark
    from acidbase_lib.teaching.unit import open_unit

    unit = open_unit("02_primary_disorder", form=1)
    ideas = ideas_asked(unit.exercises, MISCONCEPTIONS)
    results = []
    for learner in invent_class(1000, ideas[:4]):
        given = answers_of(learner, unit.exercises)
        marks = tuple(mark(e, parse_chart(write_chart(q, e.fields, given.get(q, {})), e.fields))
                      for q, e in unit.exercises.items())
        results.append(
            LearnerResult(
                learner.learner,
                learner.name,
                MARKED,
                sum(m.points for m in marks),
                sum(m.maximum for m in marks),
                marks,
            )
        )
    began, used = time.perf_counter(), time.process_time()
    report = class_report(results, unit.exercises, MISCONCEPTIONS, title=unit.title, made_on="")
    with tempfile.TemporaryDirectory() as folder:
        page = write_report(Path(folder), report)
        size = page.stat().st_size / 1e6
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"\nReport of 1,000 learners: {time.perf_counter() - began:.1f} s "
          f"({time.process_time() - used:.1f} s of processor), {memory:.0f} MB at the most in this "
          f"process, a page of {size:.1f} MB", flush=True)


WANTED = {"likeliest of sixteen": "wanted >= 97%", "single named": "wanted >= 97%",
          "both named": "wanted >= 85%",
          "sound given an idea": "wanted <= 3%", "left out: unexplained": "wanted >= 80%",
          "outside: unexplained": f"(those that change {SHOWS} answers or more)"}


def show(name: str, f: Figures) -> None:
    """Print one kind of sitting's figures."""
    print(f"\n{name}")
    for figure in f.asked:
        print(f"  {figure:26s}{f.share(figure):7.1%} of {f.asked[figure]:5d}"
              + (f"   {WANTED[figure]}" if figure in WANTED else ""))
    print("  how sure, said, right:  "
          + ";  ".join(f"{band}: {n}, {right / n:.1%}" for band, n, right in f.calibration if n),
          flush=True)


def over(sittings: Sequence[Asked], rounds: int, slip: float = 0.10) -> Figures:
    """The figures of several sittings together."""
    every = [measure(sitting, rounds, slip, seed) for seed, sitting in enumerate(sittings, 100)]
    total = every[0]
    for figures in every[1:]:
        total = total + figures
    return total


def main() -> None:
    """Print every figure."""
    thousand()  # first, so that the memory is the report's own
    pool(FORMS[0])
    began = time.process_time()
    sittings = [chosen(FORMS[0])]
    print(f"\n{SIZE} items chosen from {sum(map(len, pool(FORMS[0])))} against {len(IDEAS)} ideas: "
          f"{time.process_time() - began:.1f} s of processor, drawing the candidates once more "
          "included")
    sittings += [chosen(form) for form in FORMS[1:]]
    answers = len(sittings[0].observations)
    show(f"Chosen by the kit, {len(FORMS)} forms of {SIZE} items ({answers} answers), 10% slips",
         over(sittings, 4))
    show("The same candidates drawn blindly, 10% slips",
         over([at_random(form) for form in FORMS], 4))
    for unit in ("03_compensation", "08_sitting"):
        form = of_unit(unit, 1)
        show(f"A form of {unit}, {len(form.observations)} answers of one word, 10% slips",
             measure(form, 4))
    for slip in (0.05, 0.20):
        show(f"Chosen by the kit, {slip:.0%} slips", over(sittings[:2], 4, slip))
    side_by_side(sittings[0])
    unlisted(sittings[0])
    print(f"\nMachine: {platform.machine()}, Python {platform.python_version()}")


def _share(truths: Iterable[bool]) -> float:
    told = list(truths)
    return sum(told) / len(told) if told else 0.0


if __name__ == "__main__":
    sys.exit(main())
