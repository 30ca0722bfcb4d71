"""What practice leaves at the end of a term: this scheduler beside three other ways to practice.

    python -m tests.benchmarks.memory [LEARNERS]

Simulated learners come twice a week for 15 weeks and practice for 15 minutes, 15 questions at most.
They forget by the activation model of Pavlik & Anderson (Cognitive Science 2005;29:559-586), a sum
of decaying traces in which a trace made while much is still active decays faster: the spacing
effect. It is not the scheduler's own model. Its constants are from memory, not yet checked against
the paper: decay 0.217 e^m + 0.177, threshold -0.704, noise 0.255, time between sittings counted at
0.025. Each learner and each skill is easier or harder (a normal deviation of 0.25 of the threshold,
a choice of ours). A question is answered rightly where the skill is remembered (slips 5 %), else by
a guess (1 in 4). Retention is the mean chance, over all skills, that the skill is remembered.

Goal: at the end of the term, ahead of each of the three others, by more than twice the standard
error of the learners' own differences.
"""
from __future__ import annotations

import math
import sys
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from statistics import mean, stdev

from acidbase_lib.teaching.memory.remembered import Remembered
from acidbase_lib.teaching.practice.needed import Sitting
from acidbase_lib.teaching.practice.skills import TAUGHT_IN, kinds_of, open_skills, split

WEEKS, QUESTIONS, A_QUESTION = 15, 15, 60  # [weeks], a sitting, [s]
DAY = 86400.0
GROWTH, DECAY, THRESHOLD, NOISE, BETWEEN = 0.217, 0.177, -0.704, 0.255, 0.025
SPREAD, SLIP, GUESS = 0.25, 0.05, 0.25
BEGIN = datetime(2026, 9, 7, 8, tzinfo=UTC)
SITTINGS = [week * 7 + day for week in range(WEEKS) for day in (0, 3)]
ALL = open_skills(TAUGHT_IN.values())
WAYS = ("this scheduler", "one topic a sitting", "mixed at random", "massed")


class Learner:
    """Somebody who forgets: traces of each skill, on a clock that runs slower between sittings."""

    def __init__(self, number: int) -> None:
        born = Random(f"learner {number}")
        self.chance = Random(f"answers of {number}")
        own = born.gauss(0, SPREAD)
        self.threshold = {skill: THRESHOLD + own + born.gauss(0, SPREAD) for skill in ALL}
        self.traces: dict[str, list[tuple[float, float]]] = {skill: [] for skill in ALL}

    def activation(self, skill: str, now: float) -> float:
        """The natural logarithm of the sum of all traces."""
        total = sum(max(now - then, 1.0) ** -decay for then, decay in self.traces[skill])
        return math.log(total) if total else -math.inf

    def remembers(self, skill: str, now: float) -> float:
        """The chance that a skill is remembered."""
        over = (self.threshold[skill] - self.activation(skill, now)) / NOISE
        return 0.0 if over > 700 else 1 / (1 + math.exp(over))

    def practice(self, skill: str, now: float) -> tuple[bool, str]:
        """Answer, and see the reasons: right or not, and how sure."""
        known = self.chance.random() < self.remembers(skill, now)
        right = self.chance.random() < (1 - SLIP if known else GUESS)
        self.study(skill, now)
        return right, "sure" if known else "a guess"

    def study(self, skill: str, now: float) -> None:
        """One more trace."""
        decay = GROWTH * math.exp(min(self.activation(skill, now), 2.0)) + DECAY
        self.traces[skill].append((now, decay))


def felt(day: int, second: float = 0.0) -> float:
    """The learner's clock: sittings in full, the days between them slowly. [s]"""
    sat = sum(1 for one in SITTINGS if one < day) * QUESTIONS * A_QUESTION
    return sat + day * DAY * BETWEEN + second


def opened(day: int) -> list[str]:
    """The units taught so far: one a week."""
    return [unit for unit in sorted(set(TAUGHT_IN.values())) if int(unit) <= day // 7 + 1]


def others(way: str, learner: Learner, place: int, day: int) -> Iterator[str]:
    """What is asked in one sitting, where no memory decides."""
    topics = [topic for topic, unit in TAUGHT_IN.items() if unit in opened(day)]
    if way == "mixed at random":
        pool = open_skills(opened(day))
    else:
        topic = (topics[place % len(topics)] if way == "one topic a sitting" else
                 topics[min(place * len(TAUGHT_IN) // len(SITTINGS), len(topics) - 1)])
        pool = tuple(f"{topic}: {kind}" for kind in kinds_of(topic))
    while True:
        yield learner.chance.choice(pool)


def term(way: str, number: int) -> tuple[float, float, int]:
    """Retention at the end of the term, eight weeks later, and how many questions it took."""
    learner, asked, taught = Learner(number), 0, set[str]()
    now = BEGIN
    with tempfile.TemporaryDirectory() as folder:
        memory = Remembered(Path(folder), lambda: now)
        for place, day in enumerate(SITTINGS):
            for skill in open_skills(opened(day)):  # the lesson itself, the same for everybody
                if skill not in taught:
                    taught.add(skill)
                    learner.study(skill, felt(day))
            sitting = Sitting(memory, open_skills(opened(day)))
            stream = others(way, learner, place, day)
            for count in range(QUESTIONS):
                now = BEGIN + timedelta(days=day, seconds=count * A_QUESTION)
                if way == "this scheduler":
                    if (need := sitting.choose(more=True)) is None:
                        break
                    skill = need.skill
                else:
                    skill = next(stream)
                right, sure = learner.practice(skill, felt(day, (count + 1) * A_QUESTION))
                asked += 1
                if way == "this scheduler":
                    memory.keep(skill, right, sure=sure)
                    sitting.heard(right)
    end, later = WEEKS * 7, (WEEKS + 8) * 7
    return (mean(learner.remembers(skill, felt(end)) for skill in ALL),
            mean(learner.remembers(skill, felt(later)) for skill in ALL), asked)


def main() -> int:
    """Print each way's retention and questions, then the margins; 1 where the goal is missed."""
    learners = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    found = {way: [term(way, number) for number in range(learners)] for way in WAYS}
    print(f"{learners} learners, {len(ALL)} skills of {len({split(s)[0] for s in ALL})} topics, "
          f"{len(SITTINGS)} sittings")
    for way, ends in found.items():
        print(f"{way}: {mean(end for end, _, _ in ends):.1%} at the end (learners' deviation "
              f"{stdev(end for end, _, _ in ends):.1%}), {mean(later for _, later, _ in ends):.1%} "
              f"eight weeks later, {mean(asked for _, _, asked in ends):.0f} questions")
    ours, met, said = found[WAYS[0]], True, []
    for way in WAYS[1:]:
        ahead = [mine[0] - theirs[0] for mine, theirs in zip(ours, found[way], strict=True)]
        margin, error = mean(ahead), stdev(ahead) / math.sqrt(learners)
        met = met and margin > 2 * error
        said.append(f"{100 * margin:+.1f} ± {200 * error:.1f} points of {way}")
    print(f"{'met' if met else 'MISSED'}: this scheduler is ahead by {', '.join(said)} "
          "(twice the standard error)")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
