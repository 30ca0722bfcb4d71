"""A national sitting: hand-ins marked on a local Dask cluster into a real PostgreSQL.

python -m tests.benchmarks.national [--hand-ins 100000] [--workers 1 2]

Prints hand-ins a second by workers, from the start and once the first 25 are done (a worker takes
seconds to open the unit), and what the gradebook and the history cost of it; the marks are counted
again in the database. The server writes to disk as it would for a school. Exits with 1
where a mark is missing or another one, 2 where disk or server are not to be had.
"""
from __future__ import annotations

import argparse
import json
import logging
import os
import random
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent / "support"), str(HERE)]

import nbformat  # noqa: E402
import postgres_server  # noqa: E402
import sqlalchemy as sa  # noqa: E402
from handing_in import REPOSITORY, Notebook, answered, hand_in_to, make_course, released  # noqa: E402
from ten_questions import UNIT, instructors_notebook, open_ten  # noqa: E402

from acidbase_lib.classroom.gradebook import mark_class as marking  # noqa: E402
from acidbase_lib.classroom.gradebook import write_gradebook  # noqa: E402
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder  # noqa: E402
from acidbase_lib.classroom.gradebook.shared.cluster import marking_on  # noqa: E402
from acidbase_lib.classroom.gradebook.shared.server import on_server  # noqa: E402
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource  # noqa: E402
from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart  # noqa: E402
from acidbase_lib.teaching.questions.exercise import mark  # noqa: E402

SHEETS = 500  # different ones; more hand-ins are links to these, so that a disk can hold them


def sheets(text: Notebook, many: int) -> list[tuple[bytes, float]]:
    """Answered notebooks, each question right or by some idea, and the points each is worth."""
    release, dice, unit = released(AssignmentSource.from_notebook(text, UNIT)), random.Random(11), \
        open_ten()
    made = []
    for _ in range(many):
        answers = {e.id: write_chart(e.id, e.fields, e.key if dice.random() < 0.5 else
                                     dice.choice(list(e.predicted.values()) or [{}]))
                   for e in unit}
        worth = sum(mark(e, parse_chart(answers[e.id], e.fields)).points for e in unit)
        made.append((json.dumps(answered(release, answers)).encode(), worth))
    return made


def hand_in(course: Path, made: list[tuple[bytes, float]], size: int) -> float:
    """Let so many learners hand in; return the points of all of them together."""
    first: list[Path] = []
    for number in range(size):
        data, _ = made[number % len(made)]
        if number < len(made):
            first.append(hand_in_to(course, f"n{number:06d}", data, UNIT))
            continue
        there = course / "grading" / "submitted" / f"n{number:06d}" / UNIT / f"{UNIT}.ipynb"
        there.parent.mkdir(parents=True)
        os.link(first[number % len(made)], there)
    return sum(made[number % len(made)][1] for number in range(size))


@contextmanager
def timed(spent: dict[str, float]) -> Iterator[None]:
    """Add up the seconds that the gradebook's writing and the history take."""
    store, noted = write_gradebook.ClassGradebook.store, marking.noted

    def watched(name: str, work: Any) -> Any:
        def run(*words: Any) -> Any:
            began = time.perf_counter()
            try:
                return work(*words)
            finally:
                spent[name] += time.perf_counter() - began
        return run
    write_gradebook.ClassGradebook.store = watched("gradebook", store)  # type: ignore[method-assign]
    marking.noted = watched("history", noted)
    try:
        yield
    finally:
        write_gradebook.ClassGradebook.store = store  # type: ignore[method-assign]
        marking.noted = noted


def in_the_database(url: str) -> tuple[int, float]:
    """How many learners the gradebook has, and the points of all of them, asked of itself."""
    engine = sa.create_engine(url)
    with engine.connect() as connection:
        learners = connection.scalar(sa.text("select count(*) from submitted_notebook"))
        points = connection.scalar(sa.text("select sum(auto_score) from grade"))
    engine.dispose()
    return int(learners or 0), float(points or 0.0)


def emptied(url: str) -> None:
    """Take everything out of the database."""
    engine = sa.create_engine(url, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(sa.text("drop schema public cascade"))
        connection.execute(sa.text("create schema public"))
    engine.dispose()


def sitting(work: Path, text: Notebook, size: int, workers: int, url: str) -> bool:
    """Mark one sitting on so many workers and print what it cost; whether every mark is there."""
    from distributed import LocalCluster

    emptied(url)
    made = sheets(text, min(SHEETS, size))
    course = make_course(work / f"with-{workers}", UNIT, text)
    worth = hand_in(course, made, size)
    folder = on_server(CourseFolder.find(course), url)
    spent = {"gradebook": 0.0, "history": 0.0}
    with LocalCluster(n_workers=workers, threads_per_worker=1, processes=True,
                      dashboard_address=None, host="127.0.0.1",
                      silence_logs=logging.CRITICAL) as cluster, \
            marking_on(cluster.scheduler_address, 60) as executor, timed(spent):
        began, first = time.perf_counter(), list[float]()
        marking.mark_class(folder, UNIT, executor, keep_marks=False,
                           progress=lambda *_: None if first else first.append(
                               time.perf_counter()))
        ended = time.perf_counter()
    seconds, later = ended - began, max(1, size - marking.CHUNK) / (ended - first[0])
    learners, points = in_the_database(url)
    right = learners == size and abs(points - worth) < 1e-3 * size
    rest = seconds - sum(spent.values())
    print(f"{workers:7d}{size / seconds:12.1f}{later:16.1f}{seconds:10.1f}" + "".join(
        f"{1000 * part / size:12.2f} ({100 * part / seconds:2.0f} %)"
        for part in (spent["gradebook"], spent["history"], rest))
        + f"   {learners} learners, {points:g} points" + ("" if right else f", NOT {worth:g}"),
        flush=True)
    shutil.rmtree(course)
    return right


def main() -> int:
    """Read the command line; 1 where a mark is missing or another one."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--hand-ins", type=int, default=100_000)
    asked.add_argument("--workers", type=int, nargs="+", default=[1, 2])
    given = asked.parse_args()
    if postgres_server.programs() is None:
        print("no PostgreSQL server here: apt-get install postgresql")
        return 2
    text = instructors_notebook(json.loads(nbformat.writes(nbformat.read(
        REPOSITORY / "solutions" / UNIT / f"{UNIT}.ipynb", 4), split_lines=False)))
    os.environ["PYTHONPATH"] = os.pathsep.join(sys.path[:2])  # the workers import the unit
    with tempfile.TemporaryDirectory() as folder:
        needed = given.hand_ins * (2 * len(json.dumps(text)) + 30_000)
        if needed > shutil.disk_usage(folder).free:
            print(f"{given.hand_ins:,} hand-ins need about {needed / 1e9:.0f} GB in {folder}; set "
                  "TMPDIR to another disk, or ask for fewer with --hand-ins")
            return 2
        load = "/".join(f"{one:.0f}" for one in os.getloadavg())
        print(f"{given.hand_ins:,} hand-ins of {len(open_ten().exercises)} questions, "
              f"{os.cpu_count()} cores, load before {load}; of one hand-in, in ms:")
        print(f"{'workers':>7}{'a second':>12}{'once started':>16}{'seconds':>10}"
              f"{'gradebook':>19}{'history':>19}{'all else':>19}")
        with postgres_server.server(durable=True) as url:
            right = [sitting(Path(folder), text, given.hand_ins, workers, url)
                     for workers in given.workers]
    return int(not all(right))


if __name__ == "__main__":
    sys.exit(main())
