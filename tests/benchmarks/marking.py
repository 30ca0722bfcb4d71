"""Marking by reading beside plain nbgrader, in one run.

python -m tests.benchmarks.marking [--many 500] [--few 6] [--large 10000] [--workers 2]

Exits with 1 where reading is less than 100 times faster, by the clock or by the processor, where a
process takes more than 200 MB, or where the marks differ.
"""
from __future__ import annotations

import argparse
import json
import os
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from statistics import median

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent / "support"), str(HERE)]

import nbformat  # noqa: E402
from handing_in import (  # noqa: E402
    REPOSITORY,
    Notebook,
    answered,
    hand_in_to,
    make_course,
    released,
)
from lanes import auto_scores, run_nbgrader  # noqa: E402
from ten_questions import QUESTIONS, UNIT, instructors_notebook, open_ten  # noqa: E402

from acidbase_lib.classroom.gradebook.mark_class import mark_class  # noqa: E402
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource  # noqa: E402
from acidbase_lib.classroom.report.class_pages import results_of, write_class_pages  # noqa: E402
from acidbase_lib.teaching.questions.answer_text import write_chart  # noqa: E402


def school(root: Path, text: Notebook, size: int) -> Path:
    """A course in which so many learners handed in, each by the answers of some idea."""
    course = make_course(root, UNIT, text)
    mark_class(course, UNIT)
    release, dice, unit = released(AssignmentSource.from_notebook(text, UNIT)), random.Random(2), \
        open_ten()
    for number in range(size):
        answers = {e.id: write_chart(e.id, e.fields, e.key if dice.random() < 0.5 else
                                     dice.choice(list(e.predicted.values()) or [{}]))
                   for e in unit}
        hand_in_to(course, f"learner{number:05d}", answered(release, answers), UNIT)
    return course


def processor() -> float:
    """Processor seconds of this process and of those it started, at work still or not."""
    told = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    me, living = os.getpid(), 0.0
    for child in Path(f"/proc/{me}/task/{me}/children").read_text().split():
        with suppress(OSError):  # it has ended meanwhile
            living += int(Path(f"/proc/{child}/schedstat").read_text().split()[0]) / 1e9
    return sum(one.ru_utime + one.ru_stime for one in told) + living


def timed(work: Callable[[], object], size: int) -> dict[str, float]:
    """Milliseconds a submission, by the clock and of the processor."""
    began, used = time.perf_counter(), processor()
    work()
    return {"clock": 1000 * (time.perf_counter() - began) / size,
            "processor": 1000 * (processor() - used) / size}


def in_a_fresh_process(course: Path, size: int, workers: int = 1) -> dict[str, float]:
    """Mark a course in a process of its own, so that its memory is its own too."""
    done = subprocess.run([sys.executable, "-m", "tests.benchmarks.marking", "--child",
                           str(course), "--many", str(size), "--workers", str(workers)],
                          cwd=REPOSITORY, capture_output=True, text=True, check=True)
    return dict(json.loads(done.stdout))


LEAST = 100  # times faster than plain autograding, by the clock and by the processor
MOST_MEMORY = 200.0  # of the marking process, and of any that it starts [MB]


class Yardstick:
    """A fixed piece of work done again and again between submissions.

    A shared machine is now fast and now slow; both the marking and this feel it alike, so their
    ratio tells whether a submission costs more in a large class.
    """

    EVERY = 20

    def __init__(self, text: str) -> None:
        self._text, self.spent, self.times = text, 0.0, 0
        self._began, self.ratios = processor(), list[tuple[float, float]]()

    def tick(self, done: int, _of: int, _row: object) -> None:
        """Lay it on after every so many submissions."""
        if done % self.EVERY:
            return
        here = processor()
        for _ in range(20):
            json.dumps(json.loads(self._text))
        now = processor()
        self.spent, self.times = self.spent + now - here, self.times + 1
        self.ratios.append((here - self._began, now - here))
        self._began = now

    @property
    def cost(self) -> float:
        """What a submission costs, by this measure; the start of the process is left out."""
        marking, here = (sum(one) for one in zip(*self.ratios[5:], strict=True))
        return marking / here / self.EVERY


def child(course: Path, size: int, workers: int) -> None:
    """What the fresh process does; both lanes are timed once nbgrader is loaded."""
    import nbgrader.api  # noqa: F401

    yardstick = Yardstick(next(course.rglob("submitted/*/*/*.ipynb")).read_text(encoding="utf-8"))

    def work() -> None:
        if workers == 1:
            mark_class(course, UNIT, progress=yardstick.tick, keep_marks=False)
            return
        from concurrent.futures import ProcessPoolExecutor

        with ProcessPoolExecutor(workers) as executor:
            mark_class(course, UNIT, executor, keep_marks=False)
    told = timed(work, size)
    told = {name: spent - 1000 * yardstick.spent / size for name, spent in told.items()}
    if yardstick.times > 5:
        told["cost"] = yardstick.cost
    told["memory"] = max(resource.getrusage(who).ru_maxrss for who in (
        resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)) / 1024  # a child reads the hand-ins
    print(json.dumps(told))


def say(name: str, told: dict[str, float]) -> None:
    memory = f"  {told['memory']:6.0f} MB at most" if "memory" in told else ""
    print(f"{name:<44}{told['clock']:9.2f} ms  {told['processor']:9.2f} ms{memory}", flush=True)


def measured(given: argparse.Namespace, work: Path) -> int:
    """Print the table; return how many limits were missed."""
    os.environ["PYTHONPATH"] = os.pathsep.join(sys.path[:2])  # the kernels import the unit
    text = instructors_notebook(json.loads(nbformat.writes(nbformat.read(
        REPOSITORY / "solutions" / UNIT / f"{UNIT}.ipynb", 4), split_lines=False)))
    many, few = given.many, given.few
    course = school(work / "many", text, many)
    plain = school(work / "plain", text, few)
    print(f"{len(open_ten().exercises)} of {QUESTIONS} questions; a submission is "
          f"{len(next(course.rglob('submitted/*/*/*.ipynb')).read_bytes()) / 1024:.0f} KB")
    print(f"{'':<44}{'clock':>12}  {'processor':>12}")
    ours = in_a_fresh_process(course, many)
    say(f"by reading, {many}", ours)
    runs = [ours, in_a_fresh_process(course, many),
            in_a_fresh_process(course, many, given.workers)]
    say(f"by reading, {many}, again", runs[1])
    say(f"by reading, {many}, {given.workers} processes", runs[2])
    theirs = timed(lambda: run_nbgrader("Autograde", plain, UNIT, plain=True), few)
    say(f"plain nbgrader, {few}", theirs)
    pages = timed(lambda: write_class_pages(work / "out", results_of(course, UNIT, {}), open_ten(),
                                            release_keys=True), many)
    say(f"feedback pages, grades and report, {many}", pages)
    expected = auto_scores(plain)
    got = auto_scores(course)
    same = all(got[learner] == expected[learner] for learner in expected)
    print(f"the same marks: {same} ({len(expected)} learners)")
    faster = {how: theirs[how] / ours[how] for how in ("clock", "processor")}
    print(f"times faster: {faster['clock']:.0f} by the clock, {faster['processor']:.0f} by the "
          f"processor (at least {LEAST})")
    if given.large:
        sizes = sorted({200, many, given.large})
        courses = {size: school(work / f"of{size}", text, size) for size in sizes}
        costs: dict[int, list[float]] = {size: [] for size in sizes}
        for _ in range(3):
            for size in sizes:
                told = in_a_fresh_process(courses[size], size)
                costs[size].append(told["cost"])
                runs.append(told)
                say(f"by reading, {size}", told)
        middle = {size: median(costs[size]) for size in sizes}
        print(f"a submission by the yardstick beside it: {_costs(costs)}; {given.large} against "
              f"{sizes[0]}: {middle[given.large] / middle[sizes[0]]:.2f}")
    memory = max(run["memory"] for run in runs)
    print(f"peak memory of a process: {memory:.0f} MB (at most {MOST_MEMORY:.0f})")
    missed = [how for how, times in faster.items() if times < LEAST]
    missed += ["memory"] * (memory > MOST_MEMORY) + ["marks"] * (not same)
    print(f"missed: {', '.join(missed)}" if missed else "every limit holds")
    return len(missed)


def _costs(costs: dict[int, list[float]]) -> str:
    return "; ".join(f"of {size}: " + ", ".join(f"{one:.3f}" for one in sorted(these))
                     for size, these in costs.items())


def main() -> int:
    """Read the command line; 1 where a limit is missed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--many", type=int, default=500)
    parser.add_argument("--few", type=int, default=6)
    parser.add_argument("--large", type=int, default=0)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--child", type=Path, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.child is not None:
        child(given.child, given.many, given.workers)
        return 0
    with tempfile.TemporaryDirectory() as folder:
        return int(measured(given, Path(folder)) > 0)


if __name__ == "__main__":
    sys.exit(main())
