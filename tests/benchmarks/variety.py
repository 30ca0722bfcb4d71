"""How soon practice tells the same story again: 50 learners a topic, who answer 7 of 10 right."""
from __future__ import annotations

import argparse
from collections.abc import Iterator
from statistics import median

from acidbase_lib.teaching.practice.bedside import SceneRun
from acidbase_lib.teaching.practice.endless import PatientRun
from acidbase_lib.teaching.practice.run import Run
from acidbase_lib.teaching.practice.topics import TOPICS
from acidbase_lib.teaching.seeded_random import SeededRandom

LEARNERS = 50
RIGHT = 0.7
MOST = 200
#: The same measure before stories were made, on 2026-11-30: presses to the first repeat, and
#: distinct stories in 60 presses, both medians of 50 learners.
BEFORE = {"bedside": (14, 14), "primary disorder": (60, 60), "in range or not": (60, 60),
          "compensation": (60, 60), "one disorder or two": (44.5, 48), "oxygen": (15, 15),
          "causes": (35, 49)}


def stories(topic: str, learner: int, presses: int) -> Iterator[str]:
    """The stories that one learner meets."""
    seed = f"variety {learner}"
    run: Run = (SceneRun(seed) if topic == "bedside"  # type: ignore[type-arg]
                else PatientRun(TOPICS[topic], seed))
    chance = SeededRandom(f"{seed} answers")
    for _ in range(presses):
        yield run.story_of(run.case)
        right = chance.chance(RIGHT)
        run.answer(run.key if right else
                   chance.pick([one for one in run.choices if one != run.key]))
        run.next()


def first_repeat(told: list[str]) -> int:
    """How many presses pass before a story comes again; all of them where none does."""
    return next((place for place, story in enumerate(told) if story in told[:place]), len(told))


def main() -> None:
    """Print a line a topic."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--learners", type=int, default=LEARNERS)
    options.add_argument("topics", nargs="*", default=[])
    asked = options.parse_args()
    for topic in asked.topics or ("bedside", *TOPICS):
        presses = MOST if topic == "bedside" else 60
        told = [list(stories(topic, learner, presses)) for learner in range(asked.learners)]
        repeat = median(map(first_repeat, told))
        line = (f"{topic}: first repeat {repeat:g} presses (median), distinct in 60: "
                f"{median(len(set(one[:60])) for one in told):g}")
        if topic == "bedside":
            line += f", in {MOST}: {median(len(set(one)) for one in told):g}"
        was = BEFORE.get(topic)
        print(line + (f" (before: {was[0]:g}, {was[1]:g})" if was else ""), flush=True)


if __name__ == "__main__":
    main()
